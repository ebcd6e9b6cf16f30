package store

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"path"
	"strings"
	"sync"
	"time"

	"github.com/minio/minio-go/v7"
)

const (
	// wholeBytes is the largest object that reading at random fetches in one piece:
	// its digest needs every byte once anyway.
	wholeBytes = 32 << 20
	// blockBytes and keptBlocks bound what reading at random in a larger one fetches
	// at once, and keeps.
	blockBytes = 2 << 20
	keptBlocks = 16
)

// File is an object that is read: in order by Read, which streams it, and at random
// by ReadAt, which fetches ranges. The first request is sent with the first of them.
type File struct {
	ctx    context.Context
	object *Object
	body   io.ReadCloser // nil: not open
	at     int64         // where Read is
	empty  int           // tries since a byte was gained

	mu     sync.Mutex
	whole  []byte
	blocks []block // the one used last stands last
}

type block struct {
	number int64
	data   []byte
}

// Open makes the object ready to be read. The context ends every read.
func (o *Object) Open(ctx context.Context) *File { return &File{ctx: ctx, object: o} }

// get asks for the object's bytes from off up to end.
func (f *File) get(off, end int64) (io.ReadCloser, error) {
	var o minio.GetObjectOptions
	if err := o.SetRange(off, end-1); err != nil {
		return nil, err
	}
	if f.object.etag != "" {
		if err := o.SetMatchETag(f.object.etag); err != nil {
			return nil, err
		}
	}
	body, info, _, err := f.object.store.core.GetObject(f.ctx, f.object.Bucket, f.object.Key, o)
	if err != nil {
		return nil, f.explain(err)
	}
	// Some stores do not heed the condition.
	if f.object.etag != "" && info.ETag != "" && strings.Trim(info.ETag, `"`) != strings.Trim(f.object.etag, `"`) {
		body.Close()
		return nil, f.explain(errChanged)
	}
	return body, nil
}

func (f *File) explain(err error) error {
	return f.object.store.explain(f.ctx, err, "read", f.object.Place)
}

// Read streams the object, and asks for the rest when the transfer breaks off.
func (f *File) Read(b []byte) (int, error) {
	if len(b) == 0 {
		return 0, nil
	}
	if f.whole != nil {
		n := copy(b, f.whole[f.at:])
		f.at += int64(n)
		if n == 0 {
			return 0, io.EOF
		}
		return n, nil
	}
	for f.at < f.object.Size {
		if f.body == nil {
			body, err := f.get(f.at, f.object.Size)
			if err != nil {
				return 0, err
			}
			f.body = body
		}
		n, err := f.body.Read(b[:min(int64(len(b)), f.object.Size-f.at)])
		f.at += int64(n)
		if err != nil && f.at < f.object.Size {
			f.body.Close()
			f.body = nil
			if n > 0 {
				f.empty = 0
			} else if f.empty++; f.empty >= tries {
				return 0, f.explain(broken(err))
			} else if err := f.object.store.pause(f.ctx, f.empty-1); err != nil {
				return 0, err
			}
		}
		if n > 0 {
			return n, nil
		}
	}
	return 0, io.EOF
}

// broken words the end of a transfer before its time.
func broken(err error) error {
	if errors.Is(err, io.EOF) {
		return io.ErrUnexpectedEOF
	}
	return err
}

// ReadAt reads at random. Objects of up to 32 MiB are fetched whole, larger ones in
// pieces of 2 MiB.
func (f *File) ReadAt(b []byte, off int64) (int, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if off < 0 {
		return 0, errors.New("a negative place in an object")
	}
	n := 0
	for n < len(b) && off < f.object.Size {
		data, from, err := f.piece(off)
		if err != nil {
			return n, err
		}
		k := copy(b[n:], data[off-from:])
		n, off = n+k, off+int64(k)
	}
	if n < len(b) {
		return n, io.EOF
	}
	return n, nil
}

// piece gives a piece of the object that holds the byte at off, and where it begins.
func (f *File) piece(off int64) (data []byte, from int64, err error) {
	if f.object.Size <= wholeBytes {
		if f.whole == nil {
			if f.whole, err = f.fetch(0, f.object.Size); err != nil {
				f.whole = nil
			}
		}
		return f.whole, 0, err
	}
	number := off / blockBytes
	from = number * blockBytes
	for i := len(f.blocks) - 1; i >= 0; i-- {
		if b := f.blocks[i]; b.number == number {
			copy(f.blocks[i:], f.blocks[i+1:])
			f.blocks[len(f.blocks)-1] = b
			return b.data, from, nil
		}
	}
	if data, err = f.fetch(from, min(from+blockBytes, f.object.Size)); err != nil {
		return nil, 0, err
	}
	if len(f.blocks) == keptBlocks {
		copy(f.blocks, f.blocks[1:])
		f.blocks = f.blocks[:keptBlocks-1]
	}
	f.blocks = append(f.blocks, block{number, data})
	return data, from, nil
}

// fetch reads the bytes from off up to end, and goes on where a transfer breaks off.
func (f *File) fetch(off, end int64) ([]byte, error) {
	data := make([]byte, end-off)
	n, empty := 0, 0
	for n < len(data) {
		body, err := f.get(off+int64(n), end)
		if err != nil {
			return nil, err
		}
		k, err := io.ReadFull(body, data[n:])
		body.Close()
		if n += k; err == nil {
			break
		}
		if k > 0 {
			empty = 0
		} else if empty++; empty >= tries {
			return nil, f.explain(broken(err))
		}
		if err := f.object.store.pause(f.ctx, empty); err != nil {
			return nil, err
		}
	}
	return data, nil
}

// Close ends a transfer that is under way.
func (f *File) Close() error {
	if f.body == nil {
		return nil
	}
	err := f.body.Close()
	f.body = nil
	return err
}

// Stat says what the listing said: the size.
func (f *File) Stat() (fs.FileInfo, error) {
	return info{path.Base(f.object.Key), f.object.Size, false}, nil
}

type info struct {
	name   string
	size   int64
	folder bool
}

func (i info) Name() string       { return i.name }
func (i info) Size() int64        { return i.size }
func (i info) ModTime() time.Time { return time.Time{} }
func (i info) IsDir() bool        { return i.folder }
func (i info) Sys() any           { return nil }
func (i info) Mode() fs.FileMode {
	if i.folder {
		return fs.ModeDir | 0o555
	}
	return 0o444
}
