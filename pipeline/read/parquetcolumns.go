package read

import (
	"bytes"
	"fmt"
	"io"

	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/format"
)

// openParquet opens a Parquet file; its pages of LZ4 are unpacked.
func openParquet(f io.ReaderAt, size int64) (file *parquet.File, err error) {
	err = guarded(func() error {
		options := []parquet.FileOption{parquet.SkipPageIndex(true), parquet.SkipBloomFilters(true)}
		if file, err = parquet.OpenFile(f, size, options...); err != nil || !usesLZ4(file.Metadata()) {
			return err
		}
		plain, err := withoutLZ4(f, size, file.Metadata())
		if err != nil {
			return err
		}
		file, err = parquet.OpenFile(bytes.NewReader(plain), int64(len(plain)), options...)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("not a Parquet file that can be read: %w", err)
	}
	return file, nil
}

// openColumns opens the columns to read. One that is a port and of no type that can
// be read costs its own readings; one that all readings need costs the file.
func (s *sheet) openColumns(t *parquetTable) error {
	l := s.layout
	t.cursors = make([]*cursor, len(t.leaves))
	for _, i := range []int{l.time, l.logger, l.probe, l.value, l.unit} {
		if i < 0 {
			continue
		}
		c, err := newCursor(t.leaves[i])
		if err != nil {
			return err
		}
		t.cursors[i] = c
	}
	for _, i := range []*int{&l.second, &l.side[0], &l.side[1]} {
		if *i < 0 {
			continue
		}
		c, err := newCursor(t.leaves[*i])
		if err != nil {
			s.note("%v; it is left", err)
			*i = -1
			continue
		}
		t.cursors[*i] = c
	}
	l.unread = make([]string, len(l.names))
	if l.long {
		return nil
	}
	for i := range l.names { // any of them may be a port of some row's logger
		if t.cursors[i] != nil || l.taken(i) {
			continue
		}
		c, err := newCursor(t.leaves[i])
		if err != nil {
			l.unread[i] = err.Error()
			continue
		}
		t.cursors[i] = c
	}
	if l.logger >= 0 && !l.matched {
		return nil
	}
	ports := l.ports
	if l.logger < 0 {
		ports = l.portsOf(l.fixed, s.reg)
	}
	isPort := make([]bool, len(l.names))
	for _, p := range ports {
		isPort[p.column] = true
	}
	for i := range l.names {
		if !isPort[i] && !l.taken(i) {
			t.cursors[i] = nil
		}
	}
	return nil
}

// codecs refuses pages that are packed in a way that is not read.
func (t *parquetTable) codecs() error {
	for _, group := range t.file.Metadata().RowGroups {
		for _, c := range t.cursors {
			if c == nil || c.leaf.Index() >= len(group.Columns) {
				continue
			}
			switch codec := group.Columns[c.leaf.Index()].MetaData.Codec; codec {
			case format.Uncompressed, format.Snappy, format.Gzip, format.Brotli, format.Zstd:
			default:
				return fmt.Errorf("compressed with %v, which is not read; write it with zstd, snappy or gzip", codec)
			}
		}
	}
	return nil
}
