package kernel

import (
	"bytes"
	"context"
	"crypto/sha256"
	"debug/buildinfo"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
)

const binary = "gonb"

// Tools are the kernel and its helpers, built.
type Tools struct {
	Dir     string // folder with the programs
	Repo    string // the checkout, absolute, links resolved
	Version string // of the kernel, from its build information
}

// Prepare builds what a kernel needs, and packages, those that cells import (patterns of the go command; none means
// "./..."). say is told each step before it begins (nil: nobody). Errors hold what the go command said.
func Prepare(ctx context.Context, repo string, say func(string), packages ...string) (*Tools, error) {
	if say == nil {
		say = func(string) {}
	}
	if err := supported(); err != nil {
		return nil, err
	}
	if err := checkRepo(repo); err != nil {
		return nil, err
	}
	if _, err := exec.LookPath("go"); err != nil {
		return nil, errors.New("the go command is not on PATH; notebooks are Go programs, so that Go itself is needed (https://go.dev/dl)")
	}
	dir, err := toolsDir(ctx, repo)
	if err != nil {
		return nil, err
	}
	t := &Tools{Dir: dir, Repo: repo}
	if _, err := os.Stat(dir); err != nil {
		if err := t.build(ctx, say); err != nil {
			return nil, err
		}
	}
	say("Building the packages that notebooks import ...")
	if len(packages) == 0 {
		packages = []string{"./..."}
	}
	if _, err := goCommand(ctx, repo, append([]string{"build", "-mod=readonly"}, packages...)...); err != nil {
		return nil, fmt.Errorf("lastsip itself does not build: %w", err)
	}
	info, err := buildinfo.ReadFile(filepath.Join(dir, binary))
	if err != nil {
		return nil, fmt.Errorf("kernel program: %w; delete %s and run again", err, dir)
	}
	t.Version = info.Main.Version
	for _, d := range info.Deps { // built from our module, the kernel is one of its dependencies
		if d.Path == info.Path {
			t.Version = d.Version
		}
	}
	if info.Main.Path == info.Path {
		t.Version = info.Main.Version
	}
	return t, nil
}

// build downloads the modules and builds the tools beside their place, which a rename then fills: two runs at once both
// build and one of them wins.
func (t *Tools) build(ctx context.Context, say func(string)) error {
	parent := filepath.Dir(t.Dir)
	if err := os.MkdirAll(parent, 0o755); err != nil {
		return err
	}
	say("First run with these versions: downloading the modules that go.mod pins (network, once) ...")
	if _, err := goCommand(ctx, t.Repo, "mod", "download"); err != nil {
		return fmt.Errorf("the modules could not be downloaded: %w", err)
	}
	say("Building the notebook kernel (once, about half a minute) ...")
	temp, err := os.MkdirTemp(parent, "building-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(temp)
	if _, err := goCommand(ctx, t.Repo, "build", "-mod=readonly", "-o", temp+string(filepath.Separator), "tool"); err != nil {
		return fmt.Errorf("the notebook kernel does not build: %w", err)
	}
	if err := os.Chmod(temp, 0o755); err != nil {
		return err
	}
	if err := os.Rename(temp, t.Dir); err != nil {
		if _, there := os.Stat(t.Dir); there != nil {
			return err
		}
	}
	return nil
}

// toolsDir names the folder of the tools for these pins, this Go and this platform.
func toolsDir(ctx context.Context, repo string) (string, error) {
	version, err := goCommand(ctx, repo, "version")
	if err != nil {
		return "", err
	}
	h := sha256.New()
	fmt.Fprintln(h, version, runtime.GOOS, runtime.GOARCH)
	for _, name := range []string{"go.mod", "go.sum"} {
		b, err := os.ReadFile(filepath.Join(repo, name))
		if err != nil {
			return "", err
		}
		fmt.Fprintln(h, name, len(b))
		h.Write(b)
	}
	cache, err := os.UserCacheDir()
	if err != nil { // no home: a folder that at least outlives this run
		cache = filepath.Join(os.TempDir(), "lastsip-cache")
	}
	return filepath.Join(cache, "lastsip", fmt.Sprintf("tools-%x", h.Sum(nil)[:8])), nil
}

// goCommand runs go in the checkout and gives its output; an error holds what go wrote.
func goCommand(ctx context.Context, repo string, args ...string) (string, error) {
	cmd := exec.CommandContext(ctx, "go", args...)
	cmd.Dir = repo
	// A workspace around the checkout would put other versions in the place of the pinned ones; a -mod or network setting
	// for cells stands in environment, not here.
	cmd.Env = append(os.Environ(), "GOWORK=off")
	groupOnly(cmd)
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	if err := cmd.Run(); err != nil {
		if ctx.Err() != nil {
			return "", context.Cause(ctx)
		}
		return "", fmt.Errorf("go %s: %w\n%s", strings.Join(args, " "), err, strings.TrimSpace(errs.String()+out.String()))
	}
	return strings.TrimSpace(out.String()), nil
}
