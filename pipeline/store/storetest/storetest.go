// Package storetest is an object store within a test's process, for tests only: it
// speaks the protocol, holds what it is given in memory, and misbehaves when asked.
package storetest

import (
	"bytes"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path"
	"path/filepath"
	"slices"
	"sync"
	"testing"

	"github.com/johannesboyne/gofakes3"
	"github.com/johannesboyne/gofakes3/backend/s3mem"
)

// Bucket is the one bucket of the store.
const Bucket = "vineyard"

// Server is a running store.
type Server struct {
	t       testing.TB
	backend *s3mem.Backend

	mu       sync.Mutex
	requests []string
	mishap   func(w http.ResponseWriter, r *http.Request) bool
}

// Serve starts a store and points the environment at it until the test ends.
func Serve(t testing.TB) *Server {
	t.Helper()
	s := &Server{t: t, backend: s3mem.New()}
	if err := s.backend.CreateBucket(Bucket); err != nil {
		t.Fatal(err)
	}
	inner := gofakes3.New(s.backend).Server()
	web := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.mu.Lock()
		s.requests = append(s.requests, r.Method+" "+r.URL.Path+" "+r.Header.Get("Range"))
		mishap := s.mishap
		s.mu.Unlock()
		if mishap == nil || !mishap(w, r) {
			inner.ServeHTTP(w, r)
		}
	}))
	t.Cleanup(web.Close)
	for name, value := range map[string]string{
		"AWS_ENDPOINT_URL": web.URL, "AWS_ENDPOINT_URL_S3": "", "AWS_REGION": "us-east-1", "AWS_DEFAULT_REGION": "",
		"AWS_ACCESS_KEY_ID": "invented", "AWS_SECRET_ACCESS_KEY": "invented too", "AWS_SESSION_TOKEN": "",
		"AWS_ACCESS_KEY": "", "AWS_SECRET_KEY": "",
	} {
		t.Setenv(name, value)
	}
	return s
}

// Mishap is asked before each request; where it answers, it says true. Nil ends it.
func (s *Server) Mishap(m func(w http.ResponseWriter, r *http.Request) bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.mishap = m
}

// Requests lists "METHOD /bucket/key RANGE" of all requests since the last call.
func (s *Server) Requests() []string {
	s.mu.Lock()
	defer s.mu.Unlock()
	all := s.requests
	s.requests = nil
	return all
}

// Refuse answers a request with an error of the protocol.
func Refuse(w http.ResponseWriter, status int, code string) {
	w.Header().Set("Content-Type", "application/xml")
	w.WriteHeader(status)
	_, _ = io.WriteString(w, `<?xml version="1.0" encoding="UTF-8"?><Error><Code>`+code+`</Code><Message>as the test asks</Message></Error>`)
}

// Put makes an object.
func (s *Server) Put(key string, body []byte) {
	s.t.Helper()
	written := map[string]string{"Last-Modified": "Mon, 01 Jun 2026 06:00:00 GMT"}
	if _, err := s.backend.PutObject(Bucket, key, written, bytes.NewReader(body), int64(len(body)), nil); err != nil {
		s.t.Fatal(err)
	}
}

// PutFolder makes an object of each file below dir.
func (s *Server) PutFolder(dir, prefix string) {
	s.t.Helper()
	err := filepath.WalkDir(dir, func(name string, e os.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		rel, err := filepath.Rel(dir, name)
		if err != nil {
			return err
		}
		body, err := os.ReadFile(name)
		if err == nil {
			s.Put(path.Join(prefix, filepath.ToSlash(rel)), body)
		}
		return err
	})
	if err != nil {
		s.t.Fatal(err)
	}
}

// Get gives an object's bytes.
func (s *Server) Get(key string) []byte {
	s.t.Helper()
	o, err := s.backend.GetObject(Bucket, key, nil)
	if err != nil {
		s.t.Fatalf("%s: %v", key, err)
	}
	defer o.Contents.Close()
	body, err := io.ReadAll(o.Contents)
	if err != nil {
		s.t.Fatal(err)
	}
	return body
}

// Keys lists all keys, sorted.
func (s *Server) Keys() []string {
	s.t.Helper()
	list, err := s.backend.ListBucket(Bucket, nil, gofakes3.ListBucketPage{})
	if err != nil {
		s.t.Fatal(err)
	}
	keys := []string{}
	for _, o := range list.Contents {
		keys = append(keys, o.Key)
	}
	slices.Sort(keys)
	return keys
}
