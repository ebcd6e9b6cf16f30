// Package read turns logger exports into Arrow batches of schemas.Readings, and
// keeps the ledger of what it could not use.
//
// A file is found by a source of the configuration (find.go, walk.go), opened, hashed
// and unpacked (open.go), and laid out: separator, header, decimal mark and time format
// (head.go), which column is the time and at which offset (offset.go), which are ports
// (layout.go, ports.go). Its
// rows come from text (text.go, less those that are none: aside.go) or from Parquet
// column pages (parquet.go, its columns: parquetcolumns.go, column.go) and end, one reading at a time, in the same few methods
// of a sheet: long.go for a reading a row, wide.go for a column a port. These fill
// blocks of plain slices (block.go), which become Arrow records, while the digest
// (digest.go) notes the stamps in the order written and the ledger (ledger.go)
// counts: read = used + repeated + rejected, for every file.
//
// When all files are read, three things are looked at over all of them: which clocks
// keep standard time (standard.go; those files are read once more), which names the
// files and the register do not share (joins.go), and whose values deny their unit
// (magnitudes.go). dialects_test.go and exports_test.go hold the ways of writing that
// are read, refused_test.go those that are refused since only a guess could read them.
//
// Values stay as exported. Order, overlaps and repeats are the arrange stage's.
package read
