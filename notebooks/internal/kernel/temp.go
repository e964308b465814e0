package kernel

import (
	"fmt"
	"os"
	"path/filepath"
)

// tempParent is the one folder that holds the temporary folders of all kernels of this user.
func tempParent() (string, error) {
	dir := filepath.Join(os.TempDir(), fmt.Sprintf("lastsip-%d", os.Getuid()))
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return "", err
	}
	info, err := os.Lstat(dir)
	if err != nil {
		return "", err
	}
	// In a shared /tmp somebody else may have made it first, to read or change what we run.
	if !info.IsDir() || info.Mode().Perm() != 0o700 || !ownedByUs(info) {
		return "", fmt.Errorf("%s is not a private folder of this user; delete it, or set TMPDIR to another folder", dir)
	}
	return filepath.EvalSymlinks(dir) // the kernel finds cells in traces by the resolved path
}

const lockName = "lock"

// tempFolder is the temporary folder of one kernel, locked while the kernel lives.
type tempFolder struct {
	path string
	lock *os.File
}

// newTemp sweeps the folders of kernels that are gone and makes one for this kernel.
func newTemp() (*tempFolder, error) {
	parent, err := tempParent()
	if err != nil {
		return nil, err
	}
	// Held while folders are made and swept, so that none is swept between being made and being locked.
	gate, err := lock(filepath.Join(parent, lockName), true)
	if err != nil {
		return nil, err
	}
	defer gate.Close()
	entries, err := os.ReadDir(parent)
	if err != nil {
		return nil, err
	}
	for _, e := range entries {
		if !e.IsDir() {
			continue
		}
		path := filepath.Join(parent, e.Name())
		f, err := lock(filepath.Join(path, lockName), false)
		if err != nil {
			continue // in use
		}
		os.RemoveAll(path) // what cannot be removed now is tried again next time
		f.Close()
	}
	path, err := os.MkdirTemp(parent, "kernel-")
	if err != nil {
		return nil, err
	}
	f, err := lock(filepath.Join(path, lockName), false)
	if err != nil {
		return nil, err
	}
	return &tempFolder{path, f}, nil
}

func (t *tempFolder) remove() error {
	err := os.RemoveAll(t.path)
	t.lock.Close()
	return err
}
