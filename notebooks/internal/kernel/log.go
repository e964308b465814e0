package kernel

import (
	"errors"
	"fmt"
	"io/fs"
	"regexp"
	"strings"
	"sync"
	"syscall"
)

// tail keeps the end of what the kernel itself writes, for the case that it dies.
type tail struct {
	mu sync.Mutex
	b  []byte
}

const tailBytes = 4096

// chatter is what the kernel logs in good health.
var chatter = regexp.MustCompile(`^I\d{4} `)

func (t *tail) Write(p []byte) (int, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.b = append(t.b, p...)
	if cut := len(t.b) - tailBytes; cut > 0 {
		t.b = append(t.b[:0], t.b[cut:]...)
	}
	return len(p), nil
}

// String gives the last lines, without the ones that a kernel writes in good health.
func (t *tail) String() string {
	t.mu.Lock()
	defer t.mu.Unlock()
	var out []string
	for line := range strings.Lines(string(t.b)) {
		line = strings.TrimRight(line, "\r\n")
		if line != "" && !strings.Contains(line, "gopls") && !chatter.MatchString(line) {
			out = append(out, line)
		}
	}
	return strings.Join(out[max(0, len(out)-8):], "\n")
}

// Explain makes plain what the system says about a program that cannot be run.
func Explain(err error) error {
	var at *fs.PathError
	if errors.As(err, &at) && errors.Is(err, syscall.EACCES) {
		return fmt.Errorf("%s may not be run (%w): its folder is on a file system mounted noexec; set TMPDIR, or XDG_CACHE_HOME for the kernel itself, to another folder", at.Path, err)
	}
	return err
}
