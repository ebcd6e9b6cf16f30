package table

import "strings"

// Nearest gives the name that was probably meant: the one that differs only in
// case, blanks, hyphens and underscores; else the one that is a few letters away
// (a quarter of its length, at most 3). ok is false when none is, or two are
// equally near.
func Nearest(name string, among []string) (string, bool) {
	key := Fold(name)
	if key == "" {
		return "", false
	}
	best, dist, tie := "", 1+min(3, max(1, len([]rune(key))/4)), false
	for _, a := range among {
		if a == name {
			continue
		}
		switch d := distance(key, Fold(a), dist); {
		case d < dist:
			best, dist, tie = a, d, false
		case d == dist && best != "":
			tie = true
		}
	}
	return best, best != "" && !tie
}

// Fold is what names are compared by when they differ only in case, blanks,
// hyphens, underscores and points. Between two digits a separator stays, as one
// hyphen: 1-25 is not 12-5.
func Fold(s string) string {
	var b strings.Builder
	digit, gap := false, false
	for _, r := range strings.ToLower(s) {
		switch r {
		case ' ', '\t', '-', '_', '.', '\u00a0':
			gap = true
			continue
		}
		now := '0' <= r && r <= '9'
		if gap && digit && now {
			b.WriteByte('-')
		}
		b.WriteRune(r)
		digit, gap = now, false
	}
	return b.String()
}

// distance is the number of letters to put in, take out, change or swap with the
// next (optimal string alignment); anything above limit may come back as limit+1.
func distance(a, b string, limit int) int {
	x, y := []rune(a), []rune(b)
	if d := len(x) - len(y); d > limit || -d > limit {
		return limit + 1
	}
	older, old, row := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range old {
		old[j] = j
	}
	for i := range x {
		row[0] = i + 1
		for j := range y {
			cost := 1
			if x[i] == y[j] {
				cost = 0
			}
			row[j+1] = min(old[j]+cost, old[j+1]+1, row[j]+1)
			if i > 0 && j > 0 && x[i] == y[j-1] && x[i-1] == y[j] {
				row[j+1] = min(row[j+1], older[j-1]+1)
			}
		}
		older, old, row = old, row, older
	}
	return old[len(y)]
}
