package multiplicity

import (
	"math"
	"slices"
)

// plane works out M(u) where the rank is two: u is an angle, and M is a cosine between the angles where one row takes over
// from another. Half of the circle is enough two-sided.
func plane(rows [][]float64, both bool) *radial {
	r := &radial{rank: 2, rows: len(rows), both: both, label: "plane"}
	end := 2 * math.Pi
	if both {
		end = math.Pi
	}
	largest := func(angle float64) float64 {
		s, c := math.Sincos(angle)
		m := -1.0
		for _, a := range rows {
			v := a[0]*c + a[1]*s
			if both {
				v = math.Abs(v)
			}
			m = max(m, v)
		}
		return m
	}
	cuts := planeCuts(rows, both, end, largest)
	mass := make([]float64, 0, gaussPoints*len(cuts))
	for k := 1; k < len(cuts); k++ {
		mid, half := (cuts[k]+cuts[k-1])/2, (cuts[k]-cuts[k-1])/2
		if half <= 0 {
			continue
		}
		for g, x := range gaussX {
			r.at = append(r.at, largest(mid+half*x))
			mass = append(mass, gaussW[g]*half/end)
		}
	}
	r.mass = [][]float64{mass}
	return r
}

// planeCuts are the angles at which the largest row changes, has its top or goes through 0, and some between.
func planeCuts(rows [][]float64, both bool, end float64, largest func(float64) float64) []float64 {
	var cuts []float64
	add := func(angle float64) {
		angle = math.Mod(angle, end)
		if angle < 0 {
			angle += end
		}
		cuts = append(cuts, angle)
	}
	// addZero grades the cuts, as P(R x > w) is nearly a step there when w is small.
	addZero := func(angle float64) {
		for _, d := range [...]float64{0, 1e-4, 1e-3, 3e-3, 0.01, 0.03, 0.1, 0.3} {
			add(angle + d)
			add(angle - d)
		}
	}
	// addIf takes an angle and the one opposite when the row is the largest there.
	addIf := func(x, y float64, a []float64, at func(float64)) {
		for _, turn := range [...]float64{0, math.Pi} {
			angle := math.Atan2(y, x) + turn
			s, c := math.Sincos(angle)
			v := a[0]*c + a[1]*s
			if both {
				v = math.Abs(v)
			}
			if v > largest(angle)-1e-9 {
				at(angle)
			}
		}
	}
	for i, a := range rows {
		addIf(a[0], a[1], a, add)      // its top
		addIf(-a[1], a[0], a, addZero) // its zero
		for _, b := range rows[:i] {
			addIf(-(a[1] - b[1]), a[0]-b[0], a, add) // where the two are equal
			if both {
				addIf(-(a[1] + b[1]), a[0]+b[0], a, add)
			}
		}
	}
	for k := range 17 {
		cuts = append(cuts, end*float64(k)/16)
	}
	slices.Sort(cuts)
	return cuts
}
