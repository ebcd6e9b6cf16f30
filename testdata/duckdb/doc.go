// Package duckdb proves, with the database that analysts use, that every Parquet file
// of a run opens there as it is meant and that every query of schemas/examples runs.
//
// It is a module of its own: the database is 60 MB of C++ that nothing else of
// probeward needs. make duckdb runs it; go test ./... of the main module does not.
package duckdb
