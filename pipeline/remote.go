package pipeline

import (
	"context"
	"errors"
	"fmt"

	"probeward/pipeline/config"
	"probeward/pipeline/previous"
	"probeward/pipeline/store"
)

// Configuration is config.Open for a folder on disk or in an object store.
func Configuration(ctx context.Context, folder, file string, known map[string][]string) (*config.Resolved, error) {
	if !store.Is(folder) {
		return config.Open(folder, file, known)
	}
	tree, err := treeOf(ctx, folder)
	if err != nil {
		return nil, err
	}
	return config.OpenIn(tree, folder, file, known)
}

// earlier is previous.Load for a folder on disk or in an object store.
func earlier(ctx context.Context, dir string) (*previous.Run, error) {
	if !store.Is(dir) {
		return previous.Load(dir)
	}
	tree, err := treeOf(ctx, dir)
	if err != nil {
		return nil, err
	}
	return previous.LoadIn(tree, dir)
}

func treeOf(ctx context.Context, folder string) (*store.Tree, error) {
	at, err := store.Parse(folder)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrFolder, err)
	}
	s, err := store.FromEnvironment()
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrFolder, err)
	}
	tree, err := s.Tree(ctx, at)
	if err != nil && !errors.Is(err, context.Canceled) {
		return nil, fmt.Errorf("%w: %w", ErrFolder, err)
	}
	return tree, err
}
