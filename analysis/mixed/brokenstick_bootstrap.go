package mixed

import (
	"math"
	"math/rand/v2"
	"strconv"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/internal/resample"
	"lastsip/analysis/mixed/internal/lmm"
)

// BendDraws is a test of a bend against a straight line whose law was drawn.
type BendDraws struct {
	F      float64 // largest on the grid: a little less than Bend.F
	P      float64 // (1 + draws with an F at least as large) / (1 + Draws)
	Draws  int
	Failed int       // draws in which a fit did not converge; they count as large
	Values []float64 // F of the other draws, in order
	Grid   []float64 // places at which F was taken
}

// mostGrid bounds the places of the bootstrap's grid.
const mostGrid = 17

// Bootstrap tests the bend by its largest F: responses are drawn from the straight line as Spec's criterion fits it, new
// random effects and residuals on the same rows, and F is taken in the data and in every draw on the same fixed grid: all
// steps of the range searched and places evenly between them, at most 17 in all [14]. Draw i comes from stream i of seed; the
// answer does not depend on the number of cores. A small p says that one line does not fit, not that the decline breaks.
func (b *Bend) Bootstrap(seed uint64, draws int) (BendDraws, error) {
	if draws < 1 || draws > mostDraws {
		return BendDraws{}, &dataerr.Cell{Column: "draws", Value: strconv.Itoa(draws), Err: dataerr.ErrRange, Want: "give a number of draws from 1 to 10 million, 499 for a test"}
	}
	line := b.stick.straight
	if err := line.drawable(); err != nil {
		return BendDraws{}, err
	}
	out := BendDraws{Draws: draws}
	problems := b.stick.grid(&out)
	if len(problems) == 0 {
		return BendDraws{}, &dataerr.Cell{Column: b.stick.name, Err: errFinite, Want: "with a bend the search over the variances ends nowhere on the grid"}
	}
	type work struct {
		*drawer
		spaces []*lmm.Space
	}
	space := func() work {
		w := work{drawer: line.drawer()}
		for _, p := range problems {
			w.spaces = append(w.spaces, p.Space())
		}
		return w
	}
	values, failed := make([]float64, draws), make([]bool, draws)
	resample.EachWith(draws, seed, 0, space, func(i int, rng *rand.Rand, w work) {
		w.draw(rng)
		theta := line.optimum.Theta
		for _, s := range w.spaces {
			s.SetResponse(w.y)
			o, ok := settled(s, false, theta)
			f := s.LastRatio() * s.LastRatio()
			if !ok || math.IsNaN(f) {
				failed[i] = true
				return
			}
			values[i], theta = max(values[i], f), o.Theta
		}
	})
	large := 1
	slack := 1e-7 * (1 + out.F) // two fits that differ by rounding are equal
	for i, v := range values {
		switch {
		case failed[i]:
			out.Failed++
			large++
			continue
		case v >= out.F-slack:
			large++
		}
		out.Values = append(out.Values, v)
	}
	out.P = float64(large) / float64(draws+1)
	return out, nil
}

// grid fills the places at which F can be taken in the data and its largest value there; the problems hold the hinge.
func (s *stick) grid(out *BendDraws) []*lmm.Problem {
	knots := thinned(s.places, mostGrid)
	inside := (mostGrid - 1) / (len(knots) - 1)
	var problems []*lmm.Problem
	for k, from := range knots {
		for j := range inside {
			psi := from
			if k < len(knots)-1 {
				psi += (knots[k+1] - from) * float64(j) / float64(inside)
			} else if j > 0 {
				break
			}
			p := s.at(psi)
			if !p.ok || math.IsNaN(p.ratio) {
				continue
			}
			out.Grid, out.F = append(out.Grid, psi), max(out.F, p.ratio*p.ratio)
			problems = append(problems, lmm.New(append(s.straight.x[:len(s.straight.x):len(s.straight.x)], hinge(s.v, psi)), s.straight.y, s.terms))
		}
	}
	return problems
}
