// Package folder replaces a folder as a whole: the new one is filled beside the old one, and the two are exchanged by
// renaming. A reader sees the old folder or the new one, but for the instant between two renames.
//
// A program that is killed on the way leaves hidden folders beside (".NAME.new-*", ".NAME.previous-*"); Recover, and the
// next Replace, remove them, and bring the old folder back where the kill came between the renames. Programs that replace
// the same folder take turns by a lock on the folder above, which ends with its holder and leaves no file. Where the file
// system has no locks nothing is removed.
package folder

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"
)

// lockTimeout bounds the wait for another program that replaces a folder here.
const lockTimeout = time.Minute

// inPrevious is the old folder's name inside its hidden folder.
const inPrevious = "old"

func hidden(path, what string) string { return "." + filepath.Base(path) + "." + what + "-" }

// Recover brings back the folder at path where an exchange was cut short, and removes what killed programs left. A folder
// above that does not exist holds nothing to recover.
func Recover(path string) error {
	parent := filepath.Dir(path)
	if _, err := os.Stat(parent); errors.Is(err, os.ErrNotExist) {
		return nil
	}
	held, err := hold(parent)
	if err != nil {
		return err
	}
	if held == nil {
		return nil
	}
	defer held.Close()
	return sweep(path)
}

// sweep does Recover's work, under the lock.
func sweep(path string) error {
	parent := filepath.Dir(path)
	entries, err := os.ReadDir(parent)
	if err != nil {
		return err
	}
	for _, e := range entries {
		name := filepath.Join(parent, e.Name())
		switch {
		case hasPrefix(e.Name(), hidden(path, "previous")):
			if _, err := os.Lstat(path); errors.Is(err, os.ErrNotExist) {
				if err := os.Rename(filepath.Join(name, inPrevious), path); err != nil && !errors.Is(err, os.ErrNotExist) {
					return fmt.Errorf("bring back %s: %w", path, err)
				}
			}
		case !hasPrefix(e.Name(), hidden(path, "new")):
			continue
		}
		_ = os.RemoveAll(name) // what cannot be removed now is tried again next time
	}
	return nil
}

func hasPrefix(s, prefix string) bool { return len(s) >= len(prefix) && s[:len(prefix)] == prefix }

// Replace fills a new folder and puts it at path, in the place of one that is there; check (nil: none) may refuse just
// before, when nobody else can change what is there. Folders above are made. On any error the old folder is as it was.
func Replace(path string, check func() error, fill func(dir string) error) (err error) {
	parent := filepath.Dir(path)
	if err := os.MkdirAll(parent, 0o755); err != nil {
		return err
	}
	held, err := hold(parent)
	if err != nil {
		return err
	}
	if held != nil {
		defer held.Close()
		if err := sweep(path); err != nil {
			return err
		}
	}
	fresh, err := os.MkdirTemp(parent, hidden(path, "new"))
	if err != nil {
		return err
	}
	defer os.RemoveAll(fresh)
	if err := fill(fresh); err != nil {
		return err
	}
	if err := os.Chmod(fresh, 0o755); err != nil {
		return err
	}
	if check != nil {
		if err := check(); err != nil {
			return err
		}
	}
	return exchange(fresh, path)
}

// exchange puts fresh in the place of path.
func exchange(fresh, path string) error {
	previous, err := os.MkdirTemp(filepath.Dir(path), hidden(path, "previous"))
	if err != nil {
		return err
	}
	old := filepath.Join(previous, inPrevious)
	if err := os.Rename(path, old); err != nil && !errors.Is(err, os.ErrNotExist) {
		_ = os.Remove(previous)
		return err
	}
	if err := os.Rename(fresh, path); err != nil {
		if back := os.Rename(old, path); back != nil && !errors.Is(back, os.ErrNotExist) {
			return fmt.Errorf("%w; what was there is now in %s", err, old)
		}
		_ = os.Remove(previous)
		return err
	}
	_ = os.RemoveAll(previous) // the new folder stands; rubbish that cannot be removed is no failure
	return nil
}

// Writable tells whether Replace could begin: the folder above path, or the nearest that exists, takes a new folder.
func Writable(path string) error {
	at := filepath.Dir(path)
	for {
		info, err := os.Stat(at)
		if err == nil && !info.IsDir() {
			return fmt.Errorf("%s is no folder", at)
		}
		if err == nil || at == filepath.Dir(at) {
			break
		}
		at = filepath.Dir(at)
	}
	trial, err := os.MkdirTemp(at, hidden(path, "new"))
	if err != nil {
		return err
	}
	if err := os.Remove(trial); !errors.Is(err, os.ErrNotExist) { // another run may have swept it away
		return err
	}
	return nil
}
