package answer

import (
	"fmt"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/internal/resample"
	"lastsip/analysis/survival"
)

// A bootstrap over whole tasters is drawn from 15 tasters on, for shares and half, never for one in ten, and not when Quick.
func TestBandFromFifteenTasters(t *testing.T) {
	for _, tt := range []struct {
		in   Input
		band bool
	}{
		{full(evening(twenty[:14]...)), false}, {full(evening(twenty[:15]...)), true}, {evening(twenty[:15]...), false},
	} {
		life := mustLife(t, tt.in)
		p := life.Parts[0]
		require.Equal(t, tt.band, p.BandHalf != nil)
		require.Len(t, p.Band, map[bool]int{true: len(p.Shares)}[tt.band])
		n := 0
		for _, r := range life.Rows {
			if strings.Contains(r.Variant, "bootstrap") {
				n++
				require.Contains(t, []string{"share", "q50"}, r.Statistic)
				require.Equal(t, "either_side+sip_through+bootstrap", r.Variant)
				require.True(t, r.Value.Empty() && !r.Lower.Empty() && !r.Upper.Empty())
				require.Equal(t, Of(0.95), r.Level)
				require.Contains(t, r.Note, "2000 draws of whole tasters")
			}
		}
		require.Equal(t, tt.band, n == len(p.Shares)+1)
		require.Empty(t, twice(life.Rows))
	}
}

// The band by another road: each draw's curve from the rows themselves, every taster as often as drawn; the 51st smallest and
// largest of 2,000.
func TestBandIsTheBootstrap(t *testing.T) {
	in := full(evening(twenty[:15]...))
	in.Seed = 9
	var rows []survival.Interval
	subject := make([]int, 15)
	for i, w := range twenty[:15] {
		yes := float64(2 * strings.Count(w, "y"))
		rows, subject[i] = append(rows, survival.Interval{L: yes, R: yes + 2}), i
	}
	whole := resample.NewSubjects(subject)
	weights := make([]float64, 15)
	var at6, half [2][]float64
	for i := range 2000 {
		whole.Weights(resample.Child(9, uint64(i)), weights)
		var drawn []survival.Interval
		for k, w := range weights {
			for range int(w) {
				drawn = append(drawn, rows[k])
			}
		}
		c, err := survival.NPMLE{}.Fit(drawn)
		require.NoError(t, err)
		lo, hi := c.At(6)
		at6[0], at6[1] = append(at6[0], lo), append(at6[1], hi)
		lo, hi = c.Quantile(0.5)
		half[0], half[1] = append(half[0], lo), append(half[1], hi)
	}
	for _, x := range [][]float64{at6[0], at6[1], half[0], half[1]} {
		slices.Sort(x)
	}
	p := mustLife(t, in).Parts[0]
	require.Equal(t, 6.0, p.Band[2].AgeMin)
	require.InDelta(t, at6[0][50], p.Band[2].Lower, 1e-6)
	require.InDelta(t, at6[1][1949], p.Band[2].Upper, 1e-6)
	require.Equal(t, []Num{Of(half[0][50]), Of(half[1][1949])}, []Num{p.BandHalf.Lower, p.BandHalf.Upper})
	require.Equal(t, []Num{p.median().From, p.median().To}, []Num{p.BandHalf.From, p.BandHalf.To})
	for _, b := range p.Band {
		require.True(t, 0 <= b.Lower && b.Lower <= b.Upper && b.Upper <= 1)
	}
}

// The same seed gives the same bytes, on one core and on two; another seed does not.
func TestBandOnAnyNumberOfCores(t *testing.T) {
	encode := func(seed uint64) string {
		in := full(evening(twenty[:15]...))
		in.Seed = seed
		b, err := Encode(mustLife(t, in))
		require.NoError(t, err)
		return string(b)
	}
	cores := runtime.GOMAXPROCS(1)
	one := encode(1)
	runtime.GOMAXPROCS(2)
	two := encode(1)
	runtime.GOMAXPROCS(cores)
	require.Equal(t, one, two)
	require.NotEqual(t, one, encode(2))
}

// Side by side all glasses of a taster are drawn together, by the seed given.
func TestBandSideBySide(t *testing.T) {
	var list []string
	for i := range 15 {
		list = append(list, []string{"yyyn", "yynn", "ynnn"}[i%3])
	}
	ages := []float64{3, 6, 9, 12}
	var subject []int
	var rows []survival.Status
	for i, w := range list {
		for k, c := range w {
			rows, subject = append(rows, survival.Status{Time: ages[k], Over: c == 'n'}), append(subject, i)
		}
	}
	in := full(beside(ages, list...))
	bands := map[string]bool{}
	for seed := range uint64(6) {
		in.Seed = seed
		whole := resample.NewSubjects(subject)
		weights := make([]float64, len(rows))
		var at9 [2][]float64
		for i := range 2000 {
			whole.Weights(resample.Child(seed, uint64(i)), weights)
			c, err := survival.Isotonic{}.FitWeighted(rows, weights)
			require.NoError(t, err)
			lo, hi := c.At(9)
			at9[0], at9[1] = append(at9[0], lo), append(at9[1], hi)
		}
		slices.Sort(at9[0])
		slices.Sort(at9[1])
		p := mustLife(t, in).Parts[0]
		require.InDelta(t, at9[0][50], p.Band[2].Lower, 1e-12)
		require.InDelta(t, at9[1][1949], p.Band[2].Upper, 1e-12)
		bands[fmt.Sprint(p.Band)] = true
	}
	require.Greater(t, len(bands), 1)
	in.Seed = 0
	p := mustLife(t, in).Parts[0]
	require.Len(t, p.Band, 4)
	require.Equal(t, []float64{1, 1, 0, 0}, []float64{p.Band[0].Lower, p.Band[0].Upper, p.Band[3].Lower, p.Band[3].Upper}, "all at 3, none at 12")
	require.True(t, p.Band[1].Lower < 2.0/3 && 2.0/3 < p.Band[1].Upper)
	// The share at 6 is that of ten tasters of fifteen; limits of k/15, k binomial: qbinom(c(.025, .975), 15, 2/3) = 6, 13.
	require.InDelta(t, 6.0/15, p.Band[1].Lower, 1.0/15+1e-9)
	require.InDelta(t, 13.0/15, p.Band[1].Upper, 1.0/15+1e-9)
}

// A brief answer says the same as the whole: its sentences, its act, half and one in ten.
func TestBriefSaysTheSame(t *testing.T) {
	modes, _, _, _ := bothModes()
	for name, in := range map[string]Input{"twelve": twelve(), "nine": nine(), "five": evening("yynn", "yyynn", "yynn", "yyyynn", "yynn"), "stopped": evening(stopped...), "modes": modes,
		"batches": inBatches(fourBatches...), "all": evening(slices.Repeat([]string{"yyyy"}, 8)...)} {
		whole := mustLife(t, in)
		act, err := NewServeBy(in, sour, whole, nil)
		require.NoError(t, err)
		in.Brief = true
		brief := mustLife(t, in)
		require.Equal(t, whole.Sentences, brief.Sentences, name)
		require.Equal(t, whole.Warnings, brief.Warnings, name)
		require.Equal(t, whole.NextEvening, brief.NextEvening, name)
		require.Equal(t, whole.Status, brief.Status, name)
		again, err := NewServeBy(in, sour, brief, nil)
		require.NoError(t, err)
		require.Equal(t, act, again, name)
		require.Empty(t, brief.Parts[0].Headline.Shares)
		require.Empty(t, brief.Parts[0].Headline.Batches.Each)
	}
}
