package store

import (
	"fmt"
	"path"
	"strings"
)

const scheme = "s3://"

// Is says whether the path is of an object store.
func Is(p string) bool { return strings.HasPrefix(p, scheme) }

// Place is a bucket and a key, or what keys begin with.
type Place struct{ Bucket, Key string }

// Parse reads s3://BUCKET/KEY; the key may be empty.
func Parse(p string) (Place, error) {
	rest, ok := strings.CutPrefix(p, scheme)
	if !ok {
		return Place{}, fmt.Errorf("%s is no path of an object store; write s3://bucket/prefix", p)
	}
	bucket, key, _ := strings.Cut(rest, "/")
	if len(bucket) < 3 || strings.ContainsAny(bucket, "*?[\\ ") {
		return Place{}, fmt.Errorf("%s names no bucket; write s3://bucket/prefix, with wildcards after the bucket only", p)
	}
	return Place{bucket, key}, nil
}

func (p Place) String() string { return scheme + p.Bucket + "/" + p.Key }

// Folder is the place with a key that ends in a slash, or is empty: what the keys of
// the objects below it begin with.
func (p Place) Folder() Place {
	if k := strings.Trim(p.Key, "/"); k == "" {
		p.Key = ""
	} else {
		p.Key = strings.TrimSuffix(p.Key, "/") + "/"
	}
	return p
}

// Join gives the place of a name with slashes below the folder.
func (p Place) Join(name string) Place {
	return Place{p.Bucket, path.Join(p.Key, name)}
}
