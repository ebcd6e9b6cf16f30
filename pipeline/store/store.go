package store

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"net/url"
	"os"
	"strings"
	"sync"
	"time"

	"github.com/minio/minio-go/v7"
	"github.com/minio/minio-go/v7/pkg/credentials"
)

// tries is how often one request is sent at most, and how often a transfer may
// break without a byte gained (common practice, no source).
const tries = 5

// ErrEnvironment says that the environment does not say how to reach a store.
var ErrEnvironment = errors.New("object store")

// Store is a way to one object store. It may be used by several goroutines.
type Store struct {
	core     *minio.Core
	endpoint string // as shown
	pause    func(context.Context, int) error
}

// All stores of a process share their connections.
var transport = sync.OnceValues(func() (*http.Transport, error) { return minio.DefaultTransport(true) })

// FromEnvironment makes a way to the store that the environment names. Nothing is
// sent yet.
func FromEnvironment() (*Store, error) {
	creds := credentials.NewEnvAWS()
	who, err := creds.GetWithContext(nil)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrEnvironment, err)
	}
	if who.AccessKeyID == "" || who.SecretAccessKey == "" {
		lacks := "AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY"
		switch {
		case who.AccessKeyID != "":
			lacks = "AWS_SECRET_ACCESS_KEY"
		case who.SecretAccessKey != "":
			lacks = "AWS_ACCESS_KEY_ID"
		}
		return nil, fmt.Errorf("%w: no credentials: set %s in the environment (and AWS_SESSION_TOKEN if they pass, AWS_REGION, and AWS_ENDPOINT_URL for a store of your own)",
			ErrEnvironment, lacks)
	}
	endpoint, region := first("AWS_ENDPOINT_URL_S3", "AWS_ENDPOINT_URL"), first("AWS_REGION", "AWS_DEFAULT_REGION")
	host, secure := "s3.amazonaws.com", true
	if endpoint != "" {
		if host, secure, err = hostOf(endpoint); err != nil {
			return nil, fmt.Errorf("%w: %w", ErrEnvironment, err)
		}
		if region == "" {
			region = "us-east-1" // what stores that have no regions sign with
		}
	}
	t, err := transport()
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrEnvironment, err)
	}
	core, err := minio.NewCore(host, &minio.Options{Creds: creds, Secure: secure, Region: region, Transport: t, MaxRetries: tries})
	if err != nil {
		return nil, fmt.Errorf("%w: AWS_ENDPOINT_URL %q: %w", ErrEnvironment, endpoint, err)
	}
	return &Store{core: core, endpoint: host, pause: pause}, nil
}

// hostOf takes an endpoint apart: a host with or without a port, and whether the
// connection is encrypted.
func hostOf(endpoint string) (host string, secure bool, err error) {
	if !strings.Contains(endpoint, "://") {
		endpoint = "https://" + endpoint
	}
	u, err := url.Parse(endpoint)
	switch {
	case err != nil:
		return "", false, fmt.Errorf("AWS_ENDPOINT_URL: %w", err)
	case u.Scheme != "https" && u.Scheme != "http":
		return "", false, fmt.Errorf("AWS_ENDPOINT_URL %q: write https://host or http://host:port", endpoint)
	case u.Host == "" || strings.Trim(u.Path, "/") != "" || u.RawQuery != "" || u.User != nil:
		return "", false, fmt.Errorf("AWS_ENDPOINT_URL has more, or less, than a scheme and a host: write https://host or http://host:port, and the bucket in the s3:// path")
	}
	return u.Host, u.Scheme == "https", nil
}

func first(names ...string) string {
	for _, n := range names {
		if v := os.Getenv(n); v != "" {
			return v
		}
	}
	return ""
}

// pause waits before the nth further try: a tenth of a second, doubled each time.
func pause(ctx context.Context, n int) error {
	wait := time.NewTimer(100 * time.Millisecond << n)
	defer wait.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-wait.C:
		return nil
	}
}

// ReadFile reads a whole object of at most most bytes.
func (s *Store) ReadFile(ctx context.Context, at Place, most int64) ([]byte, error) {
	found, err := s.List(ctx, at, false)
	if err != nil {
		return nil, err
	}
	for i := range found {
		if found[i].Key != at.Key {
			continue
		}
		if found[i].Size > most {
			return nil, fmt.Errorf("%s: %d bytes, and at most %d are read", at, found[i].Size, most)
		}
		f := found[i].Open(ctx)
		defer f.Close()
		return io.ReadAll(f)
	}
	return nil, fmt.Errorf("%s: %w", at, fs.ErrNotExist)
}

// ReadTable reads a whole object as FromEnvironment has it, within two minutes: for
// the small tables beside the exports.
func ReadTable(path string, most int64) ([]byte, error) {
	at, err := Parse(path)
	if err != nil {
		return nil, err
	}
	s, err := FromEnvironment()
	if err != nil {
		return nil, err
	}
	ctx, stop := context.WithTimeout(context.Background(), 2*time.Minute)
	defer stop()
	return s.ReadFile(ctx, at, most)
}
