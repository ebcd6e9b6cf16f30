// Package publish writes a run: one folder of tables, built beside its place and
// renamed in whole, so that no reader ever sees half a run. A folder is replaced
// only when a run wrote it and nobody added anything to it.
//
// Every table is written from one set of rows by its declaration in schemas, as
// CSV and, where the table says so, as Parquet: the two cannot differ. CSV is
// UTF-8 by RFC 4180 but for its line ends, which are single line feeds, since the
// tools that read these files from cron take a carriage return for data. Times
// are RFC 3339 in UTC. Parquet is compressed with zstd; a column is required where
// its table promises it, and carries its sentence and unit in the file's metadata.
//
// flags.parquet, a row for each reading used, is written by columns: no row is ever
// put together. Its integers are 64 bits wide as in every table; the dictionary
// makes them no larger than narrower ones.
//
// manifest.json says what went in and what came out. All that may differ between
// two runs on the same input stands in its entry "run".
package publish
