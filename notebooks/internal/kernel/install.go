package kernel

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"

	"lastsip/notebooks/internal/folder"
	"lastsip/notebooks/internal/jupyter"
)

// Spec is how a kernel is installed for front ends.
type Spec struct {
	Name        string // of the kernel and its folder: small letters
	DisplayName string
	Program     string // package of the program that front ends start, below the checkout: "./notebooks"
	Launch      string // the program's argument before the connection file
	Trial       string // code that must run before anything is installed
	Env         func(program string) []string
}

// Installed is what an installed kernel knows of its origin. It lies beside the kernelspec, as installed.json.
type Installed struct {
	Repo    string `json:"repo"`    // the checkout
	Tools   string `json:"tools"`   // folder of kernel and helpers
	Go      string `json:"go"`      // folder of the go command: front ends started from a desktop have a shorter PATH
	Pins    string `json:"pins"`    // Sources.Pins
	Sources string `json:"sources"` // Sources.Hash of the program
	Program string `json:"program"` // absolute
}

const (
	specFile      = "kernel.json"
	installedFile = "installed.json"
)

// DataFolder is where front ends look for the kernels of this user: JUPYTER_DATA_DIR, or the platform's place.
func DataFolder() (string, error) {
	if dir := os.Getenv("JUPYTER_DATA_DIR"); dir != "" {
		return filepath.Abs(dir)
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "", fmt.Errorf("JUPYTER_DATA_DIR is not set, and there is no home folder: %w", err)
	}
	switch data := os.Getenv("XDG_DATA_HOME"); {
	case runtime.GOOS == "darwin":
		return filepath.Join(home, "Library", "Jupyter"), nil
	case data != "":
		return filepath.Join(data, "jupyter"), nil
	}
	return filepath.Join(home, ".local", "share", "jupyter"), nil
}

// Install builds everything that the kernel needs, proves by a trial that a cell runs, and installs kernelspec and program
// below DataFolder, whole or not at all. say is told each step. It returns the folder of the kernelspec.
func Install(ctx context.Context, repo string, s Spec, say func(string)) (string, error) {
	data, err := DataFolder()
	if err != nil {
		return "", err
	}
	place := filepath.Join(data, "kernels", s.Name)
	if err := errors.Join(ours(place), folder.Writable(place)); err != nil { // before anything slow
		return "", fmt.Errorf("the kernel cannot be installed in %s: %w", place, err)
	}
	t, err := Prepare(ctx, repo, say)
	if err != nil {
		return "", err
	}
	in := Installed{Repo: repo, Tools: t.Dir, Program: filepath.Join(place, s.Name)}
	gocmd, err := exec.LookPath("go")
	if err != nil {
		return "", err
	}
	if gocmd, err = filepath.Abs(gocmd); err != nil {
		return "", err
	}
	in.Go = filepath.Dir(gocmd)
	return place, folder.Replace(place, func() error { return ours(place) }, func(dir string) error {
		say("Building the program that starts it ...")
		program := filepath.Join(dir, s.Name)
		if _, err := goCommand(ctx, repo, "build", "-mod=readonly", "-o", program, s.Program); err != nil {
			return err
		}
		if err := in.describe(ctx, s.Program); err != nil {
			return err
		}
		say("Trying a first cell ...")
		if err := t.try(ctx, s.Trial, s.Env(program)); err != nil {
			return fmt.Errorf("the trial cell failed, nothing was installed: %w", err)
		}
		return in.write(dir, s)
	})
}

// ours refuses to replace a kernelspec that is not ours.
func ours(place string) error {
	entries, err := os.ReadDir(place)
	if errors.Is(err, os.ErrNotExist) || err == nil && len(entries) == 0 {
		return nil
	}
	if err != nil {
		return err
	}
	if _, err := os.Stat(filepath.Join(place, installedFile)); err != nil {
		return fmt.Errorf("%s holds a kernel that is not ours; delete or rename it first", place)
	}
	return nil
}

// describe notes versions and sources as they are now.
func (in *Installed) describe(ctx context.Context, program string) error {
	sources, err := ListSources(ctx, in.Repo)
	if errors.Is(err, ErrLocalModule) {
		return nil // then nobody can tell whether it is stale: Stale says so
	}
	if err != nil {
		return err
	}
	in.Pins = sources.Pins()
	in.Sources, err = sources.CodeHash(sources.at(program))
	return err
}

// at gives the import path of a package named by its folder.
func (s *Sources) at(dir string) string {
	for path, p := range s.packages {
		if p.Dir == filepath.Join(s.repo, dir) {
			return path
		}
	}
	return dir
}

func (in *Installed) write(dir string, s Spec) error {
	spec := map[string]any{
		"argv": []string{in.Program, s.Launch, "{connection_file}"}, "display_name": s.DisplayName,
		"language": "go", "interrupt_mode": "message", "metadata": map[string]any{"debugger": false},
	}
	for name, v := range map[string]any{specFile: spec, installedFile: in} {
		b, err := json.MarshalIndent(v, "", " ")
		if err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(dir, name), append(b, '\n'), 0o644); err != nil {
			return err
		}
	}
	return nil
}

// try runs one cell.
func (t *Tools) try(ctx context.Context, code string, env []string) (err error) {
	k, err := t.Start(ctx, Settings{Dir: os.TempDir(), Env: env})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, k.Close()) }()
	r, err := k.Client.Execute(ctx, code, jupyter.Options{})
	switch {
	case err != nil:
		return k.Explain(err)
	case r.Status != "ok":
		return errors.New(r.Reason)
	case r.LastStderr != "":
		return errors.New(strings.TrimSpace(r.StderrText()))
	}
	return nil
}

// ReadInstalled reads what lies beside the program that a front end started.
func ReadInstalled(program string) (*Installed, error) {
	b, err := os.ReadFile(filepath.Join(filepath.Dir(program), installedFile))
	if err != nil {
		return nil, err
	}
	in := &Installed{}
	return in, json.Unmarshal(b, in)
}

// Ready gives the tools to launch with, and, where the checkout, the versions or the sources have changed since the
// installation, what is stale in plain words. It fails where the kernel cannot work any more, with the reason. PATH gets
// the folder of the go command when it has none. again is the command that installs anew.
func (in *Installed) Ready(ctx context.Context, program, again string) (t *Tools, stale string, err error) {
	if _, err := exec.LookPath("go"); err != nil {
		if err := os.Setenv("PATH", os.Getenv("PATH")+string(filepath.ListSeparator)+in.Go); err != nil {
			return nil, "", err
		}
		if _, err := exec.LookPath("go"); err != nil {
			return nil, "", fmt.Errorf("the go command is neither on PATH nor in %s any more; install Go, then `%s` in %s", in.Go, again, in.Repo)
		}
	}
	if _, err := os.Stat(filepath.Join(in.Repo, "go.mod")); err != nil {
		return nil, "", fmt.Errorf("the checkout that this kernel was installed from is gone (%w); run `%s` in the checkout that you have now", err, again)
	}
	t = &Tools{Dir: in.Tools, Repo: in.Repo}
	now, err := toolsDir(ctx, in.Repo)
	if err != nil {
		return nil, "", err
	}
	if now != in.Tools {
		stale = "go.mod, go.sum or Go itself"
		if _, err := os.Stat(now); err == nil {
			t.Dir = now
		}
	}
	if _, err := os.Stat(filepath.Join(t.Dir, binary)); err != nil {
		return nil, "", fmt.Errorf("the kernel program is gone (%w); run `%s` in %s", err, again, in.Repo)
	}
	fresh := *in
	switch err := fresh.describe(ctx, program); {
	case err != nil:
		stale = fmt.Sprintf("the code of the checkout, which does not build as it stands (%v),", err)
	case stale == "" && (fresh.Sources != in.Sources || in.Sources == ""):
		stale = "the code of the checkout"
	}
	if stale == "" {
		return t, "", nil
	}
	return t, fmt.Sprintf("This kernel is stale: %s has changed since it was installed. Cells use the code as it is now; figures are drawn by the code as it was. Run `%s` in %s, then restart the kernel.", stale, again, in.Repo), nil
}
