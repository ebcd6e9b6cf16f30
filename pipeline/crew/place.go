package crew

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/boombuler/barcode/qr"

	"probeward/pipeline/rank"
)

// degrees writes a coordinate with six digits after the point, a tenth of a metre.
// Zeros at the end are left out, and there is never an exponent.
func degrees(x float64) string {
	s := strconv.FormatFloat(x, 'f', 6, 64)
	s = strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}

// geoURI is a place as RFC 5870 writes it; WGS 84 is its default.
func geoURI(v *rank.Visit) string {
	return "geo:" + degrees(v.Latitude.V) + "," + degrees(v.Longitude.V)
}

// code is a QR code as a path of unit squares, with the quiet zone of four that its
// standard asks for (ISO/IEC 18004; from memory).
type code struct {
	Size int
	Path string
}

const quietZone = 4

func qrCode(text string) (*code, error) {
	img, err := qr.Encode(text, qr.M, qr.Unicode)
	if err != nil {
		return nil, fmt.Errorf("code of %q: %w", text, err)
	}
	n := img.Bounds().Dx()
	dark := func(x, y int) bool {
		r, _, _, _ := img.At(x, y).RGBA()
		return r < 0x8000
	}
	var d strings.Builder
	for y := range n {
		for x := 0; x < n; {
			run := 0
			for x+run < n && dark(x+run, y) {
				run++
			}
			if run > 0 {
				fmt.Fprintf(&d, "M%d %dh%dv1h-%dz", x+quietZone, y+quietZone, run, run)
			}
			x += max(1, run)
		}
	}
	return &code{n + 2*quietZone, d.String()}, nil
}
