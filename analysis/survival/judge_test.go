package survival

import (
	"math"
	"testing"

	"lastsip/analysis/mathtest"
)

// The gap of a curve that is not the maximum: at the maximum it is 0 whatever is left out of it.
func TestIsotonicGapOfAWrongCurve(t *testing.T) {
	looks := []look{{2, 2, 0, 2}, {4, 4, 2, 2}} // none of two over at 2, both at 4
	flat := []look{{2, 4, 2, 4}}                // taken for a half at both
	loglik, gap := judge(looks, flat, 4)
	mathtest.Close(t, "log-likelihood", loglik, 4*math.Log(0.5), 1e-15, "worked by hand")
	mathtest.Close(t, "gap", gap, 4, 1e-15, "worked by hand: a jump after 2 and by 4 has d = 2/0.5 + 2/0.5 = 8, N = 4")
	late := []look{{2, 2, 0, 2}, {4, 4, 1, 2}} // weight 0.5 of 2 over at 4, taken for a half
	loglik, gap = judge([]look{{2, 2, 0, 2}, {4, 4, 0.5, 2}}, late, 4)
	mathtest.Close(t, "log-likelihood", loglik, 2*math.Log(0.5), 1e-15, "worked by hand")
	mathtest.Close(t, "gap", gap, 1, 1e-15, "worked by hand: a jump after 4 has d = 2/1 + 1.5/0.5 = 5, N = 4")
}
