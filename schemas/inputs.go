package schemas

// The tables that go in. Times in inputs may be RFC 3339, or local stamps in the
// configured zone, or plain dates (midnight there).
var (
	// ReadingsLong is one reading a row.
	ReadingsLong = Table{Name: "readings", Doc: "what the loggers exported, one reading a row", Columns: []Column{
		{Name: "time", Type: Time, Required: true, Doc: "when it was measured"},
		{Name: "probe", Type: Text, Required: true, Doc: "the probe's name in the register"},
		{Name: "value", Type: Number, Required: true, Doc: "as exported"},
		{Name: "unit", Type: Text, Doc: "where it differs from the register's"},
		{Name: "temperature_c", Type: Number, Unit: "degC", Doc: "soil temperature beside it"},
		{Name: "battery_v", Type: Number, Unit: "V", Doc: "the logger's battery then"},
		{Name: "device_time", Type: Time, Doc: "the device's own clock, where time is that of what received its message; it is compared, and no reading is stamped by it"},
		{Name: "gateway_time", Type: Time, Doc: "the clock of what received the message, where time is the device's; it is compared, and no reading is stamped by it"},
	}}

	// Probes is the register.
	Probes = Table{Name: "probes", Doc: "the register: a row for each span in which a probe sits at one logger and port", Columns: []Column{
		{Name: "probe", Type: Text, Required: true, Doc: "the probe's own name"},
		{Name: "farm", Type: Text, Doc: "the farm"},
		{Name: "logger", Type: Text, Doc: "the logger it is wired to"},
		{Name: "port", Type: Text, Doc: "the logger's port, as the export's column names it"},
		{Name: "post", Type: Text, Doc: "the post that carries the logger"},
		{Name: "tag", Type: Text, Doc: "what is painted on the post"},
		{Name: "row", Type: Text, Doc: "the row of vines"},
		{Name: "block", Type: Text, Doc: "the block"},
		{Name: "zone", Type: Text, Doc: "the irrigation zone"},
		{Name: "latitude", Type: Number, Unit: "deg", Doc: "WGS 84"},
		{Name: "longitude", Type: Number, Unit: "deg", Doc: "WGS 84"},
		{Name: "depth_cm", Type: Number, Unit: "cm", Doc: "below the surface"},
		{Name: "kind", Type: Text, Required: true, Doc: "granular_matrix, tensiometer, dielectric, soil_temperature or other"},
		{Name: "unit", Type: Text, Required: true, Doc: "ohm, kohm, kPa, cbar, m3/m3, %, mV, count or degC"},
		{Name: "valid_from", Type: Time, Doc: "from when this logger and port hold"},
		{Name: "valid_to", Type: Time, Doc: "until when, not included"},
		{Name: "installed_on", Type: Time, Doc: "when it went into the ground"},
		{Name: "removed_on", Type: Time, Doc: "when it came out"},
		{Name: "soil_texture", Type: Text, Doc: "one of the twelve classes"},
		{Name: "conditioned", Type: Boolean, Doc: "soaked and dried before it was installed"},
		{Name: "splice", Type: Text, Doc: "how the lead is joined"},
		{Name: "cable_protection", Type: Text, Doc: "conduit, buried, bare"},
		{Name: "cable_m", Type: Number, Unit: "m", Doc: "one way"},
		{Name: "cable_awg", Type: Integer, Doc: "American wire gauge"},
		{Name: "emitter_offset_cm", Type: Number, Unit: "cm", Doc: "distance to the nearest emitter"},
		{Name: "area_ha", Type: Number, Unit: "ha", Doc: "what it speaks for"},
		{Name: "scale", Type: Number, Doc: "standard value = scale × (value − offset)"},
		{Name: "offset", Type: Number, Doc: "in the exported unit"},
		{Name: "conversion", Type: Text, Doc: "how a kPa export was made from ohms"},
		{Name: "reference_temp_c", Type: Number, Unit: "degC", Doc: "the temperature that conversion assumed"},
		{Name: "temperature_probe", Type: Text, Doc: "the soil temperature probe beside it"},
		{Name: "serial", Type: Text, Doc: "of the probe"},
		{Name: "warranty_until", Type: Time, Doc: "end of its warranty"},
		{Name: "note", Type: Text, Doc: "anything"},
	}}

	// Loggers says where the loggers stand.
	Loggers = Table{Name: "loggers", Doc: "where the loggers stand", Columns: []Column{
		{Name: "logger", Type: Text, Required: true, Doc: "the logger's name"},
		{Name: "post", Type: Text, Doc: "its post"},
		{Name: "latitude", Type: Number, Unit: "deg", Doc: "WGS 84"},
		{Name: "longitude", Type: Number, Unit: "deg", Doc: "WGS 84"},
		{Name: "serial", Type: Text, Doc: "of the logger"},
		{Name: "note", Type: Text, Doc: "anything"},
	}}

	// Irrigation is the log of waterings.
	Irrigation = Table{Name: "irrigation", Doc: "the log of waterings", Columns: []Column{
		{Name: "zone", Type: Text, Required: true, Doc: "the irrigation zone"},
		{Name: "start", Type: Time, Required: true, Doc: "valve open"},
		{Name: "end", Type: Time, Required: true, Doc: "valve shut"},
		{Name: "depth_mm", Type: Number, Unit: "mm", Doc: "applied depth"},
		{Name: "volume_l", Type: Number, Unit: "L", Doc: "applied volume"},
		{Name: "note", Type: Text, Doc: "anything"},
	}}

	// Weather is hourly or daily.
	Weather = Table{Name: "weather", Doc: "hourly or daily weather", Columns: []Column{
		{Name: "time", Type: Time, Required: true, Doc: "start of the hour or day"},
		{Name: "rain_mm", Type: Number, Unit: "mm", Doc: "in that hour or day"},
		{Name: "air_temp_c", Type: Number, Unit: "degC", Doc: "mean"},
		{Name: "rh_pct", Type: Number, Unit: "%", Doc: "relative humidity"},
		{Name: "wind_m_s", Type: Number, Unit: "m/s", Doc: "at 2 m"},
		{Name: "solar_w_m2", Type: Number, Unit: "W/m2", Doc: "mean"},
		{Name: "et0_mm", Type: Number, Unit: "mm", Doc: "reference evapotranspiration in that hour or day"},
	}}

	// Visits is what the crew brought back.
	Visits = Table{Name: "visits", Doc: "what the crew found and did", Columns: []Column{
		{Name: "visit", Type: Text, Doc: "the visit's name in the queue"},
		{Name: "visited_on", Type: Time, Required: true, Doc: "when"},
		{Name: "post", Type: Text, Doc: "where"},
		{Name: "logger", Type: Text, Doc: "which logger"},
		{Name: "probe", Type: Text, Doc: "which probe"},
		{Name: "found", Type: Text, Required: true, Doc: "a fault, nothing_wrong or not_seen"},
		{Name: "outcome", Type: Text, Required: true, Doc: "repaired, replaced, register_mended, left or could_not_reach"},
		{Name: "parts", Type: Text, Doc: "what was used"},
		{Name: "minutes", Type: Number, Unit: "min", Doc: "how long it took"},
		{Name: "note", Type: Text, Doc: "anything"},
	}}

	// Overrides is a person's word against the scan's.
	Overrides = Table{Name: "overrides", Doc: "a person's word against the scan's", Columns: []Column{
		{Name: "probe", Type: Text, Required: true, Doc: "which probe"},
		{Name: "action", Type: Text, Required: true, Doc: "ignore, accept or exclude"},
		{Name: "from", Type: Time, Doc: "from when"},
		{Name: "until", Type: Time, Doc: "until when, not included"},
		{Name: "why", Type: Text, Required: true, Doc: "why"},
	}}
)
