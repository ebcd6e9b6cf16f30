// Package publish writes a run: one folder of tables, built beside its place and
// renamed in whole, so that no reader ever sees half a run.
//
// Every table is written from one set of rows by its declaration in schemas, as
// CSV and, where the table says so, as Parquet: the two cannot differ. CSV is
// UTF-8 by RFC 4180 but for its line ends, which are single line feeds, since the
// tools that read these files from cron take a carriage return for data. Times
// are RFC 3339 in UTC. Parquet is compressed with zstd.
package publish
