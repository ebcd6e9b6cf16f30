package store

import (
	"context"
	"mime"
	"os"
	"path"

	"github.com/minio/minio-go/v7"
)

// onePut is up to which size a file is sent in one request: a request that is cut
// leaves nothing, parts that are cut stay in the store unseen, and are paid for.
const onePut = 512 << 20

// Put writes a file of this machine as one object, in place of what is there. The
// object appears whole or not at all.
func (s *Store) Put(ctx context.Context, at Place, name string) error {
	file, err := os.Open(name)
	if err != nil {
		return err
	}
	defer file.Close()
	size, err := file.Stat()
	if err != nil {
		return err
	}
	kind := kinds[path.Ext(at.Key)]
	if kind == "" {
		if kind = mime.TypeByExtension(path.Ext(at.Key)); kind == "" {
			kind = "application/octet-stream"
		}
	}
	_, err = s.core.Client.PutObject(ctx, at.Bucket, at.Key, file, size.Size(), minio.PutObjectOptions{ContentType: kind, PartSize: onePut})
	return s.explain(ctx, err, "write", at)
}

// kinds are content types that machines know by other names, or not at all.
var kinds = map[string]string{
	".csv": "text/csv; charset=utf-8", ".json": "application/json", ".html": "text/html; charset=utf-8",
	".geojson": "application/geo+json", ".gpx": "application/gpx+xml", ".parquet": "application/vnd.apache.parquet",
	".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}

// Remove removes an object; that there is none is no error.
func (s *Store) Remove(ctx context.Context, at Place) error {
	err := s.core.Client.RemoveObject(ctx, at.Bucket, at.Key, minio.RemoveObjectOptions{})
	return s.explain(ctx, err, "remove", at)
}
