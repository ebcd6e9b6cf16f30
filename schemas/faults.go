package schemas

// Flag is the quality of one reading in the open standard's codes (IOOS QARTOD,
// in-situ temperature and salinity manual, flag scheme; from memory).
type Flag uint8

// The codes. Zero is no flag at all: the readings of such a fault are true.
const (
	FlagNone         Flag = 0
	FlagPass         Flag = 1
	FlagNotEvaluated Flag = 2
	FlagSuspect      Flag = 3
	FlagFail         Flag = 4
	FlagMissing      Flag = 9
)

// Verdict is the state of a probe at the end of the window.
type Verdict string

// The verdicts, worst first in the order in which Judge prefers them, Unknown
// last but one: a probe of which too much is not evaluated is never called fit.
const (
	Unfit    Verdict = "unfit"
	Silent   Verdict = "silent"
	Doubtful Verdict = "doubtful"
	Settling Verdict = "settling"
	Unknown  Verdict = "unknown"
	Fit      Verdict = "fit"
)

// Verdicts in the order of precedence: the first that applies is the probe's.
func Verdicts() []Verdict {
	return []Verdict{Unfit, Silent, Doubtful, Settling, Unknown, Fit}
}

// Subject says what a fault is a fault of.
type Subject string

// The subjects.
const (
	SubjectProbe  Subject = "probe"
	SubjectLogger Subject = "logger"
	SubjectZone   Subject = "zone"
)

// Family groups faults by the thing that is at fault, which is also what the
// crew has to take along.
type Family string

// The families.
const (
	FamilyCable     Family = "cable"
	FamilyProbe     Family = "probe"
	FamilyInstall   Family = "install"
	FamilyRegister  Family = "register"
	FamilyTelemetry Family = "telemetry"
	FamilyLogger    Family = "logger"
	FamilyWater     Family = "water"
)

// Sureness is the confidence at and above which a finding counts as sure: where
// the table below gives a second flag or verdict, it holds from here on. Half way
// between a coin and certainty, so that one proof alone does not reach it.
const Sureness = 0.75

// Fault is one row of the table from which flags and verdicts follow.
type Fault struct {
	Name     string
	Family   Family
	Subject  Subject
	Flag     Flag    // of its readings
	SureFlag Flag    // of its readings when the finding is sure; FlagNone: as Flag
	Verdict  Verdict // of the probe while it lasts; empty: the probe stays what it was
	Sure     Verdict // of the probe when the finding is sure; empty: as Verdict
	Recurs   bool    // the verdict holds only when the fault comes back within the window
	Lasting  bool    // the verdict holds only while the fault still stands at the window's end
	Sentence string  // what it is, for people
}

// Faults is the table fault → flag → verdict, in the order of the manual. Its
// order also numbers the bits of qc_bits in the flags table: append only.
func Faults() []Fault { return faults }

var faults = []Fault{
	{Name: "open_circuit", Family: FamilyCable, Subject: SubjectProbe, Flag: FlagFail, Verdict: Unfit,
		Sentence: "the lead is broken or unplugged"},
	{Name: "short_circuit", Family: FamilyCable, Subject: SubjectProbe, Flag: FlagFail, Verdict: Unfit,
		Sentence: "the two leads touch"},
	{Name: "cable_damage", Family: FamilyCable, Subject: SubjectProbe, Flag: FlagFail, Verdict: Unfit,
		Sentence: "the cable or a splice makes contact only at times, leaks, or is corroded"},
	{Name: "dry_out_spike", Family: FamilyProbe, Subject: SubjectProbe, Flag: FlagFail, Verdict: Doubtful, Recurs: true,
		Sentence: "it dries, and wets again without water, faster than soil can"},
	{Name: "missing_irrigation_response", Family: FamilyProbe, Subject: SubjectProbe, Flag: FlagSuspect, SureFlag: FlagFail, Verdict: Doubtful, Sure: Unfit,
		Sentence: "it no longer answers water that it used to answer and its neighbours still answer"},
	{Name: "flat_line", Family: FamilyProbe, Subject: SubjectProbe, Flag: FlagFail, Verdict: Unfit,
		Sentence: "it repeats itself beyond what its resolution and its soil explain"},
	{Name: "noise", Family: FamilyProbe, Subject: SubjectProbe, Flag: FlagSuspect, Verdict: Doubtful,
		Sentence: "it scatters more than it used to"},
	{Name: "drift", Family: FamilyProbe, Subject: SubjectProbe, Flag: FlagSuspect, Verdict: Doubtful,
		Sentence: "it wanders away from its neighbours"},
	{Name: "out_of_range", Family: FamilyProbe, Subject: SubjectProbe, Flag: FlagFail, Verdict: Doubtful, Recurs: true,
		Sentence: "it reads what the sensor or the soil cannot be"},
	{Name: "lost_suction", Family: FamilyProbe, Subject: SubjectProbe, Flag: FlagFail, Verdict: Unfit,
		Sentence: "the tensiometer's water column broke: it reads wet and is empty"},
	{Name: "poor_contact", Family: FamilyInstall, Subject: SubjectProbe, Flag: FlagSuspect, Verdict: Doubtful,
		Sentence: "there is air between the probe and the soil"},
	{Name: "bypass_flow", Family: FamilyInstall, Subject: SubjectProbe, Flag: FlagSuspect, Verdict: Doubtful,
		Sentence: "water runs down the hole or the cable to it"},
	{Name: "under_emitter", Family: FamilyInstall, Subject: SubjectProbe, Flag: FlagNone, Verdict: Doubtful,
		Sentence: "it sits under an emitter: true, but not what the vines have"},
	{Name: "settling", Family: FamilyInstall, Subject: SubjectProbe, Flag: FlagSuspect, Verdict: Settling,
		Sentence: "it is new in the ground: no fault, and not yet to be used"},
	{Name: "wrong_kind", Family: FamilyRegister, Subject: SubjectProbe, Flag: FlagFail, Verdict: Unfit,
		Sentence: "the readings are not those of the kind of sensor in the register"},
	{Name: "duplicate_series", Family: FamilyRegister, Subject: SubjectProbe, Flag: FlagFail, Verdict: Unfit,
		Sentence: "two probes give one and the same series"},
	{Name: "wrong_zone", Family: FamilyRegister, Subject: SubjectProbe, Flag: FlagSuspect, Verdict: Doubtful,
		Sentence: "it answers another zone's water"},
	{Name: "depth_order", Family: FamilyRegister, Subject: SubjectProbe, Flag: FlagSuspect, Verdict: Doubtful,
		Sentence: "the probes of a post answer in another order than their depths"},
	{Name: "gap", Family: FamilyTelemetry, Subject: SubjectProbe, Flag: FlagMissing, Verdict: Silent, Lasting: true,
		Sentence: "readings are missing"},
	{Name: "logger_silent", Family: FamilyLogger, Subject: SubjectLogger, Flag: FlagMissing, Verdict: Silent, Lasting: true,
		Sentence: "the logger sends nothing from any port"},
	{Name: "logger_power", Family: FamilyLogger, Subject: SubjectLogger, Flag: FlagFail, Verdict: Unfit,
		Sentence: "a set of the logger's ports fails together"},
	{Name: "clock_error", Family: FamilyLogger, Subject: SubjectLogger, Flag: FlagFail, Verdict: Unfit,
		Sentence: "the logger's clock jumps, or gives stamps that cannot be"},
	{Name: "irrigation_failure", Family: FamilyWater, Subject: SubjectZone, Flag: FlagNone,
		Sentence: "the zone's probes all miss a watering that was logged"},
	{Name: "unlogged_water", Family: FamilyWater, Subject: SubjectZone, Flag: FlagNone,
		Sentence: "the zone's probes all wet with no watering logged and no rain"},
}

// FaultNamed finds a row of the table by its fault's name.
func FaultNamed(name string) (Fault, bool) {
	for _, f := range faults {
		if f.Name == name {
			return f, true
		}
	}
	return Fault{}, false
}

// FaultBit gives the place of a fault's bit in qc_bits, or -1 for no such fault.
func FaultBit(name string) int {
	for i, f := range faults {
		if f.Name == name {
			return i
		}
	}
	return -1
}

// FlagFor gives the flag of a finding's readings at a confidence of 0 to 1.
func (f Fault) FlagFor(confidence float64) Flag {
	if f.SureFlag != FlagNone && confidence >= Sureness {
		return f.SureFlag
	}
	return f.Flag
}

// VerdictFor gives the verdict of a probe at a confidence of 0 to 1.
func (f Fault) VerdictFor(confidence float64) Verdict {
	if f.Sure != "" && confidence >= Sureness {
		return f.Sure
	}
	return f.Verdict
}

// Severity orders flags for a roll-up: fail above suspect above pass above not
// evaluated; a missing reading has no quality to compare (QARTOD, from memory).
func (f Flag) Severity() int {
	switch f {
	case FlagFail:
		return 4
	case FlagSuspect:
		return 3
	case FlagPass:
		return 1
	default:
		return 0
	}
}
