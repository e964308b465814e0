package mixed

import "math"

// Piece is a run of places of a bend.
type Piece struct {
	Lower, Upper         float64
	OpenLower, OpenUpper bool // the run goes on to the edge of the range searched, which is the limit then
}

// set gives the runs of psi whose deviance lies within cut of the least. points are those of the survey that are ok; between
// neighbours the profile goes one way but where the change of slope is 0 in between, which is looked for.
func (s *stick) set(points []point, least, cut float64) (pieces []Piece, sure bool) {
	sure = true
	over := func(p point) float64 { return math.Sqrt(max(p.deviance-least, 0)) - math.Sqrt(cut) } // nearly straight; inside where <= 0
	straight := s.lineOK && s.line-least <= cut                                                   // no place is worse
	open := func(p point, edge float64) bool { return p.psi == edge }
	var run *Piece
	begin := func(psi float64, open bool) {
		pieces = append(pieces, Piece{Lower: psi, OpenLower: open})
		run = &pieces[len(pieces)-1]
	}
	end := func(psi float64, open bool) {
		run.Upper, run.OpenUpper = psi, open
		run = nil
	}
	cross := func(a, b point) float64 {
		p, ok := s.root(a, b, over)
		sure = sure && ok
		return p.psi
	}
	for i, p := range points {
		if i == 0 {
			if over(p) <= 0 {
				begin(p.psi, open(p, s.places[0]))
			}
			continue
		}
		before := points[i-1]
		was, is := over(before) <= 0, over(p) <= 0
		switch {
		case was && is && !straight && before.ratio*p.ratio < 0:
			top, ok := s.root(before, p, func(p point) float64 { return p.ratio })
			if sure = sure && ok; ok && over(top) > 0 {
				end(cross(before, top), false)
				begin(cross(top, p), false)
			}
		case was && !is:
			end(cross(before, p), false)
		case !was && is:
			begin(cross(before, p), false)
		}
	}
	if last := points[len(points)-1]; run != nil {
		end(last.psi, open(last, s.places[len(s.places)-1]))
	}
	return pieces, sure
}

// root finds where f changes its sign between two points: regula falsi in which an end that stands for a second time is
// halved (Illinois), and a bisection after three steps that did not halve the bracket. False: a search over the variances
// did not end on the way.
func (s *stick) root(a, b point, f func(point) float64) (point, bool) {
	fa, fb := f(a), f(b)
	tol := 1e-10 * (s.places[len(s.places)-1] - s.places[0])
	width, slow, side := math.Abs(b.psi-a.psi), 0, 0
	best := b
	if math.Abs(fa) < math.Abs(fb) {
		best = a
	}
	for range 100 {
		mid := a.psi + (b.psi-a.psi)*fa/(fa-fb)
		if slow >= 3 || !(mid > min(a.psi, b.psi) && mid < max(a.psi, b.psi)) {
			mid, slow = a.psi+(b.psi-a.psi)/2, 0
		}
		p := s.at(mid)
		if !p.ok {
			return best, false
		}
		best = p
		v := f(p)
		if v == 0 || math.Abs(b.psi-a.psi) < tol {
			return p, true
		}
		if (v > 0) == (fb > 0) {
			b, fb = p, v
			if side == 1 {
				fa /= 2
			}
			side = 1
		} else {
			a, fa = p, v
			if side == -1 {
				fb /= 2
			}
			side = -1
		}
		if w := math.Abs(b.psi - a.psi); w > width/2 {
			slow++
		} else {
			width, slow = w, 0
		}
	}
	return best, true
}
