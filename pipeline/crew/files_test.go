package crew

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"io"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"probeward/detectors/detect"
)

// RFC 7946 (checked): a collection has features, each with type, geometry and
// properties; positions are longitude, latitude (3.1.1); geometry is null where the
// place is not known (3.2); a box is west, south, east, north (5); no crs (4).
func TestGeoJSON(t *testing.T) {
	in := smallRound()
	var c map[string]any
	if err := json.Unmarshal(file(t, in, GeoJSONName), &c); err != nil {
		t.Fatal(err)
	}
	if c["type"] != "FeatureCollection" || c["crs"] != nil {
		t.Errorf("type %v, crs %v", c["type"], c["crs"])
	}
	if diff := cmp.Diff([]any{-119.112, 41.37, -119.11, 41.371}, c["bbox"]); diff != "" {
		t.Error(diff)
	}
	features := c["features"].([]any)
	if len(features) != len(in.Visits) {
		t.Fatalf("%d features", len(features))
	}
	for i, f := range features {
		f := f.(map[string]any)
		v := in.Visits[i]
		if _, there := f["geometry"]; f["type"] != "Feature" || !there {
			t.Errorf("feature %d: %v", i, f)
		}
		if v.Latitude.OK {
			want := map[string]any{"type": "Point", "coordinates": []any{v.Longitude.V, v.Latitude.V}}
			if diff := cmp.Diff(want, f["geometry"]); diff != "" {
				t.Error(diff)
			}
		} else if f["geometry"] != nil {
			t.Errorf("%s has no coordinates and geometry %v", v.Name, f["geometry"])
		}
		p := f["properties"].(map[string]any)
		bring := make([]any, len(v.Bring))
		for k, b := range v.Bring {
			bring[k] = b
		}
		for name, want := range map[string]any{"rank": float64(i + 1), "visit": v.Name, "block": v.Block, "post": v.Post, "tag": v.Tag,
			"cause": v.Cause, "confidence": v.Confidence, "minutes": v.Minutes, "bring": bring} {
			if diff := cmp.Diff(want, p[name]); diff != "" {
				t.Errorf("%s of %s: %s", name, v.Name, diff)
			}
		}
	}
}

// The schema of GPX 1.1 (from memory): version "1.1"; metadata, wpt, rte in this
// order; latitude in -90..90, longitude in -180..180 without 180; in a waypoint name
// before desc before type; in metadata name, desc, time, bounds.
func TestGPX(t *testing.T) {
	in := smallRound()
	in.Visits[1].Longitude = detect.Some(180.0)
	b := file(t, in, GPXName)
	var order []string
	d := xml.NewDecoder(bytes.NewReader(b))
	path := []string{}
	for {
		tk, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		switch tk := tk.(type) {
		case xml.StartElement:
			if tk.Name.Space != "http://www.topografix.com/GPX/1/1" {
				t.Errorf("<%s> is in the space %q", tk.Name.Local, tk.Name.Space)
			}
			path = append(path, tk.Name.Local)
			order = append(order, strings.Join(path, "/"))
			for _, a := range tk.Attr {
				v, err := strconv.ParseFloat(a.Value, 64)
				switch a.Name.Local {
				case "lat":
					if err != nil || v < -90 || v > 90 {
						t.Errorf("latitude %q", a.Value)
					}
				case "lon":
					if err != nil || v < -180 || v >= 180 {
						t.Errorf("longitude %q", a.Value)
					}
				case "version":
					if a.Value != "1.1" {
						t.Errorf("version %q", a.Value)
					}
				}
			}
		case xml.EndElement:
			path = path[:len(path)-1]
		}
	}
	wpt := []string{"gpx/wpt", "gpx/wpt/name", "gpx/wpt/desc", "gpx/wpt/type"}
	rtept := []string{"gpx/rte/rtept", "gpx/rte/rtept/name", "gpx/rte/rtept/desc", "gpx/rte/rtept/type"}
	want := []string{"gpx", "gpx/metadata", "gpx/metadata/name", "gpx/metadata/desc", "gpx/metadata/time"}
	want = append(append(append(want, wpt...), wpt...), "gpx/rte", "gpx/rte/name", "gpx/rte/desc")
	want = append(append(want, rtept...), rtept...)
	if diff := cmp.Diff(want, order); diff != "" {
		t.Error(diff)
	}
	var g gpxFile
	if err := xml.Unmarshal(b, &g); err != nil {
		t.Fatal(err)
	}
	if g.Points[0].Name != "01 P07 (red 7)" || g.Points[1].Lon != "-180" || !strings.Contains(g.Points[0].Desc, spiteful) {
		t.Errorf("waypoints %+v", g.Points)
	}
	if g.Routes[0].Points[0].Name != "02 P08 (=red 8)" {
		t.Errorf("the route begins with %q, want the stop that the round begins with", g.Routes[0].Points[0].Name)
	}
	if g.Metadata.Time != "2026-06-08T07:00:00Z" {
		t.Errorf("time %q, want the window's end", g.Metadata.Time)
	}
}

func TestGPXBounds(t *testing.T) {
	var g gpxFile
	if err := xml.Unmarshal(file(t, smallRound(), GPXName), &g); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(&gpxBounds{"41.37", "-119.112", "41.371", "-119.11"}, g.Metadata.Bounds); diff != "" {
		t.Error(diff)
	}
}
