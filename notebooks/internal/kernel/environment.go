package kernel

import (
	"context"
	"os"
	"path/filepath"
	"strings"
)

// environment is that of the kernel, and so of goimports, go and the cells: the tools first on PATH, look-ups off (all
// versions come from the checkout's go.mod), no -mod flag (it forbids workspaces), no symbol tables in cells (the linker
// is most of a cell's time), the workspace that the kernel makes, and its own TMPDIR. extra comes last and wins.
func (t *Tools) environment(ctx context.Context, temp string, extra []string) ([]string, error) {
	flags, err := goCommand(ctx, t.Repo, "env", "GOFLAGS")
	if err != nil {
		return nil, err
	}
	drop := map[string]bool{"PATH": true, "GOPROXY": true, "GOFLAGS": true, "GOWORK": true, "TMPDIR": true, "GONB_PIPE": true, "GONB_PIPE_BACK": true}
	var env []string
	for _, kv := range os.Environ() {
		if name, _, _ := strings.Cut(kv, "="); !drop[name] {
			env = append(env, kv)
		}
	}
	env = append(env,
		"PATH="+t.Dir+string(filepath.ListSeparator)+os.Getenv("PATH"),
		"GOPROXY=off", "GOFLAGS="+cellFlags(flags), "GOWORK=", "TMPDIR="+temp)
	return append(env, extra...), nil
}

// cellFlags takes -mod out of the user's GOFLAGS and adds -ldflags=-s.
func cellFlags(flags string) string {
	var out []string
	for _, f := range strings.Fields(flags) {
		name := strings.TrimLeft(f, "-")
		if name == "mod" || strings.HasPrefix(name, "mod=") {
			continue
		}
		out = append(out, f)
	}
	return strings.Join(append(out, "-ldflags=-s"), " ")
}
