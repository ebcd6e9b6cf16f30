package detect

// OfMembers asks a zone's detector about each of its n probes, and lays the answers
// together: found where any was, clear where any could be looked at. A probe that
// could not is Unseen with its own reason; where none could, the group's reason is the
// one that came nearest to an answer. place gives a probe's place in the register.
func OfMembers(n int, place func(i int) int, look func(i int) (f Finding, found bool, why Why)) Outcome {
	out := Outcome{Unseen: map[int]Why{}}
	looked := false
	for i := range n {
		f, found, why := look(i)
		if why.Text != "" {
			out.Unseen[place(i)] = why
			if why.Cause > out.Why.Cause {
				out.Why = why
			}
			continue
		}
		looked = true
		if found {
			out.Findings = append(out.Findings, f)
		}
	}
	switch {
	case len(out.Findings) > 0:
		out.State, out.Why = Found, Why{}
	case looked:
		out.State, out.Why = Clear, Why{}
	case n == 0:
		return Unable(Absent, "needs moisture probes in the zone with readings in ohms, kPa or m3/m3, has none")
	}
	return out
}
