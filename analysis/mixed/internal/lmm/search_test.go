package lmm

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// plain evaluates the criterion by one dense Cholesky factor over (u, beta, y), quick enough for searches without
// derivatives. It knows no blocks, no scaling and no order.
type plain struct {
	cross   [][]float64 // r+p+1
	terms   []Term
	n, r, p int
}

func newPlain(x [][]float64, y []float64, terms []Term) *plain {
	o := newOracle(x, y, terms)
	_, r := o.z.Dims()
	f := &plain{terms: terms, n: len(y), r: r, p: len(x)}
	col := func(k int) []float64 {
		switch {
		case k < r:
			c := make([]float64, f.n)
			for i := range c {
				c[i] = o.z.At(i, k)
			}
			return c
		case k < r+f.p:
			return x[k-r]
		}
		return y
	}
	for a := range r + f.p + 1 {
		f.cross = append(f.cross, make([]float64, r+f.p+1))
		for b := range f.cross[a] {
			f.cross[a][b] = dot(col(a), col(b))
		}
	}
	return f
}

func (f *plain) deviance(theta []float64, reml bool) float64 {
	m := make([][]float64, len(f.cross))
	for i, row := range f.cross {
		m[i] = slices.Clone(row)
	}
	at, k := 0, 0
	for _, t := range f.terms {
		q := len(t.Columns)
		l := make([]float64, q*q)
		for c := range q {
			for r := c; r < q; r++ {
				if r == c || !t.Independent {
					l[r*q+c] = theta[k]
					k++
				}
			}
		}
		for j := at; j < at+t.Levels*q; j += q {
			for i := range m {
				for c := range q {
					sum := 0.0
					for a := c; a < q; a++ {
						sum += m[i][j+a] * l[a*q+c]
					}
					m[i][j+c] = sum
				}
			}
			for i := range m {
				for c := range q {
					sum := 0.0
					for a := c; a < q; a++ {
						sum += m[j+a][i] * l[a*q+c]
					}
					m[j+c][i] = sum
				}
			}
		}
		at += t.Levels * q
	}
	logH, logX := 0.0, 0.0
	for i := range m {
		if i < f.r {
			m[i][i]++
		}
		for j := range i + 1 {
			v := m[i][j] - dot(m[i][:j], m[j])
			switch {
			case j < i:
				m[i][j] = v / m[j][j]
			case i < len(m)-1:
				m[i][i] = math.Sqrt(v)
				if i < f.r {
					logH += math.Log(v)
				} else {
					logX += math.Log(v)
				}
			default:
				nu := float64(f.n)
				if reml {
					nu, logH = nu-float64(f.p), logH+logX
				}
				return logH + nu*(1+math.Log(2*math.Pi*v/nu))
			}
		}
	}
	panic("unreachable")
}

// walk is a compass search: coordinate steps that grow and shrink, from a start, within |theta| < 1e4.
func walk(f func([]float64) float64, theta []float64) float64 {
	best := f(theta)
	step := slices.Repeat([]float64{0.3}, len(theta))
	for range 400 {
		moved := false
		for k := range theta {
			hit := false
			for _, by := range []float64{step[k], -step[k]} {
				was := theta[k]
				theta[k] += by
				if v := f(theta); v < best && math.Abs(theta[k]) < 1e4 {
					best, hit, moved = v, true, true
					break
				}
				theta[k] = was
			}
			if hit {
				step[k] *= 2
			} else {
				step[k] *= 0.4
			}
		}
		if !moved && slices.Max(step) < 1e-6 {
			break
		}
	}
	return best
}

// smallPanel is a few tasters who rate a few styles at a few ages, not all of them, with effects of which some are absent.
func smallPanel(rng *rand.Rand) (x [][]float64, y []float64, terms []Term) {
	tasters, styles, ages, evenings := 2+rng.IntN(6), 1+rng.IntN(3), 2+rng.IntN(4), 2+rng.IntN(3)
	var taster, style, evening, cell []int
	var age []float64
	keep := 0.4 + 0.6*rng.Float64()
	for i := range tasters * styles * ages {
		if rng.Float64() > keep {
			continue
		}
		taster, style = append(taster, i%tasters), append(style, i/tasters%styles)
		age = append(age, float64(i/tasters/styles))
		evening = append(evening, rng.IntN(evenings))
		cell = append(cell, taster[len(taster)-1]*styles+style[len(style)-1])
	}
	n := len(age)
	if n < 8 {
		return smallPanel(rng)
	}
	x = [][]float64{ones(n), age}
	for k := 1; k < styles && rng.IntN(2) == 0; k++ {
		x = append(x, indicator(style, k))
	}
	slope := [][]float64{nil, age}
	switch rng.IntN(6) {
	case 0:
		terms = []Term{{tasters, taster, [][]float64{nil}, false}}
	case 1:
		terms = []Term{{tasters, taster, slope, false}}
	case 2:
		terms = []Term{{tasters, taster, slope, true}, {evenings, evening, [][]float64{nil}, false}}
	case 3:
		terms = []Term{{tasters, taster, slope, false}, {evenings, evening, [][]float64{nil}, false}}
	case 4:
		terms = []Term{{tasters, taster, slope, false}, {tasters * styles, cell, [][]float64{nil}, false}, {evenings, evening, [][]float64{nil}, false}}
	case 5:
		terms = []Term{{tasters, taster, [][]float64{nil}, false}, {tasters * styles, cell, slope, false}}
	}
	size := make([]float64, 4)
	for k := range size {
		size[k] = []float64{0, 0, 0.3, 1, 3}[rng.IntN(5)]
	}
	bt, bs, bc, be := normals(rng, tasters), normals(rng, tasters), normals(rng, tasters*styles), normals(rng, evenings)
	for i := range n {
		v := 7 - 0.5*age[i] + size[0]*bt[taster[i]] + 0.4*size[1]*bs[taster[i]]*age[i] + size[2]*bc[cell[i]] + size[3]*be[evening[i]]
		y = append(y, math.Round(2*(v+rng.NormFloat64()))/2)
	}
	return x, y, terms
}

func normals(rng *rand.Rand, n int) []float64 {
	v := make([]float64, n)
	for i := range v {
		v[i] = rng.NormFloat64()
	}
	return v
}

// TestNeverWorse holds cold starts on random small panels against the best of several searches without derivatives.
func TestNeverWorse(t *testing.T) {
	panels := 500
	if testing.Short() {
		panels = 60
	}
	rng := rand.New(rand.NewPCG(11, 12))
	evaluations, most, worse, endless := 0, 0, 0, 0
	for i := range panels {
		x, y, terms := smallPanel(rng)
		reml := i%2 == 0
		p := New(x, y, terms)
		o := p.Space().Fit(reml, nil)
		finite(t, o)
		if math.IsInf(o.Deviance, 0) {
			require.False(t, o.Converged)
			continue
		}
		f := newPlain(x, y, terms)
		value := func(theta []float64) float64 { return f.deviance(theta, reml) }
		if len(o.Theta) > 0 && slices.Max(o.Theta) < 1e3 {
			require.InDelta(t, value(o.Theta), o.Deviance, 1e-7*(1+math.Abs(o.Deviance)), "panel %d", i)
		}
		best := math.Inf(1)
		for start := range 5 {
			theta := make([]float64, p.Thetas())
			for k, diagonal := range p.Diagonal() {
				switch {
				case start < 3 && diagonal:
					theta[k] = []float64{0.1, 1, 5}[start]
				case start >= 3:
					theta[k] = rng.NormFloat64()
				}
			}
			best = math.Min(best, walk(value, theta))
		}
		evaluations += o.Evaluations
		most = max(most, o.Evaluations)
		if !o.Converged && strings.Contains(o.Why, "without end") && o.Deviance <= best {
			endless++ // no minimum: the searches stop at their fence
			continue
		}
		if !o.Converged || o.Deviance > best+1e-6 {
			worse++
			t.Errorf("panel %d (n %d, p %d, REML %v, %d terms): %.9f, searches %.9f, diff %.3g; %+v", i, p.n, p.p, reml, len(terms), o.Deviance, best, o.Deviance-best, o)
		}
	}
	t.Logf("%d panels, %.1f evaluations on average, %d at most, %d without a minimum, %d worse", panels, float64(evaluations)/float64(panels), most, endless, worse)
}
