package crew

import (
	"cmp"
	"encoding/xml"
	"fmt"
	"slices"
	"strings"
	"time"

	"probeward/pipeline/rank"
)

// The elements of GPX 1.1, in the order that its schema asks for.
type (
	gpxFile struct {
		XMLName  xml.Name   `xml:"http://www.topografix.com/GPX/1/1 gpx"`
		Version  string     `xml:"version,attr"`
		Creator  string     `xml:"creator,attr"`
		Metadata gpxMeta    `xml:"metadata"`
		Points   []gpxPoint `xml:"wpt"`
		Routes   []gpxRoute `xml:"rte"`
	}
	gpxMeta struct {
		Name   string     `xml:"name"`
		Desc   string     `xml:"desc"`
		Time   string     `xml:"time"`
		Bounds *gpxBounds `xml:"bounds"`
	}
	gpxBounds struct {
		MinLat string `xml:"minlat,attr"`
		MinLon string `xml:"minlon,attr"`
		MaxLat string `xml:"maxlat,attr"`
		MaxLon string `xml:"maxlon,attr"`
	}
	gpxRoute struct {
		Name   string     `xml:"name"`
		Desc   string     `xml:"desc"`
		Points []gpxPoint `xml:"rtept"`
	}
	gpxPoint struct {
		Lat  string `xml:"lat,attr"`
		Lon  string `xml:"lon,attr"`
		Name string `xml:"name"`
		Desc string `xml:"desc"`
		Type string `xml:"type,omitempty"`
	}
)

// gpx writes a waypoint for each stop that has coordinates, by rank, and the round.
func (in *Input) gpx() ([]byte, error) {
	g := gpxFile{Version: "1.1", Creator: "probeward", Metadata: gpxMeta{
		Name: in.heading(), Desc: "Stops of the service crew, the most useful first",
		Time: time.UnixMicro(in.Window.End).UTC().Format(time.RFC3339),
	}}
	if w, s, e, n, ok := in.box(); ok && e-w <= 180 {
		g.Metadata.Bounds = &gpxBounds{degrees(s), gpxLongitude(w), degrees(n), gpxLongitude(e)}
	}
	type routed struct {
		order int
		point gpxPoint
	}
	var round []routed
	for i := range in.Visits {
		v := &in.Visits[i]
		if !hasPlace(v) {
			continue
		}
		p := gpxPoint{Lat: degrees(v.Latitude.V), Lon: gpxLongitude(v.Longitude.V), Name: waypoint(i+1, v),
			Desc: xmlText(v.Cause + "; bring: " + strings.Join(v.Bring, ", ")), Type: string(v.Family)}
		g.Points = append(g.Points, p)
		if v.RouteOrder.OK {
			round = append(round, routed{v.RouteOrder.V, p})
		}
	}
	slices.SortStableFunc(round, func(a, b routed) int { return cmp.Compare(a.order, b.order) })
	if len(round) > 0 {
		r := gpxRoute{Name: "Short way round", Desc: "As the crow flies; it knows no roads, rows or gates"}
		for _, p := range round {
			r.Points = append(r.Points, p.point)
		}
		g.Routes = []gpxRoute{r}
	}
	b, err := xml.MarshalIndent(g, "", "  ")
	return append([]byte(xml.Header), append(b, '\n')...), err
}

// waypoint names a stop on a small screen: its rank, its place, what is painted there.
func waypoint(n int, v *rank.Visit) string {
	name := fmt.Sprintf("%02d %s", n, placeOf(v))
	if v.Tag != "" {
		name += " (" + v.Tag + ")"
	}
	return xmlText(name)
}

// gpxLongitude is below 180, as the schema has it.
func gpxLongitude(v float64) string {
	if v >= 180 {
		v -= 360
	}
	return degrees(v)
}

// xmlText leaves out what XML cannot hold at all.
func xmlText(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' && r != '\t' && r != '\n' && r != '\r' || r == 0xFFFE || r == 0xFFFF {
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "\uFFFD"))
}
