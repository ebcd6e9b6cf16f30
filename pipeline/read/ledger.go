package read

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
)

// File is what became of one file. A reading is one cell of a port's column where
// there is a column a port, or one row where there is a reading a row.
type File struct {
	Path           string // relative to the configuration's folder, with slashes; ARCHIVE/TABLE where an archive holds several
	SHA256         string // of the bytes as they lie there; of the unpacked table where an archive holds several
	Bytes          int64
	Rows           int64 // below the header
	Read           int64 // readings: always Used + Repeated + Rejected
	Used           int64 // handed on in batches
	Repeated       int64 // of a reading already held: the arrange stage counts them
	Rejected       int64
	First, Last    int64    // the earliest and the latest stamp among the used; 0 when none is
	Loggers        []string // sorted
	Columns        []string // the header's names, by place
	IgnoredColumns []string
	Layout         string // what was used and what was guessed, in words
	Err            string // what ended the reading of this file early
}

// Reject is one reading, one row, or a stretch of readings that could not be used
// for one reason.
type Reject struct {
	File           int    // place in Result.Files
	Line, LastLine int    // from 1; a row of a Parquet file counts as a line
	Column         string // its name; empty: the whole row
	Why            string // with the remedy
	Text           string // what stood there first, at most 80 bytes of UTF-8
	Readings       int64
	Probe          int // place in the register; -1: unknown
}

// check holds the ledger's law.
func (f *File) check() error {
	if f.Read != f.Used+f.Repeated+f.Rejected {
		return fmt.Errorf("%s: the ledger does not balance: read %d, used %d, repeated %d, rejected %d readings",
			f.Path, f.Read, f.Used, f.Repeated, f.Rejected)
	}
	return nil
}

// singles is how many rejects a file may list; later ones are summed up by column
// and reason.
const singles = 10_000

// ledger gathers the rejects of one file.
type ledger struct {
	place   int
	file    *File
	rejects []Reject
	sums    map[[2]string]int
}

// run is a stretch of rejects that may go on: a place in rejects plus one, and the
// row (as its owner counts rows) of the last one.
type run struct {
	at  int
	row int64
}

// reject counts n readings out for a reason. With a run, it goes on with the run's
// stretch when that ended on the row before for the same reason and with the same
// text.
func (l *ledger) reject(r *run, row int64, line int, column, why string, text []byte, n int64, probe int) {
	l.file.Read += n
	l.file.Rejected += n
	if r != nil && r.at > 0 && r.row+1 >= row {
		if last := &l.rejects[r.at-1]; last.Why == why && last.Column == column && same(last.Text, text) {
			last.LastLine = line
			last.Readings += n
			r.row = row
			return
		}
	}
	if len(l.rejects) >= singles {
		key := [2]string{column, why}
		if i, ok := l.sums[key]; ok {
			sum := &l.rejects[i]
			sum.LastLine = line
			sum.Readings += n
			if sum.Probe != probe {
				sum.Probe = -1
			}
			return
		}
		if l.sums == nil {
			l.sums = map[[2]string]int{}
		}
		l.sums[key] = len(l.rejects)
	}
	l.rejects = append(l.rejects, Reject{
		File: l.place, Line: line, LastLine: line, Column: column, Why: why,
		Text: excerpt(text), Readings: n, Probe: probe,
	})
	if r != nil && len(l.rejects) <= singles {
		r.at, r.row = len(l.rejects), row
	} else if r != nil {
		r.at = 0
	}
}

const textBytes = 80

// same says whether the excerpt is of this text.
func same(have string, text []byte) bool {
	if len(text) <= textBytes && have == string(text) {
		return true
	}
	return have == excerpt(text)
}

// excerpt is at most 80 bytes of the text as valid UTF-8.
func excerpt(text []byte) string {
	if len(text) > 2*textBytes {
		end := 2 * textBytes
		for end > textBytes && !utf8.RuneStart(text[end]) {
			end--
		}
		text = text[:end]
	}
	s := readable(text)
	if len(s) <= textBytes {
		return s
	}
	end := textBytes
	for end > 0 && !utf8.RuneStart(s[end]) {
		end--
	}
	return s[:end]
}

// readable is the text as UTF-8: what is not is taken for Windows-1252, of which
// Latin-1's letters are a part.
func readable(text []byte) string {
	if utf8.Valid(text) {
		return string(text)
	}
	b, err := charmap.Windows1252.NewDecoder().Bytes(text)
	if err != nil || !utf8.Valid(b) {
		return strings.ToValidUTF8(string(text), "\uFFFD")
	}
	return string(b)
}
