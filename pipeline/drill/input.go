package drill

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"strings"

	"probeward/detectors/detect"
	"probeward/pipeline/arrange"
	"probeward/pipeline/corroborate"
	"probeward/pipeline/examine"
	"probeward/pipeline/fieldlog"
	"probeward/pipeline/judge"
)

// ErrNoFit says that the scan calls no probe fit, so that there is nothing to drill.
var ErrNoFit = errors.New("no probe is fit")

// ErrFault says that a fault was asked for by a name that there is not.
var ErrFault = errors.New("unknown fault")

// Input is a scan that stopped before its first judgement. Nothing in it is written to.
type Input struct {
	Examine     examine.Input                  // as the scan would run it
	Corroborate corroborate.Input              // without reports
	Judge       judge.Input                    // without reports, groups and Times
	Times       func() func(probe int) []int64 // as judge.Input takes them, a new one for each judgement
	Peaks       []arrange.Peak
	Water       fieldlog.Irrigation
	Weather     fieldlog.Weather
}

// DefaultProbes is how many trials a class gets when nobody says: with none found of
// twelve, the 95 % interval ends at a quarter.
const DefaultProbes = 12

// Options of a drill.
type Options struct {
	Faults   []string // names of faults or of forms; empty: all
	Probes   int      // trials for each form, depth and kind; each on a probe of its own
	Seed     uint64
	Help     bool      // measure also what each input buys
	Workers  int       // 0: one a processor
	Progress func(int) // called with the trials done of those that Total says; may be nil
	Total    func(int) // called when it is known; may be nil
}

// Run drills. It fails with ErrNoFit or ErrFault, or when ctx ends.
func Run(ctx context.Context, in Input, o Options) (*Result, error) {
	forms, err := wanted(o.Faults)
	if err != nil {
		return nil, err
	}
	if o.Workers <= 0 {
		o.Workers = runtime.GOMAXPROCS(0)
	}
	if o.Progress == nil {
		o.Progress = func(int) {}
	}
	if o.Total == nil {
		o.Total = func(int) {}
	}
	asIs := &world{probes: in.Examine.Probes, peaks: in.Peaks, water: in.Water, weather: in.Weather}
	plain, err := newBench(ctx, &in, asIs, o.Workers)
	if err != nil {
		return nil, err
	}
	d := &drill{in: &in, o: &o, plain: plain, forms: forms}
	if d.fit = fitProbes(plain); len(d.fit) == 0 {
		return nil, fmt.Errorf("%w: of %d probes the scan calls %s; mend what it reports, or give it what it lacks, and drill again",
			ErrNoFit, len(in.Examine.Probes), verdicts(plain.judged))
	}
	d.plan()
	var worlds []*without
	total := len(d.trials)
	if o.Help {
		worlds = d.worlds()
		for _, w := range worlds {
			total += len(w.trials)
		}
	}
	o.Total(total)
	outcomes, err := d.rehearse(ctx, plain, d.trials)
	if err != nil {
		return nil, err
	}
	r := d.result(outcomes)
	for _, w := range worlds {
		h, err := d.lessen(ctx, w, outcomes)
		if err != nil {
			return nil, err
		}
		r.Helps = append(r.Helps, h)
	}
	slices.SortStableFunc(r.Helps, func(a, b Help) int { return cmp.Compare(b.Bought.part(), a.Bought.part()) })
	return r, nil
}

// drill is one drill under way.
type drill struct {
	in     *Input
	o      *Options
	plain  *bench
	forms  []*Form
	fit    []int // places of fit moisture probes
	trials []*Trial
	barred map[string]string // why a form could not be tried anywhere, by its name
}

// wanted gives the forms of the named faults.
func wanted(names []string) ([]*Form, error) {
	if len(names) == 0 {
		return forms, nil
	}
	var out []*Form
	for _, name := range names {
		key, n := strings.ReplaceAll(strings.TrimSpace(name), " ", "_"), len(out)
		for _, f := range forms {
			if (f.Fault == key || f.key() == key) && !slices.Contains(out, f) {
				out = append(out, f)
			}
		}
		known := slices.ContainsFunc(forms, func(f *Form) bool { return f.Fault == key || f.key() == key })
		if len(out) == n && !known {
			if why, ok := untried[key]; ok {
				return nil, fmt.Errorf("%w: %s is not drilled: %s", ErrFault, key, why)
			}
			return nil, fmt.Errorf("%w: %q; there are %s", ErrFault, name, strings.Join(Names(), ", "))
		}
	}
	return out, nil
}

// Names lists the faults that can be drilled, each once.
func Names() []string {
	var out []string
	for _, f := range forms {
		if !slices.Contains(out, f.Fault) {
			out = append(out, f.Fault)
		}
	}
	return out
}

// fitProbes are the moisture probes that a run calls fit.
func fitProbes(b *bench) (out []int) {
	for i := range b.world.probes {
		p := &b.world.probes[i]
		if p.TellsWater() && b.isFit(i) {
			out = append(out, i)
		}
	}
	return out
}

func verdicts(r *judge.Result) string {
	count := r.CountVerdicts()
	var words []string
	for v, n := range count {
		words = append(words, fmt.Sprintf("%d %s", n, v))
	}
	slices.Sort(words)
	return strings.Join(words, ", ")
}

// depthClass puts a depth into one of three classes; the middle one reaches from a
// foot to two feet and a little, where most installations have their second probe.
func depthClass(p *detect.Probe) string {
	switch {
	case !p.DepthCM.OK:
		return "no depth"
	case p.DepthCM.V < 40:
		return "shallow"
	case p.DepthCM.V < 75:
		return "middle"
	default:
		return "deep"
	}
}

// kindClass names a kind of sensor with what its series holds.
func kindClass(p *detect.Probe) string {
	return strings.ReplaceAll(string(p.Kind), "_", " ") + ", " + p.Quantity.Unit()
}
