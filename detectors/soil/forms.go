package soil

// formCeilingKPa is where a single-formula conversion stops being believed:
// 1500 kPa is the wilting point and many times the calibrated range of either
// form (75 and 100 kPa). Whatever stands above it is the nearness of the pole
// and not the soil.
const formCeilingKPa = 1500.0

// Shock turns resistance in ohms at a soil temperature in degC into tension in
// kPa by Shock, Barnum & Seddigh (1998, Irrigation Association International
// Irrigation Show, pp. 139-146), R in kohm:
//
//	S = (4.093 + 3.213 R) / (1 - 0.009733 R - 0.01205 T)
//
// Calibrated over 10-75 kPa at 15 and 25 degC. The form gives 5.758 kPa for a
// dead short and turns negative beyond its pole (73.03 kohm at 24 degC), so ok
// is false where Convertible is, and at and beyond the pole.
func Shock(ohms, tempC float64) (kPa float64, ok bool) {
	if !Convertible(ohms, tempC) {
		return 0, false
	}
	r := ohms / 1000
	return beforePole(4.093+float64(3.213*r), 1-float64(0.009733*r)-float64(0.01205*tempC))
}

// ShockOhms is the closed inverse of Shock, tension in kPa to ohms:
//
//	R = (S (1 - 0.01205 T) - 4.093) / (3.213 + 0.009733 S)
//
// One smooth, increasing curve, which makes it the better working space for
// exports in kPa: no seam puts a step into a healthy series. It ends near 7
// kPa, below which no block that is not shorted has an answer; ok is false
// there, at an open lead's tension, and for a non-finite or negative input.
func ShockOhms(kPa, tempC float64) (ohms float64, ok bool) {
	if !(kPa >= 0 && kPa <= formCeilingKPa && tempC >= MinTempC && tempC <= MaxTempC) {
		return 0, false
	}
	ohms = 1000 * shockKOhm(kPa, tempC)
	if !(ohms >= ShortOhms && ohms < OpenOhms) {
		return 0, false
	}
	return ohms, true
}

// ThomsonArmstrong turns resistance in ohms at a soil temperature in degC into
// tension in kPa by Thomson & Armstrong (1987, Applied Engineering in
// Agriculture 3(2):186-189), R in kohm:
//
//	S = R / (0.01306 (1.062 (34.21 - T + 0.01060 T^2) - R))
//
// Stated for 10-100 kPa. Its pole stands at 18.993 kohm at 21 degC, well below
// an open lead; ok is false at and beyond it, and where Convertible is.
func ThomsonArmstrong(ohms, tempC float64) (kPa float64, ok bool) {
	if !Convertible(ohms, tempC) {
		return 0, false
	}
	r := ohms / 1000
	return beforePole(r, 0.01306*(thomsonPole(tempC)-r))
}

// ThomsonArmstrongOhms is the closed inverse of ThomsonArmstrong. ok is false
// for a negative or non-finite tension, a temperature out of range, and where
// the resistance would be a short's or an open lead's.
func ThomsonArmstrongOhms(kPa, tempC float64) (ohms float64, ok bool) {
	if !(kPa >= 0 && kPa <= formCeilingKPa && tempC >= MinTempC && tempC <= MaxTempC) {
		return 0, false
	}
	x := 0.01306 * kPa
	ohms = 1000 * thomsonPole(tempC) * x / (1 + x)
	if !(ohms >= ShortOhms && ohms < OpenOhms) {
		return 0, false
	}
	return ohms, true
}

// thomsonPole is the resistance in kohm at which Thomson & Armstrong's form
// has no value.
func thomsonPole(tempC float64) float64 {
	return 1.062 * (34.21 - tempC + float64(0.01060*tempC*tempC))
}

// beforePole divides on the near side of a pole: ok is false where the denominator is not
// positive or so small that the quotient passes formCeilingKPa.
func beforePole(numerator, denominator float64) (float64, bool) {
	if !(denominator > 0 && numerator <= formCeilingKPa*denominator) {
		return 0, false
	}
	return numerator / denominator, true
}

func shockKPa(r, tempC float64) float64 {
	return (4.093 + float64(3.213*r)) / (1 - float64(0.009733*r) - float64(0.01205*tempC))
}

func shockKOhm(kPa, tempC float64) float64 {
	return (float64(kPa*(1-float64(0.01205*tempC))) - 4.093) / (3.213 + float64(0.009733*kPa))
}
