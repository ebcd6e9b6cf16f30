package drill

import (
	"cmp"
	"slices"
	"strings"
)

func count(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

func compare(a, b string) int { return strings.Compare(a, b) }

// counts lists what was counted at all, the most first.
func counts(of map[string]int) []NameCount {
	out := []NameCount{}
	for name, n := range of {
		if n > 0 {
			out = append(out, NameCount{name, n})
		}
	}
	slices.SortFunc(out, func(a, b NameCount) int { return cmp.Or(cmp.Compare(b.N, a.N), cmp.Compare(a.Name, b.Name)) })
	return out
}

// faultOf is the fault in "noise of JB-001-30".
func faultOf(said string) string {
	fault, _, _ := strings.Cut(said, " of ")
	return fault
}
