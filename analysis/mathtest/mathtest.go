// Package mathtest compares computed numbers with numbers that have a source. It is imported by tests alone.
//
// Close is for numbers near each other on their own scale (tolerance = half a unit of the last printed digit), CloseRel
// for numbers whose size varies (pass when |got - want| <= abs + rel |want|). Both fail on NaN on either side, on a
// tolerance that could never fail (negative, NaN, infinite) and on an empty source, and print the source when they fail.
// Equal infinities are close. It judges scalars; vectors are compared by a loop that names the element.
package mathtest

import (
	"math"
	"strings"
	"testing"
)

// Close fails t unless |got - want| <= tol. The arguments share one unit. What names the quantity, source tells where
// want comes from (publication with page or table; library with version and call; "worked by hand: ...").
func Close(t testing.TB, what string, got, want, tol float64, source string) {
	t.Helper()
	CloseRel(t, what, got, want, tol, 0, source)
}

// CloseRel fails t unless |got - want| <= abs + rel |want|; rel is a fraction. Otherwise as Close.
func CloseRel(t testing.TB, what string, got, want, abs, rel float64, source string) {
	t.Helper()
	if strings.TrimSpace(source) == "" {
		t.Errorf("%s: the expected value %v has no source", what, want)
		return
	}
	if !(abs >= 0 && rel >= 0) || math.IsInf(abs, 0) || math.IsInf(rel, 0) {
		t.Errorf("%s: tolerance abs %v, rel %v is not finite and >= 0", what, abs, rel)
		return
	}
	if math.IsNaN(got) || math.IsNaN(want) {
		t.Errorf("%s: got %v, want %v: NaN is never close; source: %s", what, got, want, source)
		return
	}
	if got == want {
		return
	}
	if math.IsInf(got, 0) || math.IsInf(want, 0) || math.Abs(got-want) > abs+rel*math.Abs(want) {
		t.Errorf("%s: got %.17g, want %.17g, difference %.3g, allowed %.3g; source: %s",
			what, got, want, got-want, abs+rel*math.Abs(want), source)
	}
}
