package read

import (
	"math/big"
	"strconv"
)

// Decimals of Parquet: whole numbers, of so many places behind the mark, as integers
// or as bytes with the highest first.

// scaled divides a whole number by its power of ten, rounding once.
func scaled(x int64, scale int) float64 {
	if scale <= len(powersOfTen)-1 && x > -1<<53 && x < 1<<53 {
		return float64(x) / powersOfTen[scale]
	}
	return scaledBig(big.NewInt(x), scale)
}

// powersOfTen are those that a float64 holds exactly.
var powersOfTen = func() (all [23]float64) {
	for i, p := 0, 1.0; i < len(all); i, p = i+1, p*10 {
		all[i] = p
	}
	return all
}()

func scaledBig(x *big.Int, scale int) float64 {
	v, _ := strconv.ParseFloat(x.String()+"e-"+strconv.Itoa(scale), 64)
	return v
}

// scaledBytes is scaled for a number of two's complement in bytes.
func scaledBytes(b []byte, scale int) float64 {
	if len(b) == 0 {
		return 0
	}
	high := int64(int8(b[0]))
	for len(b) > 8 && (high == 0 && b[0] == 0 && b[1] < 0x80 || high == -1 && b[0] == 0xff && b[1] >= 0x80) {
		b = b[1:] // bytes of the sign alone
	}
	if len(b) <= 8 {
		x := int64(int8(b[0]))
		for _, c := range b[1:] {
			x = x<<8 | int64(c)
		}
		return scaled(x, scale)
	}
	x := new(big.Int).SetBytes(b)
	if high < 0 {
		x.Sub(x, new(big.Int).Lsh(big.NewInt(1), uint(8*len(b))))
	}
	return scaledBig(x, scale)
}
