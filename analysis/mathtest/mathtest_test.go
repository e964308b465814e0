package mathtest

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// recorder stands in for the test that Close would fail.
type recorder struct {
	testing.TB
	said []string
}

func (r *recorder) Helper()                   {}
func (r *recorder) Errorf(f string, a ...any) { r.said = append(r.said, f) }

func TestCloseFails(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, tt := range []struct {
		reason         string
		got, want, tol float64
		source         string
		fails          bool
	}{
		{"equal", 1, 1, 0, "s", false},
		{"within", 1.25, 1, 0.25, "s", false},
		{"beyond", 1.26, 1, 0.25, "s", true},
		{"below", 0.74, 1, 0.25, "s", true},
		{"got NaN", nan, 1, 1, "s", true},
		{"want NaN", 1, nan, 1, "s", true},
		{"both NaN", nan, nan, 1, "s", true},
		{"no source", 1, 1, 0, " ", true},
		{"equal infinities", inf, inf, 0, "s", false},
		{"other infinity", -inf, inf, 1, "s", true},
		{"infinite want", 1, inf, 1, "s", true},
		{"tolerance NaN", 1, 1, nan, "s", true},
		{"tolerance below 0", 1, 1, -1, "s", true},
		{"tolerance that cannot fail", 1, 2, inf, "s", true},
	} {
		r := &recorder{}
		Close(r, "x", tt.got, tt.want, tt.tol, tt.source)
		require.Equal(t, tt.fails, len(r.said) == 1, tt.reason)
	}
}

func TestCloseRelFails(t *testing.T) {
	for _, tt := range []struct {
		got, want, abs, rel float64
		fails               bool
	}{
		{1010, 1000, 0, 0.01, false}, {1011, 1000, 0, 0.01, true}, {-1010, -1000, 0, 0.01, false},
		{1011, 1000, 1, 0.01, false}, {0.5, 0, 0, 0.9, true}, {math.Inf(1), 1, 0, 0.5, true},
	} {
		r := &recorder{}
		CloseRel(r, "x", tt.got, tt.want, tt.abs, tt.rel, "s")
		require.Equal(t, tt.fails, len(r.said) == 1, "%+v", tt)
	}
}
