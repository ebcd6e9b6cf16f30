package store

import (
	"context"
	"strings"

	"github.com/minio/minio-go/v7"
)

// Object is one object as the store listed it.
type Object struct {
	Place
	Size  int64
	etag  string
	store *Store
}

// List gives the objects whose keys begin with the place's key, sorted by key; not
// deep: only those without a further slash after it. Keys that end in a slash stand
// for folders and are left out.
func (s *Store) List(ctx context.Context, at Place, deep bool) ([]Object, error) {
	ctx, stop := context.WithCancel(ctx)
	defer stop() // ends the listing when an error ends the loop
	owner := false
	var found []Object
	for o := range s.core.ListObjectsIter(ctx, at.Bucket, minio.ListObjectsOptions{Prefix: at.Key, Recursive: deep, FetchOwner: &owner}) {
		if o.Err != nil {
			return nil, s.explain(ctx, o.Err, "list", at)
		}
		if strings.HasSuffix(o.Key, "/") {
			continue
		}
		found = append(found, Object{Place: Place{at.Bucket, o.Key}, Size: o.Size, etag: o.ETag, store: s})
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return found, nil
}
