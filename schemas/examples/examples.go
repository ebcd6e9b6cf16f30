// Package examples holds ready SQL over the folder that a scan writes, in the dialect
// of DuckDB. Each query is a file whose first lines are a comment: the sentence that
// says what it answers. The nested module testdata/duckdb runs every one of them.
package examples

import (
	"embed"
	"fmt"
	"io/fs"
	"strings"
)

//go:embed *.sql
var files embed.FS

// Query is one ready query. Its file names stand for themselves: the number orders
// them, the rest is the name.
type Query struct {
	Name     string // like usable_readings
	Sentence string // what it answers
	SQL      string // the file as it stands, comment and all
}

// All gives the queries in the order of their numbers.
func All() []Query {
	names, err := fs.Glob(files, "*.sql")
	if err != nil {
		panic(err) // a pattern of ours
	}
	out := make([]Query, len(names))
	for i, name := range names {
		b, err := files.ReadFile(name)
		if err != nil {
			panic(err) // embedded
		}
		_, short, _ := strings.Cut(strings.TrimSuffix(name, ".sql"), "_")
		out[i] = Query{Name: short, Sentence: sentence(string(b)), SQL: string(b)}
	}
	return out
}

// sentence is the comment at the top of a query.
func sentence(sql string) string {
	var words []string
	for _, line := range strings.Split(sql, "\n") {
		text, ok := strings.CutPrefix(line, "-- ")
		if !ok {
			break
		}
		words = append(words, text)
	}
	return strings.Join(words, " ")
}

// Named finds a query; the error lists the names there are.
func Named(name string) (Query, error) {
	var names []string
	for _, q := range All() {
		if q.Name == name {
			return q, nil
		}
		names = append(names, q.Name)
	}
	return Query{}, fmt.Errorf("no example is called %q; there are %s", name, strings.Join(names, ", "))
}
