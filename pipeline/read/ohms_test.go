package read_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"probeward/pipeline/register"
	"probeward/schemas"
)

// Ohms that are registered as kilohms, and the other way round, are noted with the
// row that settles it; what a lead does by itself is not taken for a unit.
func TestOhmsAndKilohms(t *testing.T) {
	const shown = "; if so, write in the register, as probe,kind,unit,scale: p,granular_matrix,%s,; nothing is converted until then"
	for _, c := range []struct {
		name, probe string
		values      []float64
		want        string
	}{
		{"kilohms in ohm", "granular_matrix,ohm", []float64{1.2, 2.5, 9.75}, "registered in ohm, of which a working sensor has hundreds at least, and their values look like kilohms: p (48 values from 1.2 to 9.75)" + fmt.Sprintf(shown, "kohm")},
		{"ohms in kohm", "granular_matrix,kohm", []float64{1200, 2500, 9750}, "registered in kohm, of which a working sensor has a hundred at most, and their values look like ohms: p (48 values from 1200 to 9750)" + fmt.Sprintf(shown, "ohm")},
		{"ohms", "granular_matrix,ohm", []float64{1200, 2500}, ""},
		{"kilohms", "granular_matrix,kohm", []float64{1.2, 2.5}, ""},
		{"a dead short in ohms", "granular_matrix,ohm", []float64{45}, ""},
		{"a broken lead in kilohms", "granular_matrix,kohm", []float64{9999}, ""},
		{"centibars, which are kilopascals", "tensiometer,cbar", []float64{12, 14.5, 30}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			reg, err := register.Load(write(t, t.TempDir(), "probes.csv", []byte("probe,logger,port,kind,unit\np,L1,s1,"+c.probe+"\n")), "", time.UTC)
			if err != nil {
				t.Fatal(err)
			}
			var text strings.Builder
			text.WriteString("time,s1\n")
			for i := range 48 {
				fmt.Fprintf(&text, "2026-05-%02d %02d:00,%v\n", 2+i/24, i%24, c.values[i%len(c.values)])
			}
			dir := t.TempDir()
			write(t, dir, "L1.csv", []byte(text.String()))
			notes := strings.Join(files(t, resolved(t, dir, "UTC", schemas.Source{Path: "*"}), reg).Notes, "\n")
			if c.want == "" && notes != "" || !strings.Contains(notes, c.want) {
				t.Errorf("notes %q, want %q", notes, c.want)
			}
		})
	}
}
