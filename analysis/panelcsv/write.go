package panelcsv

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"

	"lastsip/analysis/safefile"
)

// Wide tells that the tastes were a wide table, which was turned into the long form.
func (f *Folder) Wide() bool { return f.wide != "" }

// Long gives the files that were read, by name within the folder, with a wide table of tastes in the long form: taster, pour (glass 1, glass 2 ... where the rows have no names), age_min, and what was answered. Cells
// are as written, less blanks around them; reading the long files gives the same panel, places apart. The other files are
// given byte for byte; a session that was one file is given as tastes.csv.
func (f *Folder) Long() map[string][]byte {
	out := map[string][]byte{}
	for name, raw := range f.raw {
		if shown := (&reader{name: f.shownAs}).shown(name); shown == f.wide {
			raw = f.long
		}
		if f.single {
			name = "tastes.csv"
		}
		out[name] = slices.Clone(raw)
	}
	return out
}

// WriteTo writes every file that was read into the folder dir, byte for byte, so that no cell is lost or changed. See
// WriteFolder.
func (f *Folder) WriteTo(dir string) error { return WriteFolder(dir, f.raw) }

// WriteFolder writes files, by name within the folder (slashes), into a new or empty folder, whole or not at all: they are
// written into a folder beside it, which is then renamed; into a folder that is there already file by file, and what was
// written is removed where one fails. The folder above is made where it is missing. A folder that holds anything is refused.
func WriteFolder(dir string, files map[string][]byte) error {
	for name := range files {
		if !inside(name) {
			return fmt.Errorf("write %s: the file name %q leads out of the folder", dir, name)
		}
	}
	dir = filepath.Clean(dir)
	entries, err := os.ReadDir(dir)
	switch {
	case err == nil && len(entries) > 0:
		return fmt.Errorf("write %s: the folder holds files already (%s ...); name a new one", dir, entries[0].Name())
	case err == nil:
		return fill(dir, files)
	case !errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("write %s: %w", dir, err)
	}
	above := filepath.Dir(dir)
	if err := os.MkdirAll(above, 0o777); err != nil {
		return fmt.Errorf("write %s: %w", dir, err)
	}
	tmp, err := os.MkdirTemp(above, "."+filepath.Base(dir)+".*.tmp")
	if err != nil {
		return fmt.Errorf("write %s: %w", dir, err)
	}
	if err = fill(tmp, files); err == nil {
		if err = os.Chmod(tmp, 0o755); err == nil {
			err = os.Rename(tmp, dir)
		}
	}
	if err != nil {
		return errors.Join(fmt.Errorf("write %s: %w", dir, err), os.RemoveAll(tmp))
	}
	return nil
}

// fill writes files into an empty folder and leaves it empty where one fails.
func fill(dir string, files map[string][]byte) (err error) {
	var made []string // in order, to be removed backwards
	defer func() {
		if err != nil {
			for _, name := range slices.Backward(made) {
				os.Remove(name)
			}
		}
	}()
	for _, name := range slices.Sorted(maps.Keys(files)) {
		full := filepath.Join(dir, filepath.FromSlash(name))
		var above []string
		for d := filepath.Dir(full); d != dir; d = filepath.Dir(d) {
			above = append(above, d)
		}
		for _, d := range slices.Backward(above) {
			switch err := os.Mkdir(d, 0o755); {
			case err == nil:
				made = append(made, d)
			case !errors.Is(err, fs.ErrExist):
				return err
			}
		}
		if err := safefile.Write(full, files[name]); err != nil {
			return err
		}
		made = append(made, full)
	}
	return nil
}
