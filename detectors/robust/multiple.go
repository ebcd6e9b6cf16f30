package robust

import "slices"

// BenjaminiHochberg adjusts p-values for the share of false discoveries
// (Benjamini & Hochberg 1995, Journal of the Royal Statistical Society B
// 57:289-300): adjusted(i) = min over j >= i of p(j) m / j in ascending order,
// at most 1. The result is new and in the order of p. Rejecting where it is at
// or below q keeps the share below q. p must hold every test that was run: m is
// its length.
func BenjaminiHochberg(p []float64) []float64 {
	order := make([]int, len(p))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case p[a] < p[b]:
			return -1
		case p[a] > p[b]:
			return 1
		}
		return 0
	})
	adjusted := make([]float64, len(p))
	least := 1.0
	for rank := len(order); rank > 0; rank-- {
		i := order[rank-1]
		// The inner maximum takes back a last digit that rounding may lose.
		least = min(least, max(p[i], p[i]*float64(len(p))/float64(rank)))
		adjusted[i] = least
	}
	return adjusted
}
