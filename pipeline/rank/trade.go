package rank

// Work is what the trade does about one fault: common practice, no source, all of
// it. Minutes are those of two people who know the place.
type Work struct {
	Fault string
	Check []string // what to look at, cheapest and likeliest first; no step holds a semicolon
	Bring []string
	Stop  float64 // minutes at the place, whatever the number of probes
	Each  float64 // minutes for each probe
	// Rides says that the work joins a visit that is made anyway, and makes none: the
	// readings are true (under_emitter), or so many sound probes look the same that a
	// drive is not worth it (drift).
	Rides bool
}

// Safety stands in the check of whatever digs or touches power.
const (
	digSafely   = " (before digging, have buried lines located and follow local rules)"
	powerSafely = " (leave valve and pump power to people licensed for it, and follow local lock-out rules)"
)

// Parts that several faults ask for, named alike so that a list names them once.
const (
	meter     = "multimeter"
	cable     = "spare two-core cable"
	splices   = "gel-filled press-fit splices"
	cutter    = "cutter and stripper"
	probeKit  = "spare probe of the same kind, soaked, and slurry kit (bucket, native soil, water, rod)"
	battery   = "spare logger battery"
	spareLog  = "spare logger or radio"
	sheet     = "register sheet of the post"
	tags      = "port and cable tags"
	spade     = "spade and auger"
	phone     = "phone with the right time"
	bottle    = "water bottle"
	deaired   = "de-aired water, hand vacuum pump, spare cap and cup"
	gauge     = "pressure gauge and flow log of the zone"
	desiccant = "contact cleaner and desiccant"
)

// trade is the table fault → work, in the order of the faults' table.
var trade = []Work{
	{Fault: "open_circuit", Stop: 10, Each: 15,
		Check: []string{
			"see that the lead is in its port and the screw or plug holds",
			"walk the cable along the row, first at trimmer and mower height, then where it enters the ground",
			"measure the resistance at the splice, then at the post: where it turns open, the lead is broken",
			"swap the lead to a port that reads well: if the fault stays at the port, it is the logger",
			"cut back and splice anew" + digSafely,
		},
		Bring: []string{meter, cable, splices, cutter, tags}},
	{Fault: "short_circuit", Stop: 10, Each: 15,
		Check: []string{
			"unplug the lead at the port: a port that still reads a short is the logger's",
			"look at the splice for water, and at the two conductors where they are stripped",
			"walk the cable for crushed or chewed places, first at trimmer height and under wires and clips",
			"measure the resistance of the lead alone, cut off from the probe",
			"cut back and splice anew" + digSafely,
		},
		Bring: []string{meter, cable, splices, cutter}},
	{Fault: "cable_damage", Stop: 10, Each: 20,
		Check: []string{
			"walk the cable along the row, first at trimmer and mower height",
			"bend the cable and the splice by hand while a second person watches the reading",
			"measure the resistance over the splice at the post: clean and dry it is near nothing",
			"wet the splice and the first metre of cable from a bottle and watch the reading",
			"swap the port",
			"cut out the bad stretch and splice with gel-filled connectors" + digSafely,
		},
		Bring: []string{meter, cable, splices, cutter, bottle}},
	{Fault: "dry_out_spike", Stop: 10, Each: 15,
		Check: []string{
			"measure the lead at the splice while it is moved: a jump is the cable, not the soil",
			"look for a crack or a hole down to the probe",
			"read the probe by hand twice, ten minutes apart",
			"if lead and contact are good, replace the probe" + digSafely,
		},
		Bring: []string{meter, splices, cutter, probeKit}},
	{Fault: "missing_irrigation_response", Stop: 10, Each: 20,
		Check: []string{
			"see that the emitters beside the probe run, with the valve open",
			"measure the lead at the splice",
			"pour a few litres slowly over the probe and watch the reading for an hour, or come back to it at the end of the round",
			"no answer: dig beside the probe and look at contact and roots" + digSafely,
			"replace the probe",
		},
		Bring: []string{meter, bottle, spade, probeKit}},
	{Fault: "flat_line", Stop: 10, Each: 15,
		Check: []string{
			"read the probe by hand at the post: another value than the logger's is the port or the logger",
			"swap the port",
			"measure the lead at the splice",
			"replace the probe" + digSafely,
		},
		Bring: []string{meter, cutter, splices, probeKit}},
	{Fault: "noise", Stop: 10, Each: 10,
		Check: []string{
			"tighten the port's screws and clean the contacts",
			"look at the splice for corrosion and at the ground of the logger",
			"see whether a pump, fence or radio near by runs when it scatters",
			"swap the port",
		},
		Bring: []string{meter, splices, cutter, desiccant}},
	{Fault: "drift", Stop: 10, Each: 15, Rides: true,
		Check: []string{
			"see that the emitters beside the probe give as much as the others",
			"measure the resistance over the splice: a corroded joint grows slowly",
			"take an auger sample at the probe's depth and feel it against the reading",
			"plan its replacement if lead and soil are right" + digSafely,
		},
		Bring: []string{meter, splices, spade, probeKit}},
	{Fault: "out_of_range", Stop: 10, Each: 15,
		Check: []string{
			"compare kind and port with the register sheet",
			"measure the lead at the splice",
			"swap the port",
			"see whether the probe stands proud of the ground or in standing water",
		},
		Bring: []string{meter, sheet, cutter, splices, probeKit}},
	{Fault: "lost_suction", Stop: 10, Each: 15,
		Check: []string{
			"look at the water level in the tube and at the cap's seal",
			"refill with de-aired water and pump it free of bubbles",
			"see that it holds suction for ten minutes: if not, change the cap, then the cup",
		},
		Bring: []string{deaired}},
	{Fault: "poor_contact", Stop: 10, Each: 25,
		Check: []string{
			"look for a crack or a settled hole around the tube or cable",
			"press the soil down by hand and water it in",
			"if it stays dry and jumpy: take it out, and set it again in a slurry of native soil" + digSafely,
		},
		Bring: []string{spade, bottle, probeKit}},
	{Fault: "bypass_flow", Stop: 10, Each: 25,
		Check: []string{
			"look where water gathers around the hole or runs down the cable",
			"see that no emitter drips on the cable or the tube",
			"make a drip loop, close the hole with packed native soil or bentonite, and slope the surface away",
			"if it comes back: set the probe again half a metre off" + digSafely,
		},
		Bring: []string{spade, "bentonite", probeKit}},
	{Fault: "under_emitter", Stop: 10, Each: 5, Rides: true,
		Check: []string{
			"measure the distance from the probe to the nearest emitter",
			"look for a leaking or moved emitter",
			"note the distance for the register, and move the emitter or plan to move the probe",
		},
		Bring: []string{"tape measure", "spare emitters and plugs", sheet}},
	{Fault: "wrong_kind", Stop: 10, Each: 5,
		Check: []string{
			"read the label of the probe and of the port",
			"compare port by port with the register sheet, and send home what is true",
		},
		Bring: []string{sheet, tags, meter}},
	{Fault: "duplicate_series", Stop: 10, Each: 5,
		Check: []string{
			"at the desk first: see whether the export names one column twice",
			"at the post: unplug one of the two and see which series stops",
			"compare port by port with the register sheet, and send home what is true",
		},
		Bring: []string{sheet, tags}},
	{Fault: "wrong_zone", Stop: 10, Each: 5,
		Check: []string{
			"at the desk first: compare block, zone and place with the map",
			"at the post: follow the drip line to its valve, and send home which zone it is",
		},
		Bring: []string{sheet, "map of valves"}},
	{Fault: "depth_order", Stop: 10, Each: 10,
		Check: []string{
			"compare the tags on the cables with the ports",
			"warm or wet one probe at a time where it can be reached, and see which port answers",
			"send home the true order of ports and depths",
		},
		Bring: []string{sheet, tags, bottle}},
	{Fault: "gap", Stop: 10, Each: 10,
		Check: []string{
			"see that the lead is in its port and the port is switched on in the logger",
			"read the logger's memory by hand: readings that are there were lost on their way",
			"swap the port",
			"measure the lead at the splice",
		},
		Bring: []string{meter, cutter, splices, sheet}},
	{Fault: "logger_silent", Stop: 30,
		Check: []string{
			"look at the post: knocked over, stolen, under water",
			"look at antenna, antenna cable and signal",
			"measure the battery under load, clean the solar panel, look at the fuse",
			"restart the logger and wait for one transmission",
			"read its memory before anything is exchanged",
			"exchange it, and write both serial numbers down",
		},
		Bring: []string{meter, battery, spareLog, "memory reader or cable", "antenna"}},
	{Fault: "logger_power", Stop: 30,
		Check: []string{
			"measure the battery under load, and the charge from the panel",
			"clean the panel and cut what shades it",
			"look at plugs, fuse and ground for corrosion and water",
			"unplug the ports one by one: one shorted lead can pull all down",
			"exchange the battery",
		},
		Bring: []string{meter, battery, desiccant, cutter}},
	{Fault: "clock_error", Stop: 20,
		Check: []string{
			"compare the logger's clock and zone with a phone, and write both down before it is set",
			"read its memory before anything is changed",
			"set the clock to the farm's standard time",
			"exchange the clock's battery if it lost the time in a restart",
		},
		Bring: []string{phone, "memory reader or cable", "clock battery"}},
	{Fault: "irrigation_failure", Stop: 30,
		Check: []string{
			"the place shown is that of the zone's probes: go to the zone's valve",
			"at the desk first: see in the log that the watering was run, and not only planned",
			"look for a shut hand valve, a broken lateral, a full filter",
			"read pressure and flow while the zone runs",
			"open the valve by hand" + powerSafely,
			"walk the emitters beside each post of the zone",
		},
		Bring: []string{gauge, "valve key and diaphragm", "spare emitters and plugs", "lateral repair fittings"}},
}

var tradeOf = func() map[string]*Work {
	m := make(map[string]*Work, len(trade))
	for i := range trade {
		m[trade[i].Fault] = &trade[i]
	}
	return m
}()

// WorkFor gives what the trade does about a fault; false for a fault that makes no
// visit of its own.
func WorkFor(fault string) (Work, bool) {
	w, ok := tradeOf[fault]
	if !ok {
		return Work{}, false
	}
	return *w, true
}
