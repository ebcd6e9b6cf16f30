package simulate

import (
	"fmt"
	"math"
	"time"
)

// Plan lays out the vineyard and its faults without running it: the same farm
// that Write writes. Whether a fault shows is not known yet.
func Plan(o Options) (Vineyard, error) {
	o, err := o.filled()
	if err != nil {
		return Vineyard{}, err
	}
	v := Vineyard{Farm: "Juniper Bench", Start: o.Start, Until: o.until(), options: o, sky: newClimate(o)}
	v.layPosts()
	v.layZones()
	v.layProbes()
	v.layLookAlikes()
	for z := range v.Zones {
		v.water(z)
		v.applyLook(z)
	}
	if o.Faults {
		v.injectFaults()
	}
	return v, nil
}

// layPosts sets posts until the ports suffice: mostly six ports, some four, some eight.
func (v *Vineyard) layPosts() {
	o := v.options
	sizes := [...]int{6, 4, 6, 8, 6, 4, 6, 4, 6, 6}
	granular, dielectric := 0, 0
	for left, i := v.ports(), 0; left > 0; i++ {
		r := stream(o.Seed, forPost, i)
		p := Post{
			Name:      fmt.Sprintf("post-%03d", i+1),
			Logger:    fmt.Sprintf("JB-L%03d", i+1),
			Serial:    fmt.Sprintf("%06d", 200000+r.IntN(700000)),
			Cadence:   o.Cadence,
			Long:      o.Shape == "long" || o.Shape == "mixed" && i%5 >= 3,
			BatteryV:  between(r, 3.45, 3.7),
			SwingV:    between(r, 0.25, 0.5),
			HoleShare: between(r, 0.005, 0.02),
		}
		if i%4 == 2 {
			p.BatteryV, p.SwingV = between(r, 12.1, 12.5), between(r, 0.5, 1)
		}
		if i%7 == 5 && o.Cadence <= 30*time.Minute && time.Hour%(2*o.Cadence) == 0 {
			p.Cadence = 2 * o.Cadence
		}
		switch {
		case o.Export == "vwc" || o.Export == "mixed" && i%5 == 3:
			p.model = dielectricModel(dielectric)
			dielectric++
		case (o.Export == "kPa" || o.Export == "mixed") && (i%10 == 6 || o.Measure && i%10 == 1):
			p.model = tensiometerModel()
		default:
			p.model = granularModel(granular, o.Export)
			granular++
		}
		v.Posts = append(v.Posts, p)
		ports := min(left, sizes[i%len(sizes)])
		left -= ports
		v.layPositions(i, ports)
	}
}

// ports is how many probes are in the ground at a time: one of them has a
// predecessor in the register, on a farm large enough to have a history.
func (v *Vineyard) ports() int {
	if v.options.Probes >= 60 { // ten posts: enough for every look-alike
		return v.options.Probes - 1
	}
	return v.options.Probes
}

// layPositions digs the holes of a post: two with half of its ports each, but
// four of two ports when there are eight.
func (v *Vineyard) layPositions(post, ports int) {
	holes := 2
	switch {
	case ports <= 2:
		holes = 1
	case ports == 8:
		holes = 4
	}
	model := v.Posts[post].model
	port := 0
	for h := range holes {
		n := len(v.Positions)
		r := stream(v.options.Seed, forPosition, n)
		p := Position{Post: post, Swing: between(r, 0.7, 1.2), Macropore: between(r, 0, 0.35)}
		switch place := r.Float64(); {
		case place < 0.62 || h == 0:
			p.Coupling = between(r, 1.5, 3)
		case place < 0.85:
			p.Coupling = between(r, 0.5, 1.3)
		default:
			p.Coupling = between(r, 0.02, 0.2)
		}
		p.Uptake = (0.35 + float64(0.68*p.Coupling)) * around(r, 0.12)
		if model.kind == tensiometer { // set where the soil stays within their reach
			p.Coupling = between(r, 2, 3)
			p.Uptake = (0.35 + float64(0.75*p.Coupling)) * around(r, 0.1)
		}
		p.texture = textureDraw{alpha: 0.8 * around(r, 0.18), n: 1 + float64(0.03*r.NormFloat64()), ks: 2.2 * around(r, 0.3)}
		v.Positions = append(v.Positions, p)
		share := (ports - port + holes - h - 1) / (holes - h)
		for d := range share {
			port++
			v.Probes = append(v.Probes, v.newProbe(post, n, port, 30*(d+1)))
		}
	}
}

func (v *Vineyard) newProbe(post, position, port, depth int) Probe {
	m := v.Posts[post].model
	p := Probe{
		Name: fmt.Sprintf("JB-%03d-%d", position+1, depth),
		Port: fmt.Sprintf("P%d", port),
		Post: post, Position: position, DepthCM: depth,
		Kind: m.kind, Unit: m.unit,
		Installed: v.Start.AddDate(-2, -1, post%20),
	}
	v.drawSensor(&p, len(v.Probes))
	return p
}

// drawSensor gives a probe its own offset, noise and lag.
func (v *Vineyard) drawSensor(p *Probe, index int) {
	r := stream(v.options.Seed, forProbe, index)
	p.Serial = fmt.Sprintf("%05d", 10000+r.IntN(90000))
	switch p.Kind {
	case granularMatrix:
		p.offset, p.noise, p.lagHours, p.deadAt = min(1.12, max(0.9, around(r, 0.05))), between(r, 0.005, 0.01), between(r, 0.5, 2), between(r, 5, 8)
	case tensiometer:
		p.offset, p.noise, p.lagHours = between(r, -0.8, 0.8), between(r, 0.08, 0.2), between(r, 0.1, 0.4)
	default:
		p.offset, p.noise, p.lagHours = between(r, -0.025, 0.025), between(r, 0.001, 0.0025), 0.1
	}
}

// layZones parts the posts into zones and blocks and gives each a place.
func (v *Vineyard) layZones() {
	zones := max(1, (len(v.Posts)+2)/4)
	textures := [...]string{"loam", "sandy loam", "clay loam", "silt loam", "sandy clay loam", "loamy sand"}
	for z := range zones {
		r := stream(v.options.Seed, forZone, z)
		block := z / 2
		letter := letters(block)
		v.Zones = append(v.Zones, Zone{
			Name:          fmt.Sprintf("%s%d", letter, z%2+1),
			Block:         "Terrace " + letter,
			Texture:       textures[block%len(textures)],
			AreaHa:        math.Round(10*between(r, 0.9, 2.6)) / 10,
			EveryDays:     between(r, 3, 6.5),
			RateMMPerHour: between(r, 1.1, 1.9),
			Replaced:      between(r, 0.8, 1),
			OpensAt:       math.Mod(19+float64(z%5)*1.9+between(r, 0, 1), 24),
		})
	}
	for i := range v.Posts {
		p := &v.Posts[i]
		p.Zone = i * zones / len(v.Posts)
		zone := v.Zones[p.Zone]
		r := stream(v.options.Seed, forPost, -1-i)
		row := 4 + 7*(i%6) + r.IntN(4)
		p.Row = fmt.Sprintf("%s-%d", zone.Name, row)
		p.Tag = fmt.Sprintf("%s %02d", [...]string{"red", "white", "blue", "yellow"}[i%4], i+1)
		p.Latitude = farmLatitude + 0.0021*float64(p.Zone/4) + float64(0.00022*float64(row%7)) + between(r, 0, 1e-4)
		p.Longitude = farmLongitude + 0.0029*float64(p.Zone%4) + between(r, 0, 0.0019)
	}
}

// layProbes lets every probe be registered where it is.
func (v *Vineyard) layProbes() {
	for i := range v.Probes {
		v.Probes[i].RegisteredZone = v.Posts[v.Probes[i].Post].Zone
	}
}

// replaceFirst puts a new sensor on the port of a position's first probe, well
// before the end: the old one is another probe in the register.
func (v *Vineyard) replaceFirst(position int) {
	for k := range v.Probes {
		if v.Probes[k].Position != position {
			continue
		}
		old := v.Probes[k]
		old.Name += "-old"
		old.Predecessor = true
		old.ValidTo = v.dayBefore(24)
		p := &v.Probes[k]
		p.Installed, p.ValidFrom = old.ValidTo, old.ValidTo
		v.drawSensor(p, len(v.Probes)+1)
		v.Probes = append(v.Probes, old)
		for j := range v.Probes { // its neighbours in the hole are ordinary
			if v.Probes[j].Position == position && j != k && j != len(v.Probes)-1 {
				v.Probes[j].Meant = ""
			}
		}
		return
	}
}

// dayBefore is an hour of a morning so many days before the end, or within the
// record's first third when the record is too short for it.
func (v *Vineyard) dayBefore(days int) time.Time {
	whole := int(v.Until.Sub(v.Start) / (24 * time.Hour))
	days = min(days, whole*2/3)
	return v.Until.AddDate(0, 0, -days).Truncate(24 * time.Hour).Add(17 * time.Hour)
}

// letters names blocks as a spreadsheet does its columns: A to Z, then AA.
func letters(n int) string {
	if n >= 26 {
		return letters(n/26-1) + letters(n%26)
	}
	return string(rune('A' + n))
}
