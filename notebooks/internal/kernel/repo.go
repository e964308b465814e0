package kernel

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// FindRepo goes from dir upward to the folder whose go.mod names the module, with symbolic links resolved.
func FindRepo(dir, module string) (string, error) {
	start, err := filepath.Abs(dir)
	if err != nil {
		return "", err
	}
	for at := start; ; at = filepath.Dir(at) {
		b, err := os.ReadFile(filepath.Join(at, "go.mod"))
		if err == nil && moduleName(b) == module {
			return filepath.EvalSymlinks(at)
		}
		if err != nil && !errors.Is(err, os.ErrNotExist) {
			return "", err
		}
		if at == filepath.Dir(at) {
			return "", fmt.Errorf("%s is not inside a checkout of %s (no folder above it has a go.mod that says `module %s`); change to the checkout first", start, module, module)
		}
	}
}

func moduleName(mod []byte) string {
	for line := range bytes.Lines(mod) {
		if name, ok := strings.CutPrefix(strings.TrimSpace(string(line)), "module "); ok {
			return strings.Trim(strings.TrimSpace(name), `"`)
		}
	}
	return ""
}

// checkRepo refuses a path that the kernel's -go_work flag, a list separated by commas, would cut in two.
func checkRepo(repo string) error {
	if strings.Contains(repo, ",") {
		return fmt.Errorf("the path %s has a comma, at which the kernel would cut it in two; move or rename the folder", repo)
	}
	return nil
}
