package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"lastsip/analysis/safefile"
	"lastsip/notebooks/internal/kernel"
	"lastsip/notebooks/internal/nbformat"
)

// Executed notebooks are kept in the user's cache under a key made of everything that their outputs can depend on:
//
//	the notebook with its parameters set
//	the packages that its cells name, and those that run and draw, with all that they import (bytes of their files)
//	go.mod, go.sum, Go version, platform, build settings (and so module versions and the kernel)
//	the sessions (path, and bytes of every file), the way tasters are named
//
// A notebook that reaches beyond these (files of its own, the clock, the network, other programs) is run each time; see
// ownInputs.

// reuseVersion changes when the key, or what is kept, changes its meaning.
const reuseVersion = "lastsip executed notebook 1"

const keptNotebooks = 128 // the oldest beyond this are deleted; a notebook is some 0.1 to 1 MB

// drawing and running: what every notebook's outputs depend on besides what its cells name.
var everyNotebook = []string{"lastsip/notebooks/show", "lastsip/analysis/figure", "lastsip/notebooks/internal/execute"}

// commandFiles are the files of this package that do so.
var commandFiles = []string{"draw.go", "run.go"}

// cacheFolder is where executed notebooks are kept.
func cacheFolder() string {
	dir, err := os.UserCacheDir()
	if err != nil { // no home: nothing is kept
		return ""
	}
	return filepath.Join(dir, "lastsip", "executed")
}

// setKeys gives each job its key; a job without one is run each time, and fresh says why.
func (r *runner) setKeys(ctx context.Context, sessions []string, jobs []*job) error {
	sources, err := kernel.ListSources(ctx, r.repo)
	if errors.Is(err, kernel.ErrLocalModule) {
		for _, j := range jobs {
			j.fresh = err.Error()
		}
		return nil
	}
	if err != nil {
		return fmt.Errorf("lastsip itself does not build: %w", err)
	}
	data, err := sessionsHash(sessions)
	if err != nil {
		return err
	}
	for _, j := range jobs {
		names, why := ownInputs(j.nb)
		if why != "" {
			j.fresh = why
			continue
		}
		if j.key, err = r.key(j, sources, names, data); err != nil {
			return err
		}
	}
	return nil
}

// key is the key of one job.
func (r *runner) key(j *job, sources *kernel.Sources, names *named, data string) (string, error) {
	packages := append(sources.Named(names.imports, names.qualifiers), everyNotebook...)
	code, err := sources.Hash(packages...)
	if err != nil {
		return "", err
	}
	nb := *j.nb
	nb.Cells = slices.Clone(nb.Cells)
	nb.Clear()
	cells, err := nbformat.Encode(&nb)
	if err != nil {
		return "", err
	}
	h := sha256.New()
	fmt.Fprintf(h, "%s\n%s\n%s\n%s\n%s\n%d\n", reuseVersion, j.nb.Name, r.names, code, data, len(cells))
	h.Write(cells)
	for _, name := range commandFiles {
		b, err := os.ReadFile(filepath.Join(r.repo, "notebooks", name))
		if err != nil {
			return "", err
		}
		fmt.Fprintf(h, "%s %d\n", name, len(b))
		h.Write(b)
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// sessionsHash stands for the sessions: where they are, and the bytes of every file in them. What comes with the program is
// part of its packages.
func sessionsHash(sessions []string) (string, error) {
	h := sha256.New()
	for _, s := range sessions {
		fmt.Fprintf(h, "session %q\n", s)
		if strings.HasPrefix(s, "demo:") {
			continue
		}
		err := filepath.WalkDir(s, func(path string, d fs.DirEntry, err error) error {
			if err != nil {
				return err
			}
			info, err := os.Stat(path) // a link counts as what it leads to
			if err != nil || !info.Mode().IsRegular() {
				return nil // reading the session tells what is wrong with it
			}
			b, err := os.ReadFile(path)
			if err != nil {
				return nil
			}
			fmt.Fprintf(h, "%q %d\n", path, len(b))
			h.Write(b)
			return nil
		})
		if err != nil && !errors.Is(err, os.ErrNotExist) {
			return "", err
		}
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// recall puts the kept outputs into the jobs that have some, and gives the jobs that must run.
func (r *runner) recall(jobs []*job) []*job {
	var rest []*job
	for _, j := range jobs {
		if j.key == "" || r.force || !r.load(j) {
			rest = append(rest, j)
		}
	}
	return rest
}

// load reads a kept notebook; one that is damaged is as good as none.
func (r *runner) load(j *job) bool {
	path := filepath.Join(r.cache, j.key+".ipynb")
	b, err := os.ReadFile(path)
	if err != nil {
		return false
	}
	sum, body, _ := bytes.Cut(b, []byte("\n"))
	if string(sum) != checksum(body) {
		return false
	}
	nb, err := nbformat.Decode(j.nb.Name, body)
	if err != nil {
		return false
	}
	j.nb, j.kept = nb, true
	now := time.Now()
	_ = os.Chtimes(path, now, now) // only the order of deletion hangs on it
	return true
}

func checksum(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

// keep writes an executed notebook and deletes the oldest beyond keptNotebooks. Keeping is a convenience: the caller says
// that it failed, and goes on.
func (r *runner) keep(j *job) error {
	b, err := nbformat.Encode(j.nb)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(r.cache, 0o700); err != nil {
		return err
	}
	if err := safefile.Write(filepath.Join(r.cache, j.key+".ipynb"), slices.Concat([]byte(checksum(b)+"\n"), b)); err != nil {
		return err
	}
	return sweep(r.cache, keptNotebooks)
}

func sweep(dir string, most int) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	type file struct {
		path string
		used time.Time
	}
	var files []file
	for _, e := range entries {
		if info, err := e.Info(); err == nil && info.Mode().IsRegular() { // another run may have deleted it meanwhile
			files = append(files, file{filepath.Join(dir, e.Name()), info.ModTime()})
		}
	}
	slices.SortFunc(files, func(a, b file) int { return b.used.Compare(a.used) })
	for _, f := range files[min(most, len(files)):] {
		if err := os.Remove(f.path); err != nil && !errors.Is(err, os.ErrNotExist) {
			return err
		}
	}
	return nil
}
