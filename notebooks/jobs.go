package main

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"lastsip/analysis"
	"lastsip/notebooks/internal/nbformat"
)

// The notebook that runs once for each style, and its parameter.
const (
	styleNotebook  = "style"
	styleParameter = "style"
)

// job is one run of one notebook.
type job struct {
	name  string // of its files in the report: "style-sour"
	base  string // of the notebook: "style"
	style string // what it is about; empty when about all
	nb    *nbformat.Notebook

	key   string // under which the executed notebook is kept; empty when it is run each time
	fresh string // why it is run each time
	kept  bool   // the outputs are those of an earlier run
	err   error  // why it failed
}

// jobs reads the notebooks, makes one job of each (of style.ipynb one per style) and sets the parameters. Every setting must
// be a parameter of at least one notebook that runs.
func (r *runner) jobs(study *analysis.Study) ([]*job, error) {
	files, err := filepath.Glob(filepath.Join(r.notebooks, "*.ipynb"))
	if err != nil {
		return nil, err
	}
	if len(files) == 0 {
		return nil, fmt.Errorf("there are no notebooks in %s", r.notebooks)
	}
	slices.Sort(files)
	var all []*job
	for _, f := range files {
		some, err := r.jobsOf(f, study)
		if err != nil {
			return nil, err
		}
		all = append(all, some...)
	}
	if err := checkNames(all); err != nil {
		return nil, err
	}
	jobs := all
	if r.only != "" {
		jobs = slices.DeleteFunc(slices.Clone(all), func(j *job) bool {
			return r.only != j.name && strings.TrimSuffix(r.only, ".ipynb") != j.base
		})
	}
	if len(jobs) == 0 {
		return nil, fmt.Errorf("%w: -only %s: there is no such notebook; there are: %s", errUse, r.only, names(all))
	}
	return jobs, r.inject(jobs)
}

// checkNames refuses notebooks whose pages would take each other's place, or that of the index.
func checkNames(jobs []*job) error {
	seen := map[string]bool{"index": true}
	for _, j := range jobs {
		key := strings.ToLower(j.name)
		if seen[key] {
			return fmt.Errorf("%s.ipynb: its page would take the place of another %s.html; give the notebook another name", j.base, j.name)
		}
		seen[key] = true
	}
	return nil
}

func names(jobs []*job) string {
	var out []string
	for _, j := range jobs {
		if !slices.Contains(out, j.base) {
			out = append(out, j.base)
		}
		if !slices.Contains(out, j.name) {
			out = append(out, j.name)
		}
	}
	return strings.Join(out, ", ")
}

func (r *runner) jobsOf(file string, study *analysis.Study) ([]*job, error) {
	base := strings.TrimSuffix(filepath.Base(file), ".ipynb")
	nb, err := nbformat.ReadFile(file)
	if err != nil {
		return nil, err
	}
	if base != styleNotebook {
		return []*job{{name: base, base: base, nb: nb}}, nil
	}
	styles := study.Styles()
	for _, s := range r.set {
		if s.Name != styleParameter {
			continue
		}
		if !slices.Contains(styles, s.Value) {
			return nil, fmt.Errorf("%w: -set style=%s: the sessions have no such style; they have: %s", errUse, s.Value, strings.Join(styles, "; "))
		}
		styles = []string{s.Value}
	}
	var out []*job
	for _, s := range styles {
		copied, err := nbformat.ReadFile(file)
		if err != nil {
			return nil, err
		}
		name := base + "-" + slug(s)
		for n := 2; slices.ContainsFunc(out, func(j *job) bool { return j.name == name }); n++ {
			name = fmt.Sprintf("%s-%s-%d", base, slug(s), n)
		}
		out = append(out, &job{name: name, base: base, style: s, nb: copied})
	}
	return out, nil
}

// maxSlug bounds the part of a file name that comes from a style, in bytes.
const maxSlug = 80

// slug makes a file name of a style: letters and digits, small, everything else a dash.
func slug(style string) string {
	var b strings.Builder
	for _, c := range strings.ToLower(style) {
		switch {
		case unicode.IsLetter(c), unicode.IsDigit(c):
			b.WriteRune(c)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	s := strings.TrimSuffix(b.String(), "-")
	for len(s) > maxSlug { // names of files have a limit, in bytes; equal beginnings are told apart by a number
		_, n := utf8.DecodeLastRuneInString(s)
		s = s[:len(s)-n]
	}
	if s == "" {
		return "unnamed"
	}
	return s
}

// inject sets in each job's notebook the parameters that it has.
func (r *runner) inject(jobs []*job) error {
	used := map[string]bool{}
	var listed []string
	for _, j := range jobs {
		known, err := j.nb.Parameters()
		if err != nil {
			return err
		}
		var settings []nbformat.Setting
		if j.style != "" {
			settings = append(settings, nbformat.Setting{Name: styleParameter, Value: j.style})
		}
		for _, p := range known {
			if !slices.Contains(listed, p.Name) {
				listed = append(listed, p.Name)
			}
			for _, s := range r.set {
				if s.Name == p.Name {
					used[s.Name] = true
					if j.style == "" || s.Name != styleParameter {
						settings = append(settings, s)
					}
				}
			}
		}
		if err := j.nb.Inject(settings); err != nil {
			return fmt.Errorf("%w: %w", errUse, err)
		}
	}
	for _, s := range r.set {
		if !used[s.Name] {
			return fmt.Errorf("%w: -set %s=%s: no notebook that runs has this parameter; there are: %s", errUse, s.Name, s.Value, strings.Join(listed, ", "))
		}
	}
	return nil
}
