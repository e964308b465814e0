// Package safefile writes files whole or not at all.
//
// The bytes go to a temporary file in the same folder, are flushed to disk, and the temporary file is then renamed over
// the target, which the operating system does in one step. A reader sees the old file or the new one, never half of it;
// where anything fails the old file stays and the temporary one is removed. Concurrent writers do not mix: the last rename
// wins. Not handled: a symbolic link is replaced, not followed; owner and extended attributes are not carried over.
package safefile

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// maxTries bounds the search for a free temporary name.
const maxTries = 10_000

// Write puts data into the file at path, creating it (permission 0666 less the umask) or replacing it (its permission is
// kept). The folder must exist. Errors name the path.
func Write(path string, data []byte) error {
	return write(path, func(f *os.File) error {
		_, err := f.Write(data)
		return err
	})
}

// write is Write with the filling of the temporary file as an argument, so that a test can make it fail half-way.
func write(path string, fill func(*os.File) error) (err error) {
	f, err := temporary(path)
	if err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	defer func() {
		if err != nil {
			f.Close() // closing twice is harmless
			os.Remove(f.Name())
			err = fmt.Errorf("write %s: %w", path, err)
		}
	}()
	if old, statErr := os.Stat(path); statErr == nil && old.Mode().IsRegular() {
		if err = f.Chmod(old.Mode().Perm()); err != nil {
			return err
		}
	}
	if err = fill(f); err != nil {
		return err
	}
	if err = f.Sync(); err != nil {
		return err
	}
	if err = f.Close(); err != nil {
		return err
	}
	if err = os.Rename(f.Name(), path); err != nil {
		return err
	}
	syncFolder(filepath.Dir(path))
	return nil
}

// temporary opens a new file beside path. os.CreateTemp is not used because it makes files that only the owner may read.
func temporary(path string) (*os.File, error) {
	dir, base := filepath.Split(path)
	for i := range maxTries {
		name := filepath.Join(dir, fmt.Sprintf(".%s.%d.%d.tmp", base, os.Getpid(), i))
		f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
		if !errors.Is(err, fs.ErrExist) {
			return f, err
		}
	}
	return nil, fmt.Errorf("no free temporary name after %d tries", maxTries)
}

// syncFolder makes the rename itself durable where the system can; elsewhere (Windows) a folder cannot be flushed, and the
// file is complete all the same.
func syncFolder(dir string) {
	if d, err := os.Open(dir); err == nil {
		d.Sync()
		d.Close()
	}
}
