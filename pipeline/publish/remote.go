package publish

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"probeward/pipeline/store"
)

// remote is where a run will stand in an object store. Its tables are made in a
// folder of this machine and sent when all of them are there.
type remote struct {
	store *store.Store
	place store.Place // ends in a slash
	old   []string    // what the run that stands there wrote, by name
}

// mostManifest bounds what is read of a manifest.
const mostManifest = 64 << 20

// cleaning is how long removing what was sent may take after a failure.
const cleaning = 30 * time.Second

// Check says whether a run may be written to the folder, on disk or in an object
// store; see CheckOut.
func Check(ctx context.Context, out string) error {
	if !store.Is(out) {
		return CheckOut(out)
	}
	_, err := look(ctx, out)
	return err
}

// look finds out whether a run may be written below the prefix, by the rules of
// CheckOut.
func look(ctx context.Context, out string) (*remote, error) {
	at, err := store.Parse(out)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrFolder, err)
	}
	s, err := store.FromEnvironment()
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrFolder, err)
	}
	r := &remote{store: s, place: at.Folder()}
	there, err := s.List(ctx, r.place, true)
	switch {
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case err != nil:
		return nil, fmt.Errorf("%w: %w", ErrFolder, err)
	case len(there) == 0:
		return r, nil
	}
	var m Manifest
	b, err := s.ReadFile(ctx, r.place.Join(manifestName), mostManifest)
	switch {
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("%w: %s holds %d objects and no %s, so it is no run, or one whose sending was cut: it is not replaced; remove them or name another prefix",
			ErrFolder, r.place, len(there), manifestName)
	case err != nil:
		return nil, fmt.Errorf("%w: %w", ErrFolder, err)
	case json.Unmarshal(b, &m) != nil || m.Program != program:
		return nil, fmt.Errorf("%w: %s was not written by probeward, so it is not replaced; name another prefix", ErrFolder, r.place)
	}
	for _, o := range m.Outputs {
		r.old = append(r.old, o.Name)
	}
	for i := range there {
		if name := strings.TrimPrefix(there[i].Key, r.place.Key); name != manifestName && !slices.Contains(r.old, name) {
			return nil, fmt.Errorf("%w: %s holds %s, which its run did not write, so it is not replaced; move that away or name another prefix",
				ErrFolder, r.place, name)
		}
	}
	return r, nil
}

// newRemote is newFolder for an object store.
func newRemote(ctx context.Context, out string) (*folder, error) {
	r, err := look(ctx, out)
	if err != nil {
		return nil, err
	}
	partial, err := os.MkdirTemp("", "probeward-")
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrFolder, err)
	}
	return &folder{ctx: ctx, out: out, partial: partial, remote: r}, nil
}

// send puts the run in its place. The manifest of the run before goes first and that
// of the new one comes last, so that a prefix with a manifest is one whole run. When
// sending fails, everything of both runs is removed, since no part of them is one:
// the next run finds the prefix empty.
func (r *remote) send(f *folder) error {
	var names []string
	for _, o := range f.files {
		if o.Name != manifestName {
			names = append(names, o.Name)
		}
	}
	slices.Sort(names)
	if err := r.store.Remove(f.ctx, r.place.Join(manifestName)); err != nil {
		return err // the run before still stands
	}
	err := r.replace(f, names)
	if err == nil {
		return nil
	}
	ctx, stop := context.WithTimeout(context.WithoutCancel(f.ctx), cleaning)
	defer stop()
	for _, name := range append(append([]string{manifestName}, names...), r.old...) {
		if left := r.store.Remove(ctx, r.place.Join(name)); left != nil {
			return fmt.Errorf("%w; what was sent of the run could not be removed and is in the way of the next: %w", err, left)
		}
	}
	return err
}

func (r *remote) replace(f *folder, names []string) error {
	for _, name := range append(slices.Clone(names), manifestName) {
		if name == manifestName {
			for _, o := range r.old {
				if slices.Contains(names, o) {
					continue
				}
				if err := r.store.Remove(f.ctx, r.place.Join(o)); err != nil {
					return err
				}
			}
		}
		if err := r.store.Put(f.ctx, r.place.Join(name), filepath.Join(f.partial, name)); err != nil {
			return err
		}
	}
	return nil
}
