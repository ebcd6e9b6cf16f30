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

	"github.com/klauspost/compress/gzip"
	"github.com/klauspost/compress/zstd"
	"golang.org/x/text/encoding/unicode"
)

// raw is a file on disk that is hashed as it is read.
type raw struct {
	file *os.File
	sum  hash.Hash
	n    int64
	tell func(int64) // bytes read; may be nil
}

func openRaw(disk string, tell func(int64)) (*raw, error) {
	f, err := os.Open(disk)
	if err != nil {
		return nil, err
	}
	return &raw{file: f, sum: sha256.New(), tell: tell}, nil
}

func (r *raw) Read(b []byte) (int, error) {
	n, err := r.file.Read(b)
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
		return unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewDecoder().Reader(b), done, nil
	}
	if bytes.IndexByte(head, '\r') >= 0 && bytes.IndexByte(head, '\n') < 0 {
		return feeds{b}, done, nil
	}
	return b, done, nil
}

// oneTable opens the one table that a zip archive holds.
func oneTable(f *os.File) (io.ReadCloser, error) {
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
		if form(entry.Name) == formText {
			tables = append(tables, entry)
		}
	}
	if len(tables) != 1 {
		return nil, fmt.Errorf("the archive holds %d tables of .csv or .txt, not one; unpack it and give the files", len(tables))
	}
	return tables[0].Open()
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
