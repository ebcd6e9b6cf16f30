package publish

import (
	"encoding/json"
	"path/filepath"
	"strings"

	"probeward/schemas"
)

// datapackage.json describes the run's tables for any reader, by the Data Package
// standard, version 2 (datapackage.org; its property names are from memory).

const packageName = "datapackage.json"

type dataPackage struct {
	Schema    string         `json:"$schema"`
	Name      string         `json:"name"`
	Title     string         `json:"title"`
	Resources []dataResource `json:"resources"`
}

type dataResource struct {
	Name        string      `json:"name"`
	Path        string      `json:"path"`
	Description string      `json:"description,omitempty"`
	Format      string      `json:"format"`
	MediaType   string      `json:"mediatype"`
	Encoding    string      `json:"encoding,omitempty"`
	Bytes       int64       `json:"bytes"`
	Hash        string      `json:"hash"`
	Schema      *dataSchema `json:"schema,omitempty"`
}

type dataSchema struct {
	Fields        []dataField `json:"fields"`
	MissingValues []string    `json:"missingValues"`
}

type dataField struct {
	Name        string          `json:"name"`
	Type        string          `json:"type"`
	Format      string          `json:"format,omitempty"`
	Unit        string          `json:"unit,omitempty"`
	Description string          `json:"description"`
	Constraints map[string]bool `json:"constraints,omitempty"`
}

var mediaTypes = map[string]string{
	".csv": "text/csv", ".parquet": "application/vnd.apache.parquet", ".json": "application/json", ".html": "text/html",
	".geojson": "application/geo+json", ".gpx": "application/gpx+xml",
	".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}

// describe gives the package of what was written, in the order of the outputs.
func describe(outputs []Output) ([]byte, error) {
	d := dataPackage{Schema: "https://datapackage.org/profiles/2.0/datapackage.json", Name: program + "-run",
		Title: "One scan of a farm's soil moisture probes", Resources: []dataResource{}}
	for _, o := range outputs {
		ext := filepath.Ext(o.Name)
		r := dataResource{Name: strings.ReplaceAll(o.Name, ".", "-"), Path: o.Name, Format: strings.TrimPrefix(ext, "."),
			MediaType: mediaTypes[ext], Bytes: o.Bytes, Hash: "sha256:" + o.SHA256}
		if r.MediaType == "" {
			r.MediaType = "application/octet-stream"
		}
		if ext == ".csv" {
			r.Encoding = "utf-8"
		}
		if t, ok := tableOf(o.Name); ok && (ext == ".csv" || ext == ".parquet") {
			r.Description, r.Schema = t.Doc, fieldsOf(t)
		}
		d.Resources = append(d.Resources, r)
	}
	b, err := json.MarshalIndent(d, "", "  ")
	return append(b, '\n'), err
}

// tableOf finds the table that a file of a run holds.
func tableOf(file string) (schemas.Table, bool) {
	for _, t := range schemas.Tables() {
		for _, name := range t.Files {
			if name == file {
				return t, true
			}
		}
	}
	return schemas.Table{}, false
}

func fieldsOf(t schemas.Table) *dataSchema {
	s := &dataSchema{MissingValues: []string{""}}
	for _, c := range t.Columns {
		f := dataField{Name: c.Name, Unit: c.Unit, Description: c.Doc}
		switch c.Type {
		case schemas.Number:
			f.Type = "number"
		case schemas.Integer:
			f.Type = "integer"
		case schemas.Boolean:
			f.Type = "boolean"
		case schemas.Time:
			f.Type, f.Format = "datetime", "any" // RFC 3339 in UTC, with a fraction where there is one
		default:
			f.Type = "string"
		}
		if c.Required {
			f.Constraints = map[string]bool{"required": true}
		}
		s.Fields = append(s.Fields, f)
	}
	return s
}
