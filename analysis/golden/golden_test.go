package golden

import (
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"
)

// recorder stands in for the test that Check would fail; FailNow ends its goroutine as a test's does.
type recorder struct {
	testing.TB
	failed bool
}

func (r *recorder) Helper()               {}
func (r *recorder) Name() string          { return "recorder" }
func (r *recorder) Errorf(string, ...any) { r.failed = true }
func (r *recorder) FailNow()              { r.failed = true; runtime.Goexit() }

func check(path, got string) bool {
	r := &recorder{}
	done := make(chan struct{})
	go func() { defer close(done); Check(r, path, []byte(got)) }()
	<-done
	return !r.failed
}

func TestCheck(t *testing.T) {
	was := *update // this package's own test chooses both ways, whatever the command line says
	t.Cleanup(func() { *update = was })
	path := filepath.Join(t.TempDir(), "golden", "a.txt")

	*update = false
	require.False(t, check(path, "a\n"), "no file yet")
	*update = true
	require.True(t, check(path, "a\n"))
	written, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, "a\n", string(written))
	*update = false
	require.True(t, check(path, "a\n"))
	require.False(t, check(path, "b\n"), "another byte")
	require.False(t, check(path, "a\r\n"), "another line end")
}
