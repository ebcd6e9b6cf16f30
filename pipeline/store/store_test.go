package store_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"testing/fstest"
	"time"

	"github.com/google/go-cmp/cmp"

	"probeward/pipeline/store"
	"probeward/pipeline/store/storetest"
)

func open(t *testing.T) *store.Store {
	t.Helper()
	s, err := store.FromEnvironment()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func place(t *testing.T, p string) store.Place {
	t.Helper()
	at, err := store.Parse(p)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// noise is bytes that no two places of an object share.
func noise(n int) []byte {
	b := make([]byte, n)
	r := rand.NewChaCha8([32]byte{7})
	_, _ = r.Read(b)
	return b
}

func TestThePathsOfAStore(t *testing.T) {
	for p, want := range map[string]store.Place{
		"s3://vineyard":            {Bucket: "vineyard"},
		"s3://vineyard/":           {Bucket: "vineyard"},
		"s3://vineyard/a b/c=d/*":  {Bucket: "vineyard", Key: "a b/c=d/*"},
		"s3://vineyard/a/../b.csv": {Bucket: "vineyard", Key: "a/../b.csv"}, // keys are no paths
	} {
		if got, err := store.Parse(p); err != nil || got != want {
			t.Errorf("%s: %v, %v", p, got, err)
		}
	}
	for _, p := range []string{"vineyard/x", "s3:/vineyard", "s3://", "s3:///x", "s3://vine*/x", "https://vineyard/x"} {
		if got, err := store.Parse(p); err == nil {
			t.Errorf("%s is taken for %v", p, got)
		}
	}
}

func TestTheEnvironmentSaysWhatItLacks(t *testing.T) {
	for _, c := range []struct{ id, secret, endpoint, want string }{
		{"", "", "", "set AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY"},
		{"x", "", "", "set AWS_SECRET_ACCESS_KEY"},
		{"", "x", "", "set AWS_ACCESS_KEY_ID in"},
		{"x", "y", "ftp://farm", "write https://host"},
		{"x", "y", "https://farm/bucket", "the bucket in the s3:// path"},
		{"x", "y", "https://", "than a scheme and a host"},
	} {
		for _, name := range []string{"AWS_ACCESS_KEY", "AWS_SECRET_KEY", "AWS_ENDPOINT_URL_S3", "AWS_SESSION_TOKEN"} {
			t.Setenv(name, "")
		}
		t.Setenv("AWS_ACCESS_KEY_ID", c.id)
		t.Setenv("AWS_SECRET_ACCESS_KEY", c.secret)
		t.Setenv("AWS_ENDPOINT_URL", c.endpoint)
		if _, err := store.FromEnvironment(); !errors.Is(err, store.ErrEnvironment) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: %v", c, err)
		}
	}
}

// An endpoint without a scheme is not spoken to in the clear.
func TestTheConnectionIsEncryptedUnlessAskedOtherwise(t *testing.T) {
	server := storetest.Serve(t)
	t.Setenv("AWS_ENDPOINT_URL", strings.TrimPrefix(os.Getenv("AWS_ENDPOINT_URL"), "http://"))
	if _, err := open(t).List(t.Context(), place(t, "s3://vineyard/"), true); err == nil {
		t.Error("a store without encryption was listed though the endpoint does not say http://")
	}
	if got := server.Requests(); len(got) > 0 {
		t.Errorf("requests came through in the clear: %v", got)
	}
}

func TestListing(t *testing.T) {
	server := storetest.Serve(t)
	for _, k := range []string{"a/1.csv", "a/2.csv", "a/deep/3.csv", "ab/4.csv", "a/deep/"} {
		server.Put(k, []byte(k))
	}
	s := open(t)
	for _, c := range []struct {
		prefix string
		deep   bool
		want   []string
	}{
		{"a/", false, []string{"a/1.csv", "a/2.csv"}},
		{"a/", true, []string{"a/1.csv", "a/2.csv", "a/deep/3.csv"}},
		{"a", true, []string{"a/1.csv", "a/2.csv", "a/deep/3.csv", "ab/4.csv"}},
		{"a/1", false, []string{"a/1.csv"}},
		{"none/", true, nil},
	} {
		list, err := s.List(t.Context(), store.Place{Bucket: storetest.Bucket, Key: c.prefix}, c.deep)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, o := range list {
			if o.Size != int64(len(o.Key)) {
				t.Errorf("%s: %d bytes", o.Key, o.Size)
			}
			got = append(got, o.Key)
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%s deep %t: %s", c.prefix, c.deep, diff)
		}
	}
}

// A store that lists a thousand at a time is asked until there are no more.
func TestAListOfManyPages(t *testing.T) {
	server := storetest.Serve(t)
	for i := range 2500 {
		server.Put(fmt.Sprintf("many/%04d.csv", i), nil)
	}
	list, err := open(t).List(t.Context(), place(t, "s3://vineyard/many/"), true)
	if err != nil || len(list) != 2500 || list[2499].Key != "many/2499.csv" {
		t.Errorf("%d objects, %v", len(list), err)
	}
}

func only(t *testing.T, key string) *store.Object {
	t.Helper()
	list, err := open(t).List(t.Context(), store.Place{Bucket: storetest.Bucket, Key: key}, false)
	if err != nil || len(list) != 1 {
		t.Fatalf("%s: %d objects, %v", key, len(list), err)
	}
	return &list[0]
}

// What is read, in order and at random, small and larger than is fetched whole, are
// the bytes that lie there.
func TestReading(t *testing.T) {
	server := storetest.Serve(t)
	for _, size := range []int{0, 1, 1 << 20, 37<<20 + 3} {
		body := noise(size)
		server.Put("x.parquet", body)
		f := only(t, "x.parquet").Open(t.Context())
		r := rand.New(rand.NewPCG(1, 2))
		for range 50 {
			off := r.IntN(size + 1)
			b := make([]byte, r.IntN(3<<20))
			n, err := f.ReadAt(b, int64(off))
			if want := min(len(b), size-off); n != want || !bytes.Equal(b[:n], body[off:off+n]) || (err == io.EOF) != (n < len(b)) || err != nil && err != io.EOF {
				t.Fatalf("size %d: %d bytes at %d: %d read, %v", size, len(b), off, n, err)
			}
		}
		sum := sha256.New()
		if n, err := io.Copy(sum, f); err != nil || n != int64(size) {
			t.Fatalf("size %d: %d read, %v", size, n, err)
		}
		if want := sha256.Sum256(body); hex.EncodeToString(sum.Sum(nil)) != hex.EncodeToString(want[:]) {
			t.Errorf("size %d: other bytes", size)
		}
		f.Close()
	}
}

// An object of up to 32 MiB is fetched once, though it is read at random and whole.
func TestASmallObjectIsFetchedOnce(t *testing.T) {
	server := storetest.Serve(t)
	server.Put("x.parquet", noise(1<<20))
	o := only(t, "x.parquet")
	server.Requests()
	f := o.Open(t.Context())
	for _, off := range []int64{1<<20 - 8, 0, 500_000} {
		if _, err := f.ReadAt(make([]byte, 8), off); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := io.Copy(io.Discard, f); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]string{"GET /vineyard/x.parquet bytes=0-1048575"}, server.Requests()); diff != "" {
		t.Error(diff)
	}
}

// Of a large object only the pieces asked for come.
func TestALargeObjectIsReadInPieces(t *testing.T) {
	server := storetest.Serve(t)
	server.Put("x.parquet", noise(40<<20))
	o := only(t, "x.parquet")
	server.Requests()
	f := o.Open(t.Context())
	for _, off := range []int64{40<<20 - 8, 5 << 20, 5<<20 + 100, 40<<20 - 100} {
		if _, err := f.ReadAt(make([]byte, 8), off); err != nil {
			t.Fatal(err)
		}
	}
	if diff := cmp.Diff([]string{"GET /vineyard/x.parquet bytes=39845888-41943039", "GET /vineyard/x.parquet bytes=4194304-6291455"}, server.Requests()); diff != "" {
		t.Error(diff)
	}
}

// busy answers the first n requests as an overloaded store does.
func busy(n int64) func(http.ResponseWriter, *http.Request) bool {
	var seen atomic.Int64
	return func(w http.ResponseWriter, _ *http.Request) bool {
		if seen.Add(1) > n {
			return false
		}
		storetest.Refuse(w, http.StatusServiceUnavailable, "SlowDown")
		return true
	}
}

func TestABusyStoreIsAskedAgainAndNotForEver(t *testing.T) {
	server := storetest.Serve(t)
	server.Put("x.csv", []byte("abc"))
	o := only(t, "x.csv")
	server.Mishap(busy(2))
	if b, err := io.ReadAll(o.Open(t.Context())); err != nil || string(b) != "abc" {
		t.Errorf("after two refusals: %q, %v", b, err)
	}
	server.Mishap(busy(1 << 30))
	server.Requests()
	_, err := io.ReadAll(o.Open(t.Context()))
	if err == nil || !strings.Contains(err.Error(), "failed to read it, 5 times (503 SlowDown)") {
		t.Errorf("a store that stays busy: %v", err)
	}
	if n := len(server.Requests()); n != 5 {
		t.Errorf("%d requests", n)
	}
}

// A transfer that breaks off goes on where it broke; one that never gives a byte ends.
func TestATransferThatBreaks(t *testing.T) {
	server := storetest.Serve(t)
	body := noise(300_000)
	server.Put("x.csv", body)
	o := only(t, "x.csv")
	var cuts atomic.Int64
	server.Mishap(func(w http.ResponseWriter, r *http.Request) bool {
		from := 0
		if _, err := fmt.Sscanf(r.Header.Get("Range"), "bytes=%d-", &from); err != nil || cuts.Add(1) > 3 {
			return false
		}
		w.Header().Set("Content-Length", fmt.Sprint(len(body)-from))
		w.Header().Set("Content-Range", fmt.Sprintf("bytes %d-%d/%d", from, len(body)-1, len(body)))
		w.Header().Set("Last-Modified", time.Now().UTC().Format(http.TimeFormat))
		w.WriteHeader(http.StatusPartialContent)
		_, _ = w.Write(body[from : from+50_000])
		return true
	})
	if b, err := io.ReadAll(o.Open(t.Context())); err != nil || !bytes.Equal(b, body) {
		t.Errorf("in order: %d bytes, %v", len(b), err)
	}
	cuts.Store(0)
	b := make([]byte, len(body))
	if _, err := o.Open(t.Context()).ReadAt(b, 0); err != nil || !bytes.Equal(b, body) {
		t.Errorf("at random: %v", err)
	}
}

func TestAnObjectThatChanges(t *testing.T) {
	server := storetest.Serve(t)
	server.Put("x.csv", []byte("abc"))
	o := only(t, "x.csv")
	server.Put("x.csv", []byte("xyz"))
	if b, err := io.ReadAll(o.Open(t.Context())); err == nil || !strings.Contains(err.Error(), "changed while it was read") {
		t.Errorf("%q, %v", b, err)
	}
}

// What a store answers is said with what to do.
func TestAnswers(t *testing.T) {
	server := storetest.Serve(t)
	list := func(bucket string) error {
		_, err := open(t).List(t.Context(), store.Place{Bucket: bucket, Key: "exports/"}, false)
		return err
	}
	if err := list("orchard"); err == nil || !strings.Contains(err.Error(), `there is no bucket "orchard"`) || !errors.Is(err, fs.ErrNotExist) {
		t.Error(err)
	}
	for _, c := range []struct {
		status     int
		code, want string
	}{
		{403, "AccessDenied", "does not let these credentials list it"},
		{403, "SignatureDoesNotMatch", "check AWS_ACCESS_KEY_ID, AWS_SECRET_ACCESS_KEY"},
		{403, "InvalidAccessKeyId", "check AWS_ACCESS_KEY_ID"},
		{400, "ExpiredToken", "AWS_SESSION_TOKEN"},
		{301, "PermanentRedirect", "set AWS_REGION"},
		{500, "InternalError", "5 times (500 InternalError)"},
	} {
		server.Mishap(func(w http.ResponseWriter, _ *http.Request) bool {
			storetest.Refuse(w, c.status, c.code)
			return true
		})
		if err := list(storetest.Bucket); err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "s3://vineyard/exports/") {
			t.Errorf("%d %s: %v", c.status, c.code, err)
		}
	}
	t.Setenv("AWS_ENDPOINT_URL", "http://127.0.0.1:1")
	if err := list(storetest.Bucket); err == nil || !strings.Contains(err.Error(), "cannot reach the object store at 127.0.0.1:1") {
		t.Error(err)
	}
}

// An interrupt ends a request that hangs.
func TestAnInterrupt(t *testing.T) {
	server := storetest.Serve(t)
	server.Put("x.csv", noise(100))
	o := only(t, "x.csv")
	ctx, stop := context.WithCancel(t.Context())
	over := make(chan struct{})
	t.Cleanup(func() { close(over) })
	server.Mishap(func(_ http.ResponseWriter, r *http.Request) bool {
		stop()
		select {
		case <-r.Context().Done():
		case <-over:
		}
		return true
	})
	done := make(chan error, 1)
	go func() {
		_, err := io.ReadAll(o.Open(ctx))
		done <- err
	}()
	select {
	case err := <-done:
		if !errors.Is(err, context.Canceled) {
			t.Error(err)
		}
	case <-time.After(20 * time.Second):
		t.Error("reading goes on after the interrupt")
	}
}

// A folder of the store is a file system by the rules of one.
func TestATreeIsAFileSystem(t *testing.T) {
	server := storetest.Serve(t)
	for _, k := range []string{"feed/probes.csv", "feed/exports/a.csv", "feed/exports/farm=hill/b.csv", "feed//odd.csv", "feed/exports", "feedother/c.csv"} {
		server.Put(k, []byte(k))
	}
	tree, err := open(t).Tree(t.Context(), place(t, "s3://vineyard/feed"))
	if err != nil {
		t.Fatal(err)
	}
	if err := fstest.TestFS(tree, "probes.csv", "exports/a.csv", "exports/farm=hill/b.csv"); err != nil {
		t.Error(err)
	}
	if diff := cmp.Diff([]string{"exports/a.csv", "exports/farm=hill/b.csv", "probes.csv"}, tree.Names()); diff != "" {
		t.Error(diff)
	}
	if _, err := open(t).Tree(t.Context(), place(t, "s3://vineyard/nothing")); !errors.Is(err, fs.ErrNotExist) {
		t.Error(err)
	}
}

func TestPutAndRemove(t *testing.T) {
	server := storetest.Serve(t)
	s := open(t)
	for _, size := range []int{1, 5, 20 << 20} {
		body := noise(size)
		name := filepath.Join(t.TempDir(), "health.csv")
		if err := os.WriteFile(name, body, 0o644); err != nil {
			t.Fatal(err)
		}
		at := place(t, "s3://vineyard/runs/2026-W23/health.csv")
		if err := s.Put(t.Context(), at, name); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(server.Get(at.Key), body) {
			t.Errorf("%d bytes: others lie there", size)
		}
		for range 2 { // the second finds nothing to remove
			if err := s.Remove(t.Context(), at); err != nil {
				t.Error(err)
			}
		}
	}
	if keys := server.Keys(); len(keys) > 0 {
		t.Errorf("left: %v", keys)
	}
}
