package answer

import "math"

// band is a curve with pointwise limits on a grid of ages, and at any age between.
type band struct {
	grid []CurvePoint
	at   func(age float64) (CurvePoint, error)
}

// Which of a band's three curves.
func middleOf(p CurvePoint) float64 { return p.Mean }
func lowerOf(p CurvePoint) float64  { return p.Lower }
func upperOf(p CurvePoint) float64  { return p.Upper }

// run is a stretch of the grid, from index i to j, in which a curve lies at or above a limit.
type run struct{ i, j int }

// runs finds every stretch, up to grid point last, in which a curve lies at or above the limit, and which of them holds its
// maximum; -1: none.
func (b *band) runs(of func(CurvePoint) float64, limit float64, last int) (out []run, best int) {
	best = -1
	top := math.Inf(-1)
	for i := range b.grid[:last+1] {
		v := of(b.grid[i])
		if v < limit {
			continue
		}
		if n := len(out); n > 0 && out[n-1].j == i-1 {
			out[n-1].j = i
		} else {
			out = append(out, run{i, i})
		}
		if v > top {
			top, best = v, len(out)-1
		}
	}
	return out, best
}

// crossing finds the age between grid points i and j = i+1 or i-1 at which a curve passes the limit: at or above it at i,
// below it at j.
func (b *band) crossing(of func(CurvePoint) float64, limit float64, i, j int) (float64, error) {
	in, out := b.grid[i].AgeMin, b.grid[j].AgeMin
	for range 40 {
		mid := (in + out) / 2
		p, err := b.at(mid)
		if err != nil {
			return 0, err
		}
		if of(p) >= limit {
			in = mid
		} else {
			out = mid
		}
	}
	return in, nil
}

// find inverts the band: the run of the curve at or above the limit that holds its maximum, the limits of its ends, and how
// long the lower limit stays there.
func (b *band) find(limit float64) (Window, error) {
	w := Window{Limit: limit, Status: OK}
	top := b.grid[0]
	for _, p := range b.grid {
		if p.Mean > top.Mean {
			top = p
		}
	}
	w.Highest, w.HighestAt = top.Mean, top.AgeMin
	last := len(b.grid) - 1
	runs, best := b.runs(middleOf, limit, last)
	if best < 0 {
		w.Status = Never
		return w, nil
	}
	for k, r := range runs {
		from, to, err := b.ends(middleOf, limit, r)
		if err != nil {
			return w, err
		}
		if k != best {
			w.Others = append(w.Others, Span{from, to})
			continue
		}
		w.From, w.To = Of(from), Of(to)
	}
	r := runs[best]
	if r.j == last {
		w.To, w.Status = Num{}, BeyondLastAge
		if r.i == 0 {
			w.Status = Always
		}
	}
	var err error
	if w.AtLeastUntil, err = b.atLeast(limit, r.j); err != nil {
		return w, err
	}
	if err = b.limitsOfBegin(&w, r); err != nil {
		return w, err
	}
	return w, b.limitsOfEnd(&w, r)
}

// ends are the ages at which a run begins and ends.
func (b *band) ends(of func(CurvePoint) float64, limit float64, r run) (from, to float64, err error) {
	from, to = b.grid[r.i].AgeMin, b.grid[r.j].AgeMin
	if r.i > 0 {
		if from, err = b.crossing(of, limit, r.i, r.i-1); err != nil {
			return
		}
	}
	if r.j < len(b.grid)-1 {
		to, err = b.crossing(of, limit, r.j, r.j+1)
	}
	return
}

// limitsOfEnd are the ages, to both sides of the end of the run, from which on the band tells that the
// curve is above, or below, the limit. Open: 0 and +Inf.
func (b *band) limitsOfEnd(w *Window, r run) error {
	w.ToLower, w.ToUpper = Of(0), Of(math.Inf(1))
	for i := r.j; i >= r.i; i-- {
		if b.grid[i].Lower >= w.Limit {
			at := b.grid[i].AgeMin
			if i < len(b.grid)-1 && b.grid[i+1].Lower < w.Limit {
				var err error
				if at, err = b.crossing(lowerOf, w.Limit, i, i+1); err != nil {
					return err
				}
			}
			w.ToLower = Of(at)
			break
		}
	}
	for i := r.j; i < len(b.grid); i++ {
		if b.grid[i].Upper < w.Limit {
			at, err := b.crossing(upperOf, w.Limit, i-1, i)
			if err != nil {
				return err
			}
			w.ToUpper = Of(at)
			break
		}
	}
	return nil
}

// limitsOfBegin are likewise those of the begin of the run.
func (b *band) limitsOfBegin(w *Window, r run) error {
	w.FromLower, w.FromUpper = Of(0), Of(math.Inf(1))
	for k := r.i; k >= 0; k-- {
		if b.grid[k].Upper < w.Limit {
			at, err := b.crossing(upperOf, w.Limit, k+1, k)
			if err != nil {
				return err
			}
			w.FromLower = Of(at)
			break
		}
	}
	for k := r.i; k <= r.j; k++ {
		if b.grid[k].Lower >= w.Limit {
			at := b.grid[k].AgeMin
			if k > 0 && b.grid[k-1].Lower < w.Limit {
				var err error
				if at, err = b.crossing(lowerOf, w.Limit, k, k-1); err != nil {
					return err
				}
			}
			w.FromUpper = Of(at)
			break
		}
	}
	return nil
}

// atLeast is the last age of the run in which the lower limit lies at or above the limit and which holds the lower limit's
// maximum, of those up to grid point last, the window's end: past it the curve has been below. Empty where there is none.
func (b *band) atLeast(limit float64, last int) (Num, error) {
	runs, best := b.runs(lowerOf, limit, last)
	if best < 0 {
		return Num{}, nil
	}
	_, to, err := b.ends(lowerOf, limit, runs[best])
	return Of(to), err
}
