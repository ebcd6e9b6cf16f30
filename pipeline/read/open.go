package read

import (
	"archive/zip"
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"

	"github.com/klauspost/compress/gzip"
	"github.com/klauspost/compress/zstd"
	"golang.org/x/text/encoding/unicode"
)

// raw is a file on disk or in an object store, or a table of an archive that holds several, that is hashed
// as it is read.
type raw struct {
	file handle
	was  fs.FileInfo // when it was opened
	src  io.Reader
	sum  hash.Hash
	n    int64
	tell func(int64) // bytes read; may be nil
	err  error       // what ended reading before the file's end
}

// open opens the sheet's file and says what form it has.
func (s *sheet) open(tell func(int64)) (*raw, fileForm, error) {
	f, err := openAt(s.ctx, s.disk, s.object)
	if err != nil {
		return nil, formUnknown, err
	}
	r := &raw{file: f, src: f, sum: sha256.New(), tell: tell}
	if r.was, err = f.Stat(); err != nil {
		f.Close()
		return nil, formUnknown, err
	}
	if s.entry == "" {
		return r, form(s.disk), nil
	}
	tables, _, err := tablesOf(f)
	if err == nil {
		i := slices.IndexFunc(tables, func(t *zip.File) bool { return t.Name == s.entry })
		if i < 0 {
			err = fmt.Errorf("the archive no longer holds %s", s.entry)
		} else if r.src, err = openTable(tables[i]); err == nil {
			return r, form(s.entry), nil
		}
	}
	f.Close()
	return nil, formUnknown, err
}

func (r *raw) Read(b []byte) (int, error) {
	if r.err != nil {
		return 0, r.err
	}
	n, err := r.src.Read(b)
	if err != nil && err != io.EOF {
		r.err = err
	}
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
	if f == formZip {
		one, err := oneTable(from.file)
		if err != nil {
			return nil, done, err
		}
		if src, err = openTable(one); err != nil {
			return nil, done, err
		}
		f = form(one.Name)
	}
	switch f {
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
	for len(head) > 0 && len(bytes.Trim(head, "\x00")) == 0 { // what a logger leaves that lost power
		_, _ = b.Discard(len(head))
		head, _ = b.Peek(32 << 10)
	}
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
// on, and most of the others are not: UTF-16 that lacks its mark.
func sparse(head []byte, from int) bool {
	zeros, others := 0, 0
	for i, c := range head {
		switch {
		case c != 0:
		case i%2 == from:
			zeros++
		default:
			others++
		}
	}
	return len(head) >= 16 && 20*zeros >= 9*len(head) && 4*others < len(head)
}

// oneTable gives the one table that a zip archive holds.
func oneTable(f handle) (*zip.File, error) {
	tables, others, err := tablesOf(f)
	if err != nil {
		return nil, err
	}
	if len(tables) != 1 {
		held := ""
		if len(others) > 0 {
			held = ", but " + list(others)
		}
		return nil, fmt.Errorf("the archive holds %d tables of .csv or .txt%s; unpack it and give the files", len(tables), held)
	}
	return tables[0], nil
}

// encrypted is the bit of a table's flags that says so.
const encrypted = 1

func openTable(t *zip.File) (io.ReadCloser, error) {
	if t.Flags&encrypted != 0 {
		return nil, fmt.Errorf("%s is encrypted; unpack the archive and give the files", path.Base(t.Name))
	}
	return t.Open()
}

// tablesOf lists the tables of text that a zip archive holds, and the names of what
// else it holds, without what some archivers add beside each file for their own ends.
func tablesOf(f handle) (tables []*zip.File, others []string, err error) {
	info, err := f.Stat()
	if err != nil {
		return nil, nil, err
	}
	z, err := zip.NewReader(f, info.Size())
	if err != nil {
		return nil, nil, err
	}
	for _, entry := range z.File {
		switch base := path.Base(entry.Name); {
		case entry.FileInfo().IsDir(), strings.HasPrefix(base, "."), strings.HasPrefix(entry.Name, "__MACOSX/"), base == "Thumbs.db":
		default:
			switch form(entry.Name) {
			case formText, formGzip, formZstd:
				tables = append(tables, entry)
			default:
				others = append(others, entry.Name)
			}
		}
	}
	return tables, others, nil
}

// tables gives a file for each table of the archive m; m itself when it holds one,
// or none, or cannot be read: reading it says so. The note names what else it holds.
func (m found) tables(ctx context.Context) (all []found, note string) {
	f, err := openAt(ctx, m.disk, m.object)
	if err != nil {
		return []found{m}, ""
	}
	defer f.Close()
	tables, others, err := tablesOf(f)
	if err != nil || len(tables) == 0 {
		return []found{m}, ""
	}
	if len(others) > 0 {
		note = fmt.Sprintf("%s: %s in it left: not .csv or .txt, packed or not", m.path, list(others))
	}
	if len(tables) == 1 {
		return []found{m}, note
	}
	seen := map[string]int{}
	for _, t := range tables {
		if seen[t.Name]++; seen[t.Name] == 2 {
			note = strings.TrimPrefix(fmt.Sprintf("%s; %s: %s is in it several times, of which the first is read", note, m.path, t.Name), "; ")
		}
		if seen[t.Name] > 1 {
			continue
		}
		one := m
		one.entry, one.path = t.Name, m.path+"/"+t.Name
		one.size = int64(min(t.UncompressedSize64, 1<<40))
		all = append(all, one)
	}
	return all, note
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
