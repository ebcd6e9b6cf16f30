package crew

import (
	"encoding/json"

	"probeward/detectors/detect"
)

// The shapes of RFC 7946, in the order in which they are written.
type (
	collection struct {
		Type     string    `json:"type"`
		Box      []float64 `json:"bbox,omitempty"` // west, south, east, north
		Features []feature `json:"features"`
	}
	feature struct {
		Type       string     `json:"type"`
		ID         string     `json:"id"`
		Geometry   *point     `json:"geometry"` // null: the place is not known
		Properties properties `json:"properties"`
	}
	point struct {
		Type        string     `json:"type"`
		Coordinates [2]float64 `json:"coordinates"` // longitude, latitude
	}
	properties struct {
		Rank       int      `json:"rank"`
		Visit      string   `json:"visit"`
		Farm       string   `json:"farm,omitempty"`
		Block      string   `json:"block"`
		Row        string   `json:"row"`
		Post       string   `json:"post"`
		Tag        string   `json:"tag"`
		Cause      string   `json:"cause"`
		Confidence float64  `json:"confidence"`
		Minutes    float64  `json:"minutes"`
		Bring      []string `json:"bring"`
		RouteOrder *int     `json:"route_order"`
	}
)

// geoJSON writes the stops in rank order. The box is left out where the stops lie on
// both sides of the 180th meridian: its rule there would need the smaller of two.
func (in *Input) geoJSON() ([]byte, error) {
	c := collection{Type: "FeatureCollection", Features: []feature{}}
	for i := range in.Visits {
		v := &in.Visits[i]
		f := feature{Type: "Feature", ID: v.Name, Properties: properties{
			Rank: i + 1, Visit: v.Name, Farm: v.Farm, Block: v.Block, Row: v.Row, Post: v.Post, Tag: v.Tag,
			Cause: v.Cause, Confidence: v.Confidence, Minutes: v.Minutes, Bring: append([]string{}, v.Bring...),
			RouteOrder: pointer(v.RouteOrder),
		}}
		if hasPlace(v) {
			f.Geometry = &point{"Point", [2]float64{v.Longitude.V, v.Latitude.V}}
		}
		c.Features = append(c.Features, f)
	}
	if w, s, e, n, ok := in.box(); ok && e-w <= 180 {
		c.Box = []float64{w, s, e, n}
	}
	b, err := json.MarshalIndent(c, "", "  ")
	return append(b, '\n'), err
}

func pointer(m detect.Maybe[int]) *int {
	if !m.OK {
		return nil
	}
	return &m.V
}

// box is around all stops with coordinates.
func (in *Input) box() (west, south, east, north float64, ok bool) {
	var all []spot
	for i := range in.Visits {
		if v := &in.Visits[i]; hasPlace(v) {
			all = append(all, spot{v.Longitude.V, v.Latitude.V})
		}
	}
	if len(all) == 0 {
		return 0, 0, 0, 0, false
	}
	west, east, south, north = bounds(all)
	return west, south, east, north, true
}
