// Package fastcsv cuts separated text into cells without an allocation a row.
// It gives what encoding/csv gives with LazyQuotes and, unless tabs separate,
// TrimLeadingSpace, but for four things: cells come without the spaces around
// them, a record of one blank cell is no record, a quote that nothing closes
// within MaxQuoted bytes is a plain character, and a quote closes its cell though
// blanks stand between it and the separator.
package fastcsv

import (
	"bytes"
	"errors"
	"io"
)

const (
	firstBuffer = 256 << 10
	// MaxQuoted bounds a record with quotes, so that a stray quote spoils one line
	// and not the rest of the file.
	MaxQuoted = 64 << 10
	maxLine   = 16 << 20
)

// ErrLine is a line so long that the file is not a table.
var ErrLine = errors.New("a line of more than 16 MiB: not a table of readings")

type cell struct{ from, to int32 }

// Reader gives record after record. Cells are valid until the next one.
type Reader struct {
	src      io.Reader
	sep      byte
	buf      []byte
	pos, end int // of what is not yet handed out
	cells    []cell
	text     []byte // what the cells lie in: buf, or unescaped
	line     int    // of the record's first line, from 1
	lines    int    // passed, the record's included
	inner    []int  // cells that hold quotes or line ends within their quotes
	unquoted []byte // what these hold
	eof      bool
	err      error
}

// New reads from src, which sep separates.
func New(src io.Reader, sep byte) *Reader {
	return &Reader{src: src, sep: sep, buf: make([]byte, firstBuffer)}
}

// SetSeparator changes the separator from the next record on.
func (r *Reader) SetSeparator(sep byte) { r.sep = sep }

// Peek shows what comes next, up to n bytes, without taking it.
func (r *Reader) Peek(n int) []byte {
	for r.end-r.pos < n && r.fill() {
	}
	return r.buf[r.pos:min(r.end, r.pos+n)]
}

// Len is the number of cells of the record.
func (r *Reader) Len() int { return len(r.cells) }

// Line is the line that the record starts on, from 1.
func (r *Reader) Line() int { return r.line }

// Unended says that the text ended within the record: no line end follows it.
func (r *Reader) Unended() bool {
	return r.pos == r.end && r.pos > 0 && r.buf[r.pos-1] != '\n'
}

// Err is what ended the reading, if not the end of the text.
func (r *Reader) Err() error { return r.err }

// Cell gives the i-th cell of the record without the spaces around it.
func (r *Reader) Cell(i int) []byte {
	c := r.cells[i]
	from, to := c.from, c.to
	for from < to && r.text[from] <= ' ' {
		from++
	}
	for from < to && r.text[to-1] <= ' ' {
		to--
	}
	return r.text[from:to:to]
}

// Next goes to the next record.
func (r *Reader) Next() bool {
	for r.cut() {
		if len(r.cells) > 1 || len(r.Cell(0)) > 0 {
			return true
		}
	}
	r.cells = r.cells[:0]
	return false
}

// cut takes one record, blank or not.
func (r *Reader) cut() bool {
	at := r.pos // where the byte loop stands
	start := at
	r.cells = r.cells[:0]
	for {
		buf, sep := r.buf[:r.end], r.sep
		for i := at; i < len(buf); i++ {
			switch c := buf[i]; {
			case c == sep:
				r.cells = append(r.cells, cell{int32(start), int32(i)})
				start = i + 1
			case c == '\n':
				r.cells = append(r.cells, cell{int32(start), int32(i)})
				r.text = buf
				r.pos = i + 1
				r.lines++
				r.line = r.lines
				return true
			case c == '"' && (i == start || sep != '\t' && blank(buf[start:i])):
				return r.quoted()
			}
		}
		done, moved := len(buf)-r.pos, r.pos
		if r.fill() {
			// The buffer may have moved to the front.
			moved -= r.pos
			start -= moved
			for i := range r.cells {
				r.cells[i].from -= int32(moved)
				r.cells[i].to -= int32(moved)
			}
			at = r.pos + done
			continue
		}
		if done == 0 {
			return false
		}
		r.cells = append(r.cells, cell{int32(start), int32(r.end)})
		r.text = r.buf
		r.pos = r.end
		r.lines++
		r.line = r.lines
		return true
	}
}

// blank says whether nothing but spaces and the like is in b: before a quote, these
// are no part of the cell. Not where the separator is one of them.
func blank(b []byte) bool {
	for _, c := range b {
		if !isBlank(c) {
			return false
		}
	}
	return true
}

func isBlank(c byte) bool { return c == ' ' || c == '\t' || c == '\v' || c == '\f' || c == '\r' }

// fill reads more behind what is there; false at the end.
func (r *Reader) fill() bool {
	if r.eof || r.err != nil {
		return false
	}
	if r.pos > 0 && r.end == len(r.buf) {
		copy(r.buf, r.buf[r.pos:r.end])
		r.end -= r.pos
		r.pos = 0
	}
	if r.end == len(r.buf) {
		if len(r.buf) >= maxLine {
			r.err = ErrLine
			return false
		}
		grown := make([]byte, 2*len(r.buf))
		copy(grown, r.buf[:r.end])
		r.buf = grown
	}
	for range 100 {
		n, err := r.src.Read(r.buf[r.end:])
		r.end += n
		if err != nil {
			r.eof = true
			if err != io.EOF {
				r.err = err
			}
		}
		if n > 0 {
			return true
		}
		if r.eof {
			return false
		}
	}
	r.err = io.ErrNoProgress
	return false
}

// quoted takes the record at pos, which has a cell that starts with a quote.
func (r *Reader) quoted() bool {
	for {
		end, lines, ok := r.scan()
		if ok {
			r.lines++
			r.line = r.lines
			r.lines += lines
			r.text = r.buf[:r.end]
			if len(r.inner) > 0 {
				r.unquote()
			}
			r.pos = end
			return true
		}
		ended := r.eof || r.err != nil
		if r.end-r.pos >= MaxQuoted || !r.fill() && ended {
			return r.literal()
		}
	}
}

// scan cuts a record with quotes. lines counts the line ends within. Not ok when the
// record does not end in what is there, or not within MaxQuoted.
func (r *Reader) scan() (end, lines int, ok bool) {
	b := r.buf[:min(r.end, r.pos+MaxQuoted)]
	whole := (r.eof || r.err != nil) && len(b) == r.end // nothing comes after b
	r.cells, r.inner = r.cells[:0], r.inner[:0]
	i := r.pos
	for {
		start, stop, plain := i, i, true
		if k := i; r.sep != '\t' {
			for k < len(b) && isBlank(b[k]) {
				k++
			}
			if k < len(b) && b[k] == '"' {
				i = k
			} else if k == len(b) && !whole {
				return 0, 0, false // a quote may follow
			}
		}
		if i < len(b) && b[i] == '"' {
			start = i + 1
			i = start
		inside:
			for {
				if i >= len(b) {
					return 0, 0, false
				}
				if b[i] != '"' {
					if b[i] == '\n' {
						lines++
						plain = false
					}
					i++
					continue
				}
				switch next := b[i+1:]; {
				case len(next) == 0:
					if !whole {
						return 0, 0, false
					}
					stop = i
					i++
					break inside
				case next[0] == '"':
					plain = false
					i += 2
				default:
					n := 0
					for n < len(next) && next[n] != r.sep && isBlank(next[n]) {
						n++
					}
					switch {
					case n == len(next) && !whole:
						return 0, 0, false // the end of the cell may follow
					case n == len(next), next[n] == r.sep, next[n] == '\n':
						stop = i
						i += 1 + n
						break inside
					}
					plain = false // a quote within the cell
					i++
				}
			}
		} else {
			for i < len(b) && b[i] != r.sep && b[i] != '\n' {
				i++
			}
			stop = i
		}
		if !plain {
			r.inner = append(r.inner, len(r.cells))
		}
		r.cells = append(r.cells, cell{int32(start), int32(stop)})
		switch {
		case i < len(b) && b[i] == r.sep:
			i++
		case i < len(b): // a line end
			return i + 1, lines, true
		case whole:
			return i, lines, true
		default:
			return 0, 0, false
		}
	}
}

// unquote moves the record's cells into unquoted: of two quotes one stays, of a
// carriage return and a line feed the latter.
func (r *Reader) unquote() {
	r.unquoted = r.unquoted[:0]
	next := 0
	for k, c := range r.cells {
		from := len(r.unquoted)
		b := r.text[c.from:c.to]
		if next < len(r.inner) && r.inner[next] == k {
			next++
			for i := 0; i < len(b); i++ {
				if i+1 < len(b) && (b[i] == '"' && b[i+1] == '"' || b[i] == '\r' && b[i+1] == '\n') {
					i++
				}
				r.unquoted = append(r.unquoted, b[i])
			}
		} else {
			r.unquoted = append(r.unquoted, b...)
		}
		r.cells[k] = cell{int32(from), int32(len(r.unquoted))}
	}
	r.text = r.unquoted
}

// literal takes the line at pos with its quotes as plain characters.
func (r *Reader) literal() bool {
	r.cells = r.cells[:0]
	for {
		n := bytes.IndexByte(r.buf[r.pos:r.end], '\n')
		if n < 0 {
			if r.fill() {
				continue
			}
			n = r.end - r.pos
		}
		stop := r.pos + n
		start := r.pos
		for i := start; i < stop; i++ {
			if r.buf[i] == r.sep {
				r.cells = append(r.cells, cell{int32(start), int32(i)})
				start = i + 1
			}
		}
		r.cells = append(r.cells, cell{int32(start), int32(stop)})
		r.text = r.buf
		r.pos = min(stop+1, r.end)
		r.lines++
		r.line = r.lines
		return true
	}
}
