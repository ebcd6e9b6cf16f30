package simulate

// order is one form of a fault to inject: where it can sit, how long before the
// end it starts, how strong it may be and how long it lasts.
type order struct {
	fault, form string
	unit        string // of the strength; empty: it has no grades
	fits        func(*Vineyard, *Probe) bool
	days        [2]float64 // before the end; zero: from the record's beginning
	strength    [2]float64 // mild, gross
	lasts       [2]float64 // days; zero: to the end
}

// inBulb is where water comes often: near the surface, or deeper where cracks
// take it down.
func inBulb(v *Vineyard, p *Probe) bool {
	q := v.Positions[p.Position]
	return q.Coupling >= 1.4 && (p.DepthCM <= 30 || p.DepthCM <= 60 && q.Macropore >= 0.15)
}
func anywhere(*Vineyard, *Probe) bool { return true }
func electrode(v *Vineyard, p *Probe) bool {
	return p.Kind == granularMatrix && inBulb(v, p)
}
func noTensiometer(v *Vineyard, p *Probe) bool { return p.Kind != tensiometer && inBulb(v, p) }
func waterColumn(_ *Vineyard, p *Probe) bool   { return p.Kind == tensiometer }
func notInOhms(v *Vineyard, p *Probe) bool {
	return inBulb(v, p) && (p.Unit != "ohm" || v.options.Export == "ohm")
}
func inKPa(v *Vineyard, p *Probe) bool      { return p.Unit == "kPa" && inBulb(v, p) }
func sendsVolts(v *Vineyard, p *Probe) bool { return p.Kind != granularMatrix && inBulb(v, p) }
func inRows(v *Vineyard, p *Probe) bool     { return v.Posts[p.Post].Long }
func notInKPa(_ *Vineyard, p *Probe) bool {
	return p.Unit != "kPa"
}

// wellWatered is near the surface of a bulb that got water often of late: where
// an answer is missed.
func wellWatered(v *Vineyard, p *Probe) bool {
	return v.watered(p, 17) >= 3 && p.DepthCM <= 30 && noTensiometer(v, p)
}

// answering is the same for a month, for all kinds.
func answering(v *Vineyard, p *Probe) bool { return v.watered(p, 28) >= 3 && inBulb(v, p) }

// shallow is one near the surface among them.
func shallow(v *Vineyard, p *Probe) bool { return p.DepthCM <= 30 && answering(v, p) }
func shallowElectrode(v *Vineyard, p *Probe) bool {
	return p.Kind == granularMatrix && shallow(v, p)
}
func shallowWaterContent(v *Vineyard, p *Probe) bool {
	return p.Kind == dielectric && shallow(v, p)
}

// slowlyWetted is one over which water takes its time: no cracks.
func slowlyWetted(v *Vineyard, p *Probe) bool {
	return shallow(v, p) && v.Positions[p.Position].Macropore < 0.2
}

// below is a deep probe with another one above it, where water comes.
func below(v *Vineyard, p *Probe) bool {
	return p.DepthCM >= 60 && v.watered(p, 28) >= 3 && v.Positions[p.Position].Coupling >= 0.9
}

// watered counts the logged waterings that came to a probe's zone in the last
// days and have had a day to be answered.
func (v *Vineyard) watered(p *Probe, days int) int {
	n := 0
	for _, e := range v.Zones[v.Posts[p.Post].Zone].Waterings {
		if e.Delivered && e.Logged && e.LoggedSoon == 0 && e.Start.After(v.Until.AddDate(0, 0, -days)) && e.End.Before(v.Until.AddDate(0, 0, -1)) {
			n++
		}
	}
	return n
}

// musts are on every farm that has room; the others follow, again and again,
// until the share is reached.
func musts() []order {
	return []order{
		{fault: "open_circuit", form: "permanent", fits: inBulb, days: [2]float64{1, 18}, strength: [2]float64{1, 1}},
		{fault: "cable_damage", form: "intermittent", unit: "openings a day", fits: inBulb, days: [2]float64{4, 15}, strength: [2]float64{0.7, 30}},
		{fault: "flat_line", form: "frozen", fits: inBulb, days: [2]float64{3, 14}, strength: [2]float64{1, 1}},
		{fault: "missing_irrigation_response", form: "lost_contact", unit: "of the answer lost", fits: wellWatered, days: [2]float64{17, 20}, strength: [2]float64{0.95, 1}},
		{fault: "gap", form: "missing", fits: anywhere, days: [2]float64{1, 9}, strength: [2]float64{1, 1}},
		{fault: "short_circuit", form: "permanent", fits: inBulb, days: [2]float64{1, 15}, strength: [2]float64{1, 1}},
		{fault: "dry_out_spike", form: "transient", unit: "of height (ln ohm, or 0.08 m3/m3)", fits: inBulb, days: [2]float64{4, 18}, strength: [2]float64{0.12, 1.6}},
		{fault: "out_of_range", form: "impossible", unit: "readings a day", fits: notInOhms, days: [2]float64{4, 15}, strength: [2]float64{0.5, 20}},
		{fault: "settling", form: "wet_start", unit: offsetOfStart, fits: inBulb, days: [2]float64{4, 8}, strength: [2]float64{0.3, 1.8}},
	}
}

const offsetOfStart = "of the first offset (ln kPa, or 0.08 m3/m3)"

// extras may befall any probe at any time.
func extras() []order {
	return append([]order{
		{fault: "cable_damage", form: "leaking_splice", unit: "ohm of the leak when wet", fits: electrode, days: [2]float64{10, 20}, strength: [2]float64{8000, 250}},
		{fault: "cable_damage", form: "wet_connector", unit: "of the signal lost when wet", fits: sendsVolts, days: [2]float64{10, 20}, strength: [2]float64{0.1, 0.7}},
		{fault: "cable_damage", form: "corroded_joint", unit: "ohm in series at the end", fits: electrode, days: [2]float64{12, 30}, strength: [2]float64{300, 6000}},
		{fault: "cable_damage", form: "corroded_plug", unit: "of the signal lost at the end", fits: sendsVolts, days: [2]float64{12, 30}, strength: [2]float64{0.08, 0.7}},
		{fault: "lost_suction", form: "emptied", unit: "of the tension lost", fits: waterColumn, days: [2]float64{3, 14}, strength: [2]float64{0.7, 1}},
		{fault: "lost_suction", form: "leaking", unit: "of the tension lost a day", fits: waterColumn, days: [2]float64{6, 20}, strength: [2]float64{0.08, 0.9}},
		{fault: "lost_suction", form: "emptied_by_drought", unit: "kPa at which it emptied", fits: waterColumn, days: [2]float64{8, 24}, strength: [2]float64{35, 12}},
		{fault: "drift", form: "offset_dry", unit: offsetOfEnd, fits: inBulb, days: [2]float64{18, 40}, strength: [2]float64{0.15, 1.5}},
		{fault: "drift", form: "gain_up", unit: "of the gain gained", fits: inBulb, days: [2]float64{18, 40}, strength: [2]float64{0.1, 0.8}},
		{fault: "drift", form: "offset_wet", unit: offsetOfEnd, fits: inBulb, days: [2]float64{18, 40}, strength: [2]float64{0.15, 1.5}},
		{fault: "drift", form: "gain_down", unit: "of the gain lost", fits: inBulb, days: [2]float64{18, 40}, strength: [2]float64{0.1, 0.8}},
		{fault: "noise", form: "scatter", unit: "times its own noise", fits: inBulb, days: [2]float64{5, 18}, strength: [2]float64{1.5, 20}},
		{fault: "noise", form: "by_the_pump", unit: "times its own noise", fits: inBulb, days: [2]float64{6, 18}, strength: [2]float64{2, 30}},
		{fault: "noise", form: "growing", unit: "times its own noise at the end", fits: inBulb, days: [2]float64{10, 30}, strength: [2]float64{2, 25}},
		{fault: "poor_contact", form: "air_gap", unit: "of the way to no contact", fits: answering, strength: [2]float64{0.15, 1}},
		{fault: "poor_contact", form: "shrunk_away", unit: "of the way to no contact", fits: answering, days: [2]float64{18, 35}, strength: [2]float64{0.15, 1}},
		{fault: "poor_contact", form: "jumpy", unit: "of the way to no contact", fits: answering, days: [2]float64{14, 40}, strength: [2]float64{0.15, 1}},
		{fault: "bypass_flow", form: "down_the_hole", unit: "of the pores filled", fits: below, strength: [2]float64{0.08, 0.9}},
		{fault: "bypass_flow", form: "along_the_cable", unit: "of the pores filled", fits: below, days: [2]float64{24, 45}, strength: [2]float64{0.08, 0.7}},
		{fault: "missing_irrigation_response", form: "weakened", unit: "of the answer lost", fits: wellWatered, days: [2]float64{16, 24}, strength: [2]float64{0.5, 0.97}},
		{fault: "open_circuit", form: "mended", fits: inBulb, days: [2]float64{6, 9}, strength: [2]float64{1, 1}, lasts: [2]float64{1, 5}},
		{fault: "short_circuit", form: "mended", fits: inBulb, days: [2]float64{6, 9}, strength: [2]float64{1, 1}, lasts: [2]float64{1, 5}},
		{fault: "gap", form: "blank", fits: anywhere, days: [2]float64{4, 6}, strength: [2]float64{1, 1}, lasts: [2]float64{0.3, 2.5}},
		{fault: "gap", form: "patchy", unit: "of the readings missing", fits: inRows, days: [2]float64{8, 20}, strength: [2]float64{0.05, 0.6}},
		{fault: "settling", form: "dry_start", unit: offsetOfStart, fits: inBulb, days: [2]float64{3, 9}, strength: [2]float64{0.3, 1.5}},
		{fault: "settling", form: "steps", unit: offsetOfStart, fits: inBulb, days: [2]float64{3, 8}, strength: [2]float64{0.3, 1.5}},
		{fault: "dry_out_spike", form: "rare", unit: "of height (ln ohm, or 0.08 m3/m3)", fits: inBulb, days: [2]float64{8, 25}, strength: [2]float64{0.2, 1.6}},
		{fault: "flat_line", form: "episodes", fits: inBulb, days: [2]float64{6, 14}, strength: [2]float64{1, 1}},
		{fault: "out_of_range", form: "excursions", unit: "hours each", fits: inKPa, days: [2]float64{5, 15}, strength: [2]float64{0.6, 12}},
		{fault: "out_of_range", form: "parked", fits: inKPa, days: [2]float64{2, 12}, strength: [2]float64{1, 1}},
	}, wrongZones()...)
}

// wrongZones are posts in the register with another zone, or another zone and block.
func wrongZones() []order {
	return []order{
		{fault: "wrong_zone", form: "zone_only", fits: answering, strength: [2]float64{1, 1}},
		{fault: "wrong_zone", form: "zone_and_block", fits: answering, strength: [2]float64{1, 1}},
	}
}

// grounded are faults of how a probe was put in the ground or in the register.
func grounded() []order {
	return []order{
		{fault: "under_emitter", form: "never_shut", unit: "mm a day from above", fits: answering, strength: [2]float64{3, 30}},
		{fault: "wrong_kind", form: "unit", fits: notInKPa, strength: [2]float64{1, 1}},
		{fault: "wrong_kind", form: "water_content", fits: shallowElectrode, strength: [2]float64{1, 1}},
		{fault: "wrong_kind", form: "tension", fits: shallowWaterContent, strength: [2]float64{1, 1}},
		{fault: "wrong_kind", form: "temperature", fits: shallow, strength: [2]float64{1, 1}},
		{fault: "duplicate_series", form: "exact", fits: inBulb, strength: [2]float64{1, 1}},
		{fault: "duplicate_series", form: "late", unit: "readings late", fits: inBulb, strength: [2]float64{1, 8}},
		{fault: "duplicate_series", form: "rounded", unit: "steps of the export", fits: inBulb, strength: [2]float64{2, 10}},
		{fault: "depth_order", form: "since_installed", fits: slowlyWetted, strength: [2]float64{1, 1}},
		{fault: "depth_order", form: "since_a_visit", fits: slowlyWetted, days: [2]float64{20, 35}, strength: [2]float64{1, 1}},
	}
}

const offsetOfEnd = "of the last offset (ln ohm, 10 kPa or 0.1 m3/m3)"

// loggerOrders are a logger's faults; a small farm has the first three.
func loggerOrders() []order {
	return []order{
		{fault: "logger_power", form: "nightly", unit: "how often a night is bad", days: [2]float64{6, 15}, strength: [2]float64{0.2, 1}},
		{fault: "logger_silent", form: "battery", days: [2]float64{1.2, 5}, strength: [2]float64{1, 1}},
		{fault: "clock_error", form: "years", unit: "years back", days: [2]float64{3, 6}, strength: [2]float64{20, 40}, lasts: [2]float64{1.5, 2.8}},
		{fault: "clock_error", form: "hours_back", unit: "hours", days: [2]float64{3, 8}, strength: [2]float64{1, 12}},
		{fault: "logger_power", form: "bank", unit: "failures a week", days: [2]float64{6, 15}, strength: [2]float64{2, 14}},
		{fault: "logger_power", form: "brownout", unit: "failures a day", days: [2]float64{5, 15}, strength: [2]float64{1, 12}},
		{fault: "logger_silent", form: "sudden", days: [2]float64{1.2, 6}, strength: [2]float64{1, 1}},
		{fault: "logger_silent", form: "comes_back", days: [2]float64{4, 6.5}, strength: [2]float64{1, 1}, lasts: [2]float64{0.6, 3}},
		{fault: "clock_error", form: "hours_ahead", unit: "hours", days: [2]float64{3, 14}, strength: [2]float64{1, 12}},
		{fault: "clock_error", form: "daylight_saving", unit: "hour", days: [2]float64{5, 30}, strength: [2]float64{1, 1}},
		{fault: "clock_error", form: "loses_time", unit: "minutes a day", days: [2]float64{10, 40}, strength: [2]float64{0.5, 15}},
		{fault: "clock_error", form: "zone_ahead", unit: "hours", strength: [2]float64{2, 9}},
		{fault: "clock_error", form: "zone_behind", unit: "hours", strength: [2]float64{2, 9}},
	}
}

// waterOrders are a zone's.
func waterOrders() []order {
	return []order{
		{fault: "irrigation_failure", form: "valve_shut", unit: "mm that did not come"},
		{fault: "irrigation_failure", form: "weak_pressure", unit: "of the water that did not come", strength: [2]float64{0.3, 0.9}},
		{fault: "unlogged_water", form: "valve_open", unit: "mm that nobody logged", strength: [2]float64{4, 14}},
		{fault: "unlogged_water", form: "leak", unit: "mm that nobody logged", strength: [2]float64{4, 25}},
	}
}

// unitOf names what a fault's strength counts; empty where it has no grades.
func unitOf(fault, form string) string {
	for _, list := range [][]order{musts(), extras(), grounded(), loggerOrders(), waterOrders()} {
		for _, o := range list {
			if o.fault == fault && o.form == form {
				return o.unit
			}
		}
	}
	return ""
}
