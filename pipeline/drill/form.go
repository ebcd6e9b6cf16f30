package drill

import (
	"fmt"
	"strings"

	"probeward/schemas"
)

// Form is one way in which a fault shows, with a formula of its own.
type Form struct {
	Name  string // in a few plain words
	Fault string // of schemas.Faults
	About string // the formula, with its three strengths
	// Target is what the fault is put into: a probe, a post, a logger or a zone.
	Target target
	// Slow forms need weeks to show: half of their trials began before the last week.
	Slow bool
	// Even forms have no strengths: each place is tried once.
	Even bool
	// Lasts is how long each strength lasts, in days; zero: to the window's end.
	Lasts [3]float64
	// inject changes the variant. It says why not, where the farm has nothing to
	// inject this form into.
	inject func(h *hand) (why string)
}

// key is the form's name as one word.
func (f *Form) key() string { return strings.ReplaceAll(f.Name, " ", "_") }

// target of a form.
type target uint8

const (
	oneProbe target = iota
	onePost
	oneLogger
	oneZone
)

func (t target) String() string { return [...]string{"probe", "post", "logger", "zone"}[t] }

// subject is what a finding of the form's fault is of.
func (f *Form) subject() schemas.Subject {
	fault, _ := schemas.FaultNamed(f.Fault)
	return fault.Subject
}

// forms are all that is drilled, in the order of the table of faults.
var forms = []*Form{
	{Name: "lead open", Fault: "open_circuit", inject: leadOpen, Lasts: [3]float64{0.25, 1, 0},
		About: "the value stands at the dry end of the export (a sensor with a voltage or current: at the low end); for 6 h, for a day, to the end"},
	{Name: "leads touching", Fault: "short_circuit", inject: leadsTouch, Lasts: [3]float64{0.25, 1, 0},
		About: "the value stands at the wet end of the export; for 6 h, for a day, to the end"},
	{Name: "loose contact", Fault: "cable_damage", inject: looseContact,
		About: "bursts of half an hour to four hours at the dry end; 2, 5 or 15 % of the time"},
	{Name: "leaking splice", Fault: "cable_damage", inject: leakingSplice, Slow: true,
		About: "a resistance in parallel that falls to 6, 2 or 0.6 kohm when the zone's valve or rain wets the ground, and grows again with a time constant of 8 h"},
	{Name: "corroded joint", Fault: "cable_damage", inject: corrodedJoint, Slow: true,
		About: "a resistance in series that grows from nothing to 1, 4 or 16 kohm at the end"},
	{Name: "dry spikes", Fault: "dry_out_spike", inject: drySpikes,
		About: "three times it dries within 1 to 3 h to 1.5, 3 or 8 times the tension (0.02, 0.05 or 0.12 m3/m3 less) and is back as fast"},
	{Name: "answer lost", Fault: "missing_irrigation_response", inject: answerLost, Slow: true,
		About: "it goes on drying at its own pace, and of what it did before 40, 15 or 0 % is left"},
	{Name: "frozen value", Fault: "flat_line", inject: frozenValue, Lasts: [3]float64{0.5, 2, 0},
		About: "it repeats its last value; for 12 h, for two days, to the end"},
	{Name: "noisy", Fault: "noise", inject: noisy,
		About: "normal scatter of 3, 8 or 25 times its own is added"},
	{Name: "drifting", Fault: "drift", inject: drifting, Slow: true,
		About: "resistance or tension grows by 1.2, 1.6 or 2.5 times, water content by 0.02, 0.04 or 0.08 m3/m3, in a straight line to the end"},
	{Name: "impossible values", Fault: "out_of_range", inject: impossible,
		About: "1, 6 or 40 single readings that no soil gives, at random hours"},
	{Name: "water column lost", Fault: "lost_suction", inject: columnLost, Slow: true,
		About: "a tensiometer's tension falls to near zero with a time constant of 24, 6 or 1 h and stays there, swinging with the day by a kPa"},
	{Name: "registered as another", Fault: "wrong_kind", inject: otherKind, Even: true,
		About: "the register names another kind and unit: blocks as water content in %, water content as kPa"},
	{Name: "copy of another", Fault: "duplicate_series", inject: copied, Slow: true,
		About: "from then on its readings are those of another probe of its kind"},
	{Name: "post in another zone", Fault: "wrong_zone", inject: otherZone, Even: true, Target: onePost,
		About: "the register puts all probes of a post into another zone that is watered"},
	{Name: "depths swapped", Fault: "depth_order", inject: depthsSwapped, Even: true, Target: onePost,
		About: "the leads of the shallowest and the deepest probe of a kind at a post are swapped, always"},
	{Name: "readings missing", Fault: "gap", inject: missing, Lasts: [3]float64{0.75, 2, 0},
		About: "no readings; for 18 h, for two days, to the end"},
	{Name: "logger silent", Fault: "logger_silent", inject: silentLogger, Target: oneLogger,
		About: "no readings from any port to the end; since 12 h, 2 d or 5 d"},
	{Name: "logger browns out", Fault: "logger_power", inject: brownOut, Target: oneLogger,
		About: "two thirds of the ports read the wet end together for two hours before dawn, on 1, 2 or 4 nights"},
	{Name: "watering not given", Fault: "irrigation_failure", inject: notGiven, Even: true, Target: oneZone,
		About: "the log gets a watering of the zone's usual length at an hour when there was none"},
	{Name: "watering not logged", Fault: "unlogged_water", inject: notLogged, Even: true, Target: oneZone,
		About: "one watering of the window is taken out of the log"},
}

// untried are the faults that no form makes, and why.
var untried = map[string]string{
	"poor_contact":  "an air gap changes how soil and probe follow each other, which no formula on the readings makes honestly",
	"bypass_flow":   "water down the hole comes at the post's own hour and size, which the readings do not tell",
	"under_emitter": "a probe under an emitter reads true soil that nobody measured here",
	"settling":      "nothing is wrong with a new probe's readings that could be put into an old one's",
	"clock_error":   "it shows in the order in which lines were written, and the drill changes readings after they were sorted",
}

// Manual lists the faults with their forms, for people.
func Manual() string {
	b, last := &strings.Builder{}, ""
	for _, f := range forms {
		if f.Fault != last {
			fmt.Fprintf(b, "  %s\n", f.Fault)
			last = f.Fault
		}
		wrapped(b, "    "+f.Name+": "+f.About)
	}
	return b.String()
}
