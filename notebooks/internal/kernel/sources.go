package kernel

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
)

// Sources knows the packages of a checkout, the files of each and what they import, as the go command lists them for the
// user's build settings.
type Sources struct {
	repo     string
	pins     string // go.mod, go.sum, Go, platform: as Pins
	settings string // of the go command, those that change what is built
	packages map[string]*listed
}

// listed is what `go list -json` says of a package.
type listed struct {
	ImportPath, Name, Dir                                                      string
	GoFiles, CgoFiles, CFiles, CXXFiles, HFiles, SFiles, SysoFiles, EmbedFiles []string
	Imports                                                                    []string
}

func (p *listed) files() []string {
	return slices.Concat(p.GoFiles, p.CgoFiles, p.CFiles, p.CXXFiles, p.HFiles, p.SFiles, p.SysoFiles, p.EmbedFiles)
}

// ErrLocalModule: go.mod replaces a module by a folder, whose files no version stands for.
var ErrLocalModule = errors.New("go.mod replaces a module by a folder")

// ListSources lists the packages of the checkout. It takes about 0.15 s.
func ListSources(ctx context.Context, repo string) (*Sources, error) {
	s := &Sources{repo: repo, packages: map[string]*listed{}}
	mod, err := os.ReadFile(filepath.Join(repo, "go.mod"))
	if err != nil {
		return nil, err
	}
	for line := range strings.Lines(string(mod)) {
		_, to, replaced := strings.Cut(line, "=>")
		if to = strings.TrimSpace(to); replaced && (strings.HasPrefix(to, ".") || filepath.IsAbs(to)) {
			return nil, ErrLocalModule
		}
	}
	dir, err := toolsDir(ctx, repo)
	if err != nil {
		return nil, err
	}
	s.pins = filepath.Base(dir)
	s.settings, err = goCommand(ctx, repo, "env", "GOVERSION", "GOFLAGS", "GOOS", "GOARCH", "GOAMD64", "GOARM64", "GOEXPERIMENT", "GODEBUG", "CGO_ENABLED")
	if err != nil {
		return nil, err
	}
	out, err := goCommand(ctx, repo, "list", "-mod=readonly", "-json=ImportPath,Name,Dir,GoFiles,CgoFiles,CFiles,CXXFiles,HFiles,SFiles,SysoFiles,EmbedFiles,Imports", "./...")
	if err != nil {
		return nil, err
	}
	for d := json.NewDecoder(strings.NewReader(out)); ; {
		p := &listed{}
		if err := d.Decode(p); errors.Is(err, io.EOF) {
			return s, nil
		} else if err != nil {
			return nil, fmt.Errorf("go list: %w", err)
		}
		s.packages[p.ImportPath] = p
	}
}

// Pins stands for go.mod, go.sum, the Go version and the platform, and so for the kernel that is built from them.
func (s *Sources) Pins() string { return s.pins }

// Named gives the packages whose import path is one of paths, or whose name, or last part of the path, is one of names;
// sorted.
func (s *Sources) Named(paths, names []string) []string {
	var out []string
	for _, p := range s.packages {
		if slices.Contains(paths, p.ImportPath) || slices.Contains(names, p.Name) || slices.Contains(names, path.Base(p.ImportPath)) {
			out = append(out, p.ImportPath)
		}
	}
	slices.Sort(out)
	return out
}

// Hash stands for the packages given and all packages of the checkout that they import, by the bytes of their files (no
// tests), and for the versions and build settings of everything else. An unknown package is an error.
func (s *Sources) Hash(packages ...string) (string, error) { return s.hash(s.settings, packages) }

// CodeHash is Hash without the build settings: what Jupyter's environment sets is no change of the code (a PATH without a C
// compiler turns cgo off).
func (s *Sources) CodeHash(packages ...string) (string, error) { return s.hash("", packages) }

func (s *Sources) hash(settings string, packages []string) (string, error) {
	need := map[string]bool{}
	for todo := slices.Clone(packages); len(todo) > 0; {
		name := todo[0]
		todo = todo[1:]
		p, ours := s.packages[name]
		if !ours && slices.Contains(packages, name) {
			return "", fmt.Errorf("there is no package %s in the checkout", name)
		}
		if ours && !need[name] {
			need[name] = true
			todo = append(todo, p.Imports...)
		}
	}
	h := sha256.New()
	fmt.Fprintf(h, "%s\n%s\n", s.pins, settings)
	for _, name := range slices.Sorted(maps.Keys(need)) {
		p := s.packages[name]
		fmt.Fprintf(h, "%s\n", name)
		for _, f := range p.files() {
			b, err := os.ReadFile(filepath.Join(p.Dir, f))
			if err != nil {
				return "", err
			}
			fmt.Fprintf(h, "%s %d\n", f, len(b))
			h.Write(b)
		}
	}
	return fmt.Sprintf("%x", h.Sum(nil)), nil
}
