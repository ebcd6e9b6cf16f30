package judge

import "probeward/detectors/detect"

// Mask is a row of the table of what explains what: where the fault By covers at
// least half of the time of one of Faults, on the same probe or on at least half
// of the probes that a group's fault touches, the covered finding is listed and
// makes no verdict. A fault that ended explains none that still stands.
type Mask struct {
	By     string
	Faults []string
	Why    string // the reason, as a person would say it
	// Spares says that the cause leaves the readings of what it explains true, so
	// that they keep no flag from it. Everywhere else they do: they are as wrong
	// as before, only the blame has moved.
	Spares bool
	// Outlasts says that the row holds even where By ended and what it explains
	// still stands, because that can only be taken back at a later occasion.
	Outlasts bool
	// Waterings says that what counts is not time but the zone's waterings while
	// the explained fault lasted: By must hold at half of them or more.
	Waterings bool
	// Near, when not zero, lets the row hold as well where the explained fault
	// starts or ends within so long of By: both tell of one event, and date it by
	// the valve or by the answer.
	Near int64
}

// Masks is the table, ordered by cause: the register, silence and clock, power,
// the circuit, a copy, the zone's water, the sensor, its placement. The first row
// that applies is named. No fault explains itself, not even through others: the
// rows form no circle.
func Masks() []Mask { return masks }

// waterNear is how far the valve and the answer of a deep probe may lie apart
// (common practice, no source).
const waterNear = 12 * detect.Hour

var masks = []Mask{
	// The register: what is not the sensor that it is taken for breaks every bound.
	{By: "wrong_kind", Faults: []string{
		"open_circuit", "short_circuit", "cable_damage", "dry_out_spike", "missing_irrigation_response",
		"flat_line", "noise", "drift", "out_of_range", "lost_suction", "poor_contact", "bypass_flow",
		"under_emitter", "wrong_zone", "depth_order",
	}, Why: "every bound and every answer is that of the registered kind, which this is not"},

	// Clock and silence: what was stamped wrongly or never said.
	{By: "clock_error", Faults: []string{
		"logger_silent", "gap", "irrigation_failure", "unlogged_water", "dry_out_spike",
		"missing_irrigation_response", "noise", "drift", "bypass_flow", "wrong_zone", "depth_order",
	}, Why: "wrong stamps leave holes, and move the readings away from the water that they answer"},
	{By: "logger_silent", Faults: []string{"gap", "irrigation_failure", "missing_irrigation_response"},
		Why: "a logger that sends nothing leaves a gap at every port, and no answer to water"},

	// Power: ports that fail together do not each have a broken cable.
	{By: "logger_power", Faults: []string{
		"open_circuit", "short_circuit", "cable_damage", "out_of_range", "dry_out_spike", "flat_line",
		"noise", "lost_suction", "gap", "missing_irrigation_response", "poor_contact", "bypass_flow",
	}, Why: "the ports fail in the same minutes, so the fault lies before the cables"},

	// The circuit: what no current reaches says nothing of the soil.
	{By: "cable_damage", Faults: []string{
		"open_circuit", "short_circuit", "out_of_range", "dry_out_spike", "flat_line", "gap", "noise", "drift",
		"missing_irrigation_response", "bypass_flow", "under_emitter", "poor_contact",
	}, Why: "a contact that comes and goes gives each of these in turn, and a leak follows the water"},
	{By: "open_circuit", Faults: []string{
		"out_of_range", "flat_line", "dry_out_spike", "missing_irrigation_response", "noise", "drift",
		"lost_suction", "poor_contact", "depth_order", "gap",
	}, Why: "behind a broken lead there is no sensor to judge"},
	{By: "short_circuit", Faults: []string{
		"out_of_range", "flat_line", "dry_out_spike", "missing_irrigation_response", "noise", "drift",
		"lost_suction", "under_emitter", "depth_order", "gap",
	}, Why: "behind touching leads there is no sensor to judge"},
	{By: "gap", Faults: []string{"missing_irrigation_response"},
		Why: "a reading that is not there cannot answer"},

	// A copy, and a probe somewhere else than registered.
	{By: "duplicate_series", Faults: []string{
		"wrong_zone", "depth_order", "missing_irrigation_response", "bypass_flow", "poor_contact", "drift",
	}, Why: "the readings are those of another probe, and answer what that one answers"},
	{By: "wrong_zone", Faults: []string{
		"missing_irrigation_response", "lost_suction", "bypass_flow", "poor_contact", "under_emitter", "drift", "depth_order",
	}, Why: "it is held against the water and the neighbours of a zone that it is not in"},
	{By: "depth_order", Faults: []string{"missing_irrigation_response", "bypass_flow", "poor_contact", "drift"},
		Why: "probes that changed places answer early and late where none is wrong"},

	// The zone's water: no answer where there was none to give.
	{By: "irrigation_failure", Faults: []string{"missing_irrigation_response"}, Spares: true, Outlasts: true, Waterings: true, Near: waterNear,
		Why: "the water did not come, so silence was the right answer"},
	{By: "unlogged_water", Faults: []string{"dry_out_spike"}, Spares: true, Near: waterNear,
		Why: "there was water, though nobody wrote it down"},

	// The sensor.
	{By: "lost_suction", Faults: []string{
		"flat_line", "missing_irrigation_response", "noise", "drift", "under_emitter", "depth_order",
	}, Why: "an empty tensiometer stands near zero whatever the soil does"},
	{By: "flat_line", Faults: []string{
		"missing_irrigation_response", "drift", "poor_contact", "under_emitter",
	}, Why: "what repeats itself cannot answer, and its neighbours move away from it"},
	{By: "dry_out_spike", Faults: []string{"noise", "poor_contact"},
		Why: "the scatter is that of the spikes"},
	{By: "noise", Faults: []string{"poor_contact"},
		Why: "scatter makes answers look late, low and jumpy, whatever the contact"},

	// Its placement, and a hole that has not closed yet.
	{By: "settling", Faults: []string{
		"missing_irrigation_response", "noise", "drift", "poor_contact", "bypass_flow", "depth_order",
	}, Why: "a hole that has not closed yet does all of this, and it passes"},
	{By: "missing_irrigation_response", Faults: []string{"drift"},
		Why: "what stopped answering falls behind its neighbours"},
}
