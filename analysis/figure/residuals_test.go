package figure_test

import (
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/answer"
	"lastsip/analysis/figure"
	"lastsip/analysis/golden"
	"lastsip/analysis/mathtest"
)

// leftOver makes a prime window with some residuals.
func leftOver(residuals ...float64) *answer.PrimeWindow {
	a := &answer.PrimeWindow{Head: head("prime_window", "sour, coupe", n(3.5))}
	for i, r := range residuals {
		a.Residuals = append(a.Residuals, answer.Residual{Taster: string(rune('A' + i%3)), AgeMin: float64(2 * i), Fitted: 8 - .4*float64(i), Residual: r})
	}
	return a
}

func residualCases() map[string]*answer.PrimeWindow {
	a := leftOver(.31, -1.2, .05, .9, -.44, 2.1, -.08, -.7, .52)
	hostile := leftOver(slices.Concat(make([]float64, 40), []float64{5, -5.02, 5.01})...)
	for i := range hostile.Residuals {
		hostile.Residuals[i].Taster = "</svg><script>a taster whose name no one can say in one breath"
		hostile.Residuals[i].Fitted = 6 + float64(i)/1000
	}
	return map[string]*answer.PrimeWindow{"residuals_nine": a, "residuals_usual": ages()["age_usual"].(*answer.PrimeWindow), "residuals_none": leftOver(0, 0, 0), "residuals_hostile": hostile}
}

func drawResiduals(t *testing.T, a *answer.PrimeWindow, width int) (*figure.Figure, *drawing) {
	t.Helper()
	f, err := figure.Residuals(a, width)
	require.NoError(t, err)
	svg, err := f.SVG()
	require.NoError(t, err)
	return f, read(t, svg)
}

func TestResidualsGolden(t *testing.T) {
	for name, a := range residualCases() {
		for suffix, width := range widths {
			f, d := drawResiduals(t, a, width)
			svg, err := f.SVG()
			require.NoError(t, err)
			golden.Check(t, filepath.Join("../../testdata/figure", name+"."+suffix+".svg"), svg)
			golden.Check(t, filepath.Join("../../testdata/figure", name+".alt.txt"), []byte(f.Alt()+"\n"))
			d.lettersApart(name)
			require.Empty(t, d.with("stroke-dasharray", actDash), "no minutes, no act")
		}
	}
}

// Quantiles and the line are those of R 4.2, qqnorm and qqline (for n up to ten it takes the same plotting positions):
// qqnorm(x)$x, and slope and intercept of the line through quantile(x, c(.25, .75)) at qnorm(c(.25, .75)).
func TestResidualPlaces(t *testing.T) {
	const source = "R 4.2, qqnorm(x) and qqline(x)"
	x := []float64{.31, -1.2, .05, .9, -.44, 2.1, -.08, -.7, .52}
	quantile := []float64{0.2743914879, -1.4941549086, 0, 0.9319713123, -0.5716375252, 1.4941549086, -0.2743914879, -0.9319713123, 0.5716375252}
	const slope, intercept = 0.711649064883, 0.04
	for _, width := range widths {
		_, d := drawResiduals(t, residualCases()["residuals_nine"], width)
		dots := d.with("fill", darkInk)
		require.Len(t, dots, 2, "two panels")
		for _, p := range dots {
			require.Equal(t, len(x), p.moves)
		}
		// Of nine points in order of size the places are known; two of them give the scale, the others must follow.
		sorted, normal := slices.Sorted(slices.Values(x)), slices.Sorted(slices.Values(quantile))
		place := func(i int) (px, py float64) { return dots[1].points[3*i][0] - 2.1, dots[1].points[3*i][1] }
		x0, y0 := place(0)
		x8, y8 := place(8)
		atX := func(px float64) float64 { return normal[0] + (px-x0)/(x8-x0)*(normal[8]-normal[0]) }
		atY := func(py float64) float64 { return sorted[0] + (py-y0)/(y8-y0)*(sorted[8]-sorted[0]) }
		for i := range sorted {
			px, py := place(i)
			mathtest.Close(t, "normal quantile", atX(px), normal[i], 2e-4, source)
			require.InDelta(t, sorted[i], atY(py), .002)
		}
		var lines []path
		for _, p := range d.with("stroke", "#5D636B", "stroke-dasharray", "", "stroke-width", "") {
			if p.y[0] != p.y[1] {
				lines = append(lines, p)
			}
		}
		require.Len(t, lines, 1)
		a, b := lines[0].points[0], lines[0].points[len(lines[0].points)-1]
		got := (atY(b[1]) - atY(a[1])) / (atX(b[0]) - atX(a[0]))
		mathtest.Close(t, "slope of the line", got, slope, 1e-3, source)
		mathtest.Close(t, "its height at 0", atY(a[1])-got*atX(a[0]), intercept, 2e-3, source)
		for _, w := range []string{"C at 10", "fitted, points", "normal quantile"} {
			require.Contains(t, d.words(), w)
		}
		require.NotContains(t, d.words(), "B at", "only what lies far off is named")
	}
	f, _ := drawResiduals(t, residualCases()["residuals_nine"], 0)
	require.Contains(t, f.Alt(), "9 scores: against the fitted score, from 4.8 to 8 points")
	require.Contains(t, f.Alt(), "a quarter lie below -0.44 and a quarter above 0.52; farthest from none: 2.1 (C at 10).")
}

// Whatever their size the y axis has 0 and two to eight more round numbers.
func TestResidualTicks(t *testing.T) {
	for size := .0013; size < 2000; size *= 1.7 {
		_, d := drawResiduals(t, leftOver(size, -.7*size, .1*size, 0), 0)
		count := 0
		for _, tx := range d.texts {
			if tx.x > 100 && tx.x < 160 && tx.y > d.height/2+20 && strings.Trim(tx.s, "-0123456789.e") == "" {
				count++
			}
		}
		require.GreaterOrEqual(t, count, 3, "%v: %s", size, d.words())
		require.LessOrEqual(t, count, 9, "%v: %s", size, d.words())
		require.Contains(t, d.words(), "\n0\n")
		require.NotContains(t, d.words(), "-0\n")
	}
}

func TestResidualsRefuse(t *testing.T) {
	for _, a := range []*answer.PrimeWindow{nil, leftOver(1, 2)} {
		_, err := figure.Residuals(a, 0)
		require.ErrorIs(t, err, figure.ErrNoFigure)
	}
	_, err := figure.Residuals(leftOver(1, math.NaN(), 2), 0)
	require.ErrorContains(t, err, "a residual or its fitted score is NaN")
	_, err = figure.Residuals(leftOver(1, 2, 3), 500)
	require.ErrorContains(t, err, "want 720 or 360")
}
