package table

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"strings"
	"unicode/utf8"

	"github.com/klauspost/compress/gzip"
	"github.com/klauspost/compress/zstd"
	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"probeward/pipeline/store"
)

// maxBytes of a table once unpacked. These tables are kept by hand; what is larger
// is an export that stands in the wrong place, or a packed file made to burst.
const maxBytes = 256 << 20

// open opens a file on disk, or a whole object of an object store.
func open(path string) (io.ReadSeekCloser, error) {
	if !store.Is(path) {
		return os.Open(path)
	}
	data, err := store.ReadTable(path, maxBytes)
	return inMemory{bytes.NewReader(data)}, err
}

type inMemory struct{ *bytes.Reader }

func (inMemory) Close() error { return nil }

// slurp reads a file whole and unpacks gzip and zstd by their first bytes, so that
// a wrong extension does no harm.
func slurp(path string) ([]byte, error) {
	file, err := open(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	head := make([]byte, 4)
	n, _ := io.ReadFull(file, head)
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	var r io.Reader = file
	switch head = head[:n]; {
	case bytes.HasPrefix(head, []byte{0x1f, 0x8b}):
		z, err := gzip.NewReader(file)
		if err != nil {
			return nil, fmt.Errorf("%s: cannot unpack: %w", path, err)
		}
		defer z.Close()
		r = z
	case bytes.Equal(head, []byte{0x28, 0xb5, 0x2f, 0xfd}):
		z, err := zstd.NewReader(file)
		if err != nil {
			return nil, fmt.Errorf("%s: cannot unpack: %w", path, err)
		}
		defer z.Close()
		r = z
	}
	data, err := io.ReadAll(io.LimitReader(r, maxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("%s: cannot read: %w", path, err)
	}
	if len(data) > maxBytes {
		return nil, fmt.Errorf("%s: more than %d MiB: this is no table kept by hand; is it an export?", path, maxBytes>>20)
	}
	return data, nil
}

// decode makes the text UTF-8 without a byte order mark, with \n line ends. set
// names the character set when it was another and had to be guessed.
func decode(data []byte) (text, set string) {
	var from encoding.Encoding
	switch {
	case bytes.HasPrefix(data, []byte{0xef, 0xbb, 0xbf}):
		data = data[3:]
	case bytes.HasPrefix(data, []byte{0xff, 0xfe}), bytes.HasPrefix(data, []byte{0xfe, 0xff}):
		from = unicode.UTF16(unicode.LittleEndian, unicode.UseBOM)
		set = "UTF-16"
	}
	if from == nil && !utf8.Valid(data) {
		from, set = charmap.Windows1252, "Windows-1252"
	}
	if from != nil {
		if out, err := from.NewDecoder().Bytes(data); err == nil {
			data = out
		}
	}
	text = strings.ToValidUTF8(string(data), "\uFFFD")
	if strings.ContainsRune(text, '\r') {
		text = strings.ReplaceAll(text, "\r\n", "\n")
		text = strings.ReplaceAll(text, "\r", "\n")
	}
	return text, set
}
