package duckdb

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// types are what each type of the data package is in the database.
var types = map[string]string{
	"string": "VARCHAR", "number": "DOUBLE", "integer": "BIGINT", "boolean": "BOOLEAN", "datetime": "TIMESTAMP WITH TIME ZONE",
}

// Every Parquet file opens with the names, types and nulls that datapackage.json
// promises; text is in dictionaries; the sentences travel in the file.
func TestEveryParquetFile(t *testing.T) {
	db := open(t)
	files := 0
	for _, r := range made.resources {
		if !strings.HasSuffix(r.Path, ".parquet") {
			continue
		}
		files++
		t.Run(r.Path, func(t *testing.T) {
			described := all(t, db, "DESCRIBE SELECT * FROM '"+r.Path+"'")
			if len(described) != len(r.Schema.Fields) {
				t.Fatalf("%d columns, %d described", len(described), len(r.Schema.Fields))
			}
			repetition, words, encodings := map[string]string{}, map[string]string{}, map[string]string{}
			for _, c := range all(t, db, "SELECT name, repetition_type FROM parquet_schema('"+r.Path+"')") {
				repetition[c["name"].(string)], _ = c["repetition_type"].(string)
			}
			for _, kv := range all(t, db, "SELECT decode(key) AS key, decode(value) AS value FROM parquet_kv_metadata('"+r.Path+"')") {
				words[kv["key"].(string)] = kv["value"].(string)
			}
			for _, c := range all(t, db, "SELECT path_in_schema AS name, string_agg(encodings, ' ') AS encodings FROM parquet_metadata('"+r.Path+"') GROUP BY ALL") {
				encodings[c["name"].(string)] = c["encodings"].(string)
			}
			if words["comment"] != r.Description || r.Description == "" {
				t.Errorf("the file says it is %q, the description %q", words["comment"], r.Description)
			}
			for i, f := range r.Schema.Fields {
				if got := described[i]; got["column_name"] != f.Name || got["column_type"] != types[f.Type] {
					t.Errorf("column %d is %v %v, described as %s %s", i, got["column_name"], got["column_type"], f.Name, types[f.Type])
				}
				want := "OPTIONAL"
				if f.Constraints.Required {
					want = "REQUIRED"
				}
				if repetition[f.Name] != want {
					t.Errorf("%s is %s, described as %s", f.Name, repetition[f.Name], want)
				}
				sentence := f.Description
				if f.Unit != "" {
					sentence += " [" + f.Unit + "]"
				}
				if words["comment."+f.Name] != sentence || f.Description == "" {
					t.Errorf("%s: the file says %q, the description %q", f.Name, words["comment."+f.Name], sentence)
				}
				if f.Type == "string" && !strings.Contains(encodings[f.Name], "DICTIONARY") {
					t.Errorf("%s is text without a dictionary: %s", f.Name, encodings[f.Name])
				}
			}
		})
	}
	if files < 6 {
		t.Errorf("%d Parquet files are described", files)
	}
}

// A table that is there in both forms says the same in both, cell by cell, and each
// has as many rows as the manifest counts.
func TestBothFormsAreOneTable(t *testing.T) {
	db := open(t)
	counted := map[string]int64{}
	for _, o := range made.manifest.Outputs {
		counted[o.Name] = o.Rows
	}
	both := 0
	for _, r := range made.resources {
		if !strings.HasSuffix(r.Path, ".parquet") {
			continue
		}
		if n := one[int64](t, db, "SELECT count(*) FROM '"+r.Path+"'"); n != counted[r.Path] || n == 0 {
			t.Errorf("%s has %d rows, the manifest counts %d", r.Path, n, counted[r.Path])
		}
		name := strings.TrimSuffix(r.Path, ".parquet") + ".csv"
		if _, err := os.Stat(filepath.Join(made.dir, name)); err != nil {
			continue
		}
		both++
		if n := int64(len(table(t, name))); n != counted[r.Path] {
			t.Errorf("%s has %d rows, %s %d", name, n, r.Path, counted[r.Path])
		}
		var columns []string
		for _, f := range r.Schema.Fields {
			columns = append(columns, fmt.Sprintf("'%s': '%s'", f.Name, types[f.Type]))
		}
		text := fmt.Sprintf("FROM read_csv('%s', header = true, columns = {%s})", name, strings.Join(columns, ", "))
		for _, pair := range [][2]string{{text, "FROM '" + r.Path + "'"}, {"FROM '" + r.Path + "'", text}} {
			if n := one[int64](t, db, "SELECT count(*) FROM (("+pair[0]+") EXCEPT ALL ("+pair[1]+"))"); n != 0 {
				t.Errorf("%d rows of %s are not in %s", n, pair[0], pair[1])
			}
		}
	}
	if both < 3 {
		t.Errorf("%d tables are there in both forms", both)
	}
}

// Every CSV opens as the data package describes it.
func TestEveryCSV(t *testing.T) {
	db := open(t)
	files := 0
	for _, r := range made.resources {
		if !strings.HasSuffix(r.Path, ".csv") {
			continue
		}
		files++
		var columns []string
		for _, f := range r.Schema.Fields {
			columns = append(columns, fmt.Sprintf("'%s': '%s'", f.Name, types[f.Type]))
		}
		n := one[int64](t, db, fmt.Sprintf("SELECT count(*) FROM read_csv('%s', header = true, columns = {%s})", r.Path, strings.Join(columns, ", ")))
		if want := int64(len(table(t, r.Path))); n != want {
			t.Errorf("%s: the database reads %d rows, there are %d", r.Path, n, want)
		}
	}
	if files < 8 {
		t.Errorf("%d CSV files are described", files)
	}
}
