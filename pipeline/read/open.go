package read

import (
	"archive/zip"
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"hash"
	"io"
	"os"
	"path"
	"slices"
	"strings"

	"github.com/klauspost/compress/gzip"
	"github.com/klauspost/compress/zstd"
	"golang.org/x/text/encoding/unicode"
)

// raw is a file on disk, or a table of an archive that holds several, that is hashed
// as it is read.
type raw struct {
	file *os.File
	src  io.Reader
	sum  hash.Hash
	n    int64
	tell func(int64) // bytes read; may be nil
}

// open opens the sheet's file and says what form it has.
func (s *sheet) open(tell func(int64)) (*raw, fileForm, error) {
	f, err := os.Open(s.disk)
	if err != nil {
		return nil, formUnknown, err
	}
	r := &raw{file: f, src: f, sum: sha256.New(), tell: tell}
	if s.entry == "" {
		return r, form(s.disk), nil
	}
	tables, err := tablesOf(f)
	if err == nil {
		i := slices.IndexFunc(tables, func(t *zip.File) bool { return t.Name == s.entry })
		if i < 0 {
			err = fmt.Errorf("the archive no longer holds %s", s.entry)
		} else if r.src, err = tables[i].Open(); err == nil {
			return r, formText, nil
		}
	}
	f.Close()
	return nil, formUnknown, err
}

func (r *raw) Read(b []byte) (int, error) {
	n, err := r.src.Read(b)
	r.sum.Write(b[:n])
	r.n += int64(n)
	if r.tell != nil && n > 0 {
		r.tell(int64(n))
	}
	return n, err
}

// finish reads what is left, for the hash.
func (r *raw) finish() (sum string, n int64, err error) {
	_, err = io.Copy(io.Discard, r)
	return hex.EncodeToString(r.sum.Sum(nil)), r.n, err
}

// unpacked gives the text within the file, as UTF-8 or bytes of one byte a letter,
// without a byte order mark, and with line ends that hold a line feed.
func unpacked(from *raw, f fileForm) (io.Reader, func(), error) {
	done := func() {}
	var src io.Reader = from
	switch f {
	case formZip:
		one, err := oneTable(from.file)
		if err != nil {
			return nil, done, err
		}
		src, done = one, func() { one.Close() }
	case formGzip:
		z, err := gzip.NewReader(src)
		if err != nil {
			return nil, done, err
		}
		src, done = z, func() { z.Close() }
	case formZstd:
		z, err := zstd.NewReader(src, zstd.WithDecoderConcurrency(1))
		if err != nil {
			return nil, done, err
		}
		src, done = z, z.Close
	}
	b := bufio.NewReaderSize(src, 64<<10)
	head, _ := b.Peek(32 << 10)
	switch {
	case bytes.HasPrefix(head, []byte{0xEF, 0xBB, 0xBF}):
		_, _ = b.Discard(3)
		head = head[3:]
	case bytes.HasPrefix(head, []byte{0xFF, 0xFE}), bytes.HasPrefix(head, []byte{0xFE, 0xFF}):
		return utf16(b, unicode.LittleEndian, unicode.UseBOM), done, nil
	case sparse(head, 1):
		return utf16(b, unicode.LittleEndian, unicode.IgnoreBOM), done, nil
	case sparse(head, 0):
		return utf16(b, unicode.BigEndian, unicode.IgnoreBOM), done, nil
	}
	if bytes.IndexByte(head, '\r') >= 0 && bytes.IndexByte(head, '\n') < 0 {
		return feeds{b}, done, nil
	}
	return b, done, nil
}

func utf16(src io.Reader, e unicode.Endianness, mark unicode.BOMPolicy) io.Reader {
	text := bufio.NewReaderSize(unicode.UTF16(e, mark).NewDecoder().Reader(src), 64<<10)
	head, _ := text.Peek(32 << 10)
	if bytes.IndexByte(head, '\r') >= 0 && bytes.IndexByte(head, '\n') < 0 {
		return feeds{text}
	}
	return text
}

// sparse says whether nine in ten of every other byte are zero, from the given one
// on: UTF-16 that lacks its mark.
func sparse(head []byte, from int) bool {
	zeros := 0
	for i := from; i < len(head); i += 2 {
		if head[i] == 0 {
			zeros++
		}
	}
	return len(head) >= 16 && 20*zeros >= 9*len(head)
}

// oneTable opens the one table that a zip archive holds.
func oneTable(f *os.File) (io.ReadCloser, error) {
	tables, err := tablesOf(f)
	if err != nil {
		return nil, err
	}
	if len(tables) != 1 {
		return nil, fmt.Errorf("the archive holds %d tables of .csv or .txt; unpack it and give the files", len(tables))
	}
	return tables[0].Open()
}

// tablesOf lists the tables that a zip archive holds, without those that some
// archivers add beside each for their own ends.
func tablesOf(f *os.File) ([]*zip.File, error) {
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	z, err := zip.NewReader(f, info.Size())
	if err != nil {
		return nil, err
	}
	var tables []*zip.File
	for _, entry := range z.File {
		if form(entry.Name) == formText && !strings.HasPrefix(path.Base(entry.Name), "._") {
			tables = append(tables, entry)
		}
	}
	return tables, nil
}

// tables gives a file for each table of the archive m; m itself when it holds one,
// or none, or cannot be read: reading it says so.
func (m found) tables() []found {
	f, err := os.Open(m.disk)
	if err != nil {
		return []found{m}
	}
	defer f.Close()
	tables, err := tablesOf(f)
	if err != nil || len(tables) < 2 {
		return []found{m}
	}
	var all []found
	for _, t := range tables {
		one := m
		one.entry, one.path = t.Name, m.path+"/"+t.Name
		one.size = int64(min(t.UncompressedSize64, 1<<40))
		all = append(all, one)
	}
	return all
}

// feeds turns carriage returns into line feeds, for files that have no others.
type feeds struct{ src io.Reader }

func (f feeds) Read(b []byte) (int, error) {
	n, err := f.src.Read(b)
	for i, c := range b[:n] {
		if c == '\r' {
			b[i] = '\n'
		}
	}
	return n, err
}

// ahead reads src in a goroutine of its own, so that hashing and unpacking go on
// while rows are cut. close waits for the goroutine.
type ahead struct {
	full, free chan []byte
	rest       []byte
	whole      []byte
	err        error // valid when full is closed
}

const aheadBlock = 256 << 10

func readAhead(src io.Reader) *ahead {
	a := &ahead{full: make(chan []byte, 2), free: make(chan []byte, 3)}
	for range 3 {
		a.free <- make([]byte, aheadBlock)
	}
	go func() {
		defer close(a.full)
		for b := range a.free {
			n, err := src.Read(b)
			if n > 0 {
				a.full <- b[:n]
			}
			if err != nil {
				a.err = err
				return
			}
		}
	}()
	return a
}

func (a *ahead) Read(b []byte) (int, error) {
	if len(a.rest) == 0 {
		if a.whole != nil {
			a.free <- a.whole[:cap(a.whole)]
			a.whole = nil
		}
		block, ok := <-a.full
		if !ok {
			return 0, a.err
		}
		a.whole, a.rest = block, block
	}
	n := copy(b, a.rest)
	a.rest = a.rest[n:]
	return n, nil
}

func (a *ahead) close() {
	close(a.free)
	for range a.full {
	}
}
