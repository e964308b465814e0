package answer

import (
	"encoding/csv"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/mathtest"
	"lastsip/analysis/panel"
	"lastsip/analysis/panelcsv"
)

const (
	windowFolder = "../../testdata/answer/window/"
	windowSource = "testdata/answer/window/panels.R, R 4.2.2, lme4 1.1-31, pbkrtest 0.5.2"
)

// demoDrink is a drink of a demo evening.
func demoDrink(t testing.TB, evening, style string) (Input, endpoint.Drink) {
	t.Helper()
	f, err := panelcsv.Read(os.DirFS("../../datasets/"+evening), evening)
	require.NoError(t, err)
	in := Input{Panel: f.Panel, Quick: true}
	drinks := in.Drinks()
	k := slices.IndexFunc(drinks, func(d endpoint.Drink) bool { return d.Style == style })
	require.GreaterOrEqual(t, k, 0)
	return in, drinks[k]
}

// inventedPanel reads a panel that panels.R reads too: evening, batch, taster, planned age, age, score.
func inventedPanel(t testing.TB, name string, limit float64, better panel.Direction) (Input, endpoint.Drink) {
	t.Helper()
	p := &panel.Panel{Attributes: []panel.Attribute{{Name: "liking", Ranged: true, High: 10, Better: better}},
		Settings: panel.Settings{Overall: "liking", HasLimits: true, PrimeLimit: limit}}
	seen, pours := map[string]bool{}, map[string]int{}
	for _, r := range csvRows(t, windowFolder+name+".csv") {
		if !seen[r[0]] {
			seen[r[0]] = true
			p.Sessions = append(p.Sessions, panel.Session{Name: r[0]})
		}
		glass := strings.Join(r[:3], " ")
		if _, ok := pours[glass]; !ok {
			pours[glass] = len(p.Pours)
			p.Pours = append(p.Pours, panel.Pour{Session: r[0], ID: "g" + r[2], Taster: r[2], Style: sour.Style, Serve: sour.Serve, Batch: r[1]})
		}
		p.Tastes = append(p.Tastes, panel.Taste{Session: r[0], Taster: r[2], Pour: pours[glass], Mode: panel.SipThrough, Age: panel.Age(value(t, r[4])),
			Planned: panel.Age(value(t, r[3])), HasPlanned: true, Scores: []panel.Score{{Value: value(t, r[5]), Given: true}}})
	}
	return Input{Panel: p, Quick: true}, sour
}

func csvRows(t testing.TB, file string) [][]string {
	t.Helper()
	f, err := os.Open(file)
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	return rows[1:]
}

// value reads a number as R writes it: NA is NaN.
func value(t testing.TB, s string) float64 {
	t.Helper()
	if s == "NA" {
		return math.NaN()
	}
	x, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return x
}

// Windows, their limits, limits moved, the drop since fresh and tasters' own curves against R, within a hundredth of a minute;
// the curve and the tasters' lines, in points, within a thousandth: the line at the middle age lies up to that far off, as the
// grid is mixed in proportion.
func TestWindowAgainstR(t *testing.T) {
	got := map[string]*PrimeWindow{}
	for name, make := range map[string]func() (Input, endpoint.Drink){
		"sour":     func() (Input, endpoint.Drink) { return demoDrink(t, "sour-evening", "sour") },
		"stirred":  func() (Input, endpoint.Drink) { return demoDrink(t, "stirred-evening", "stirred") },
		"highball": func() (Input, endpoint.Drink) { return demoDrink(t, "stirred-evening", "highball") },
		"evenings": func() (Input, endpoint.Drink) { return inventedPanel(t, "evenings", 7, panel.BetterHigh) },
		"batches":  func() (Input, endpoint.Drink) { return inventedPanel(t, "batches", 7, panel.BetterHigh) },
		"joined":   func() (Input, endpoint.Drink) { return inventedPanel(t, "joined", 7, panel.BetterHigh) },
		"low":      func() (Input, endpoint.Drink) { return inventedPanel(t, "low", 3, panel.BetterLow) },
	} {
		in, d := make()
		in.Panel.Settings.PrimeDrop = 1 // so that the drop is always answered
		w := mustWindow(t, in, d)
		require.Contains(t, []string{OK, Never}, w.Status, name)
		require.Equal(t, "Kenward-Roger", w.DF, name)
		got[name] = w
	}
	//	require.Equal(t, [][]string{{"evening"}, {"batch"}, nil, nil}, [][]string{got["evenings"].Fixed, got["batches"].Fixed, got["joined"].Fixed, got["low"].Fixed})
	require.Equal(t, []string{shapeSpline, shapeJoined}, []string{got["low"].Shape, got["joined"].Shape})
	require.Equal(t, []int{3, 2, 0}, []int{len(got["low"].Knots), len(got["sour"].Knots), len(got["joined"].Knots)})
	checked := map[string]int{}
	age := 0.0
	for _, r := range csvRows(t, windowFolder+"panels.csv") {
		name, variant, statistic, want := r[0], r[1], r[2], value(t, r[3])
		w := got[name]
		what := strings.Join(r[:3], " ")
		checked[name]++
		switch variant {
		case "curve":
			if statistic == "age" {
				age = want
				continue
			}
			p := turned(curveAt(w, age), signOf(w))
			mathtest.Close(t, what, map[string]float64{"mean": p.Mean, "lower": p.Lower, "upper": p.Upper}[statistic], want, 1e-3, windowSource)
		case "line":
			ends := (w.Curve[0].AgeMin + w.Curve[len(w.Curve)-1].AgeMin) / 2
			mathtest.Close(t, what, signOf(w)*lineAt(t, w, statistic, ends), want, 1e-3, windowSource)
		default:
			x := w.Main
			if variant != "" {
				x = variantNamed(t, w, variant).Window
			}
			sameAge(t, what, map[string]Num{"from": x.From, "from_lower": x.FromLower, "from_upper": x.FromUpper, "to": x.To, "to_lower": x.ToLower,
				"to_upper": x.ToUpper, "at_least": x.AtLeastUntil}[statistic], want)
		}
	}
	require.Len(t, checked, 7)
	for name, n := range checked {
		require.Equal(t, 5*7+len(got[name].Lines)+3*4, n, name)
	}
}

func mustWindow(t testing.TB, in Input, d endpoint.Drink) *PrimeWindow {
	t.Helper()
	w, err := NewPrimeWindow(in, d)
	require.NoError(t, err)
	require.Empty(t, twice(w.Rows))
	b, err := Encode(w)
	require.NoError(t, err)
	back, err := Decode(b)
	require.NoError(t, err)
	require.Equal(t, w, back)
	return w
}

// sameAge compares an age: NaN is none.
func sameAge(t *testing.T, what string, got Num, want float64) {
	t.Helper()
	switch {
	case math.IsNaN(want):
		require.True(t, got.Empty(), "%s: %v", what, got)
	case math.IsInf(want, 1):
		require.True(t, got.Open(), "%s: %v", what, got)
	default:
		mathtest.Close(t, what, got.Float(), want, 0.01, windowSource)
	}
}

func variantNamed(t *testing.T, w *PrimeWindow, name string) Variant {
	t.Helper()
	for _, v := range w.Variants {
		if v.Variant == name || v.Method == name {
			return v
		}
	}
	require.Fail(t, "no variant "+name)
	return Variant{}
}

func signOf(w *PrimeWindow) float64 {
	if w.Better == "low" {
		return -1
	}
	return 1
}

// curveAt mixes the curve's neighbours.
func curveAt(w *PrimeWindow, age float64) CurvePoint {
	k, part := neighbours(w, age)
	a, b := w.Curve[k-1], w.Curve[k]
	mix := func(x, y float64) float64 { return x + part*(y-x) }
	return CurvePoint{AgeMin: age, Mean: mix(a.Mean, b.Mean), Lower: mix(a.Lower, b.Lower), Upper: mix(a.Upper, b.Upper)}
}

func lineAt(t *testing.T, w *PrimeWindow, taster string, age float64) float64 {
	t.Helper()
	i := slices.IndexFunc(w.Lines, func(l TasterLine) bool { return l.Taster == taster })
	require.GreaterOrEqual(t, i, 0, taster)
	k, part := neighbours(w, age)
	m := w.Lines[i].Means
	return m[k-1] + part*(m[k]-m[k-1])
}

func neighbours(w *PrimeWindow, age float64) (k int, part float64) {
	k = 1
	for k < len(w.Curve)-1 && w.Curve[k].AgeMin < age {
		k++
	}
	a, b := w.Curve[k-1].AgeMin, w.Curve[k].AgeMin
	return k, (age - a) / (b - a)
}
