package crew

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"probeward/pipeline/fieldlog"
	"probeward/schemas"
)

// titles name each fault in a few plain words, as a heading and in a list to choose
// from.
var titles = map[string]string{
	"open_circuit":                "Lead broken or unplugged",
	"short_circuit":               "Leads touching each other",
	"cable_damage":                "Cable or splice damaged",
	"dry_out_spike":               "Dries and wets faster than soil can",
	"missing_irrigation_response": "No longer answers watering",
	"flat_line":                   "Stuck at one value",
	"noise":                       "Scatters more than it used to",
	"drift":                       "Wanders off from its neighbours",
	"out_of_range":                "Values that cannot be",
	"lost_suction":                "Tensiometer lost its water column",
	"poor_contact":                "Air between probe and soil",
	"bypass_flow":                 "Water runs down the hole or cable",
	"under_emitter":               "Sits right under an emitter",
	"settling":                    "New in the ground, still settling",
	"wrong_kind":                  "Another sensor than registered",
	"duplicate_series":            "Same data as another probe",
	"wrong_zone":                  "Gets another zone's water",
	"depth_order":                 "Depths mixed up",
	"gap":                         "Readings missing",
	"logger_silent":               "Logger sends nothing",
	"logger_power":                "Several ports fail together",
	"clock_error":                 "Logger's clock is wrong",
	"irrigation_failure":          "Watering did not arrive",
	"unlogged_water":              "Water that nobody logged",
}

// familyTitles head the groups of the list to choose from, in its order.
var familyTitles = []struct {
	family schemas.Family
	title  string
}{
	{schemas.FamilyCable, "Cable and splice"},
	{schemas.FamilyProbe, "The probe itself"},
	{schemas.FamilyInstall, "How it sits in the ground"},
	{schemas.FamilyRegister, "Register does not match"},
	{schemas.FamilyTelemetry, "Readings on their way"},
	{schemas.FamilyLogger, "Logger"},
	{schemas.FamilyWater, "Water"},
}

// option is one choice of a list: what is written and what is read.
type option struct {
	Value string `json:"value"`
	Text  string `json:"text"`
}

// group is some choices under a heading.
type group struct {
	Title   string   `json:"title"`
	Options []option `json:"options"`
}

var plainFound = []option{
	{fieldlog.NothingWrong, "Nothing wrong here"},
	{fieldlog.NotSeen, "Did not see it"},
}

var outcomes = []option{
	{string(fieldlog.Repaired), "Repaired"},
	{string(fieldlog.Replaced), "Replaced"},
	{string(fieldlog.RegisterMended), "Register mended"},
	{string(fieldlog.Left), "Left as it is"},
	{string(fieldlog.CouldNotReach), "Could not reach it"},
}

// foundGroups is every fault by family.
func foundGroups() []group {
	var out []group
	for _, f := range familyTitles {
		g := group{Title: f.title}
		for _, fault := range schemas.Faults() {
			if fault.Family == f.family {
				g.Options = append(g.Options, option{fault.Name, title(fault.Name)})
			}
		}
		out = append(out, g)
	}
	return out
}

func title(fault string) string {
	if t, ok := titles[fault]; ok {
		return t
	}
	return strings.ReplaceAll(fault, "_", " ")
}

// sure puts a confidence into words. Its steps are ours; the third is where a
// finding counts as sure.
func sure(confidence float64) string {
	switch {
	case confidence >= 0.95:
		return "almost certain"
	case confidence >= 0.85:
		return "very likely"
	case confidence >= schemas.Sureness:
		return "likely"
	case confidence >= 0.5:
		return "more likely than not"
	default:
		return "a hint, no more"
	}
}

func percent(confidence float64) int {
	return int(math.Round(100 * min(1, max(0, confidence))))
}

// day writes a date as one says it.
func day(t time.Time) string { return t.Format("Mon 2 Jan") }

// lasted is how long something has stood, in words.
func lasted(from, to int64) string {
	d := time.Duration(to-from) * time.Microsecond
	switch {
	case d < time.Hour:
		return "less than an hour"
	case d < 48*time.Hour:
		return plural(int(d.Hours()), "hour")
	case d < 9*7*24*time.Hour:
		return plural(int(d.Hours()/24), "day")
	default:
		return plural(int(d.Hours()/24/7), "week")
	}
}

func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

// span writes minutes as one reads them: 45 min, 2 h, 5 h 40 min.
func span(minutes float64) string {
	m := int(math.Round(minutes))
	switch {
	case m < 60:
		return fmt.Sprintf("%d min", m)
	case m%60 == 0:
		return fmt.Sprintf("%d h", m/60)
	default:
		return fmt.Sprintf("%d h %d min", m/60, m%60)
	}
}

// clock writes minutes since the shift began like 2:05.
func clock(minutes float64) string {
	m := int(math.Round(minutes))
	return fmt.Sprintf("%d:%02d", m/60, m%60)
}

const cmPerInch = 2.54 // by definition

// depth writes a depth that the queue gives in cm in the page's unit.
func depth(cm string, units schemas.Units) string {
	v, err := strconv.ParseFloat(cm, 64)
	if err != nil {
		return "–"
	}
	if units.Depth == "in" {
		return strconv.FormatFloat(math.Round(v/cmPerInch*10)/10, 'f', -1, 64) + " in"
	}
	return strconv.FormatFloat(v, 'f', -1, 64) + " cm"
}

// sentence begins with a capital and ends with a full stop.
func sentence(s string) string {
	s = strings.TrimSpace(s)
	if s == "" {
		return ""
	}
	first, n := utf8.DecodeRuneInString(s)
	s = string(unicode.ToUpper(first)) + s[n:]
	if !strings.HasSuffix(s, ".") {
		s += "."
	}
	return s
}
