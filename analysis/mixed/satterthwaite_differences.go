package mixed

import (
	"math"
	"slices"
)

// differenced is information where the random effects are too many for a dense matrix: central differences of the analytic
// gradient of the profiled criterion. Profiling s^2 out took h h'/N from the matrix of second derivatives, h = d2/dr di; it
// is put back. Directions that cannot be reached through a lower triangular Lambda are left out.
func (o *optimum) differenced(dirs []direction, lambda [][]float64) ([]float64, []direction) {
	dirs = slices.DeleteFunc(slices.Clone(dirs), func(d direction) bool { return d.row < d.col })
	theta, at := o.packed(lambda)
	m := len(dirs) + 1
	out := make([]float64, m*m)
	out[0] = o.weight()
	ee, s2 := o.squares(o.zr), o.sigma*o.sigma
	for i, d := range dirs {
		out[i+1] = inner(d.d, ee[d.term]) / s2
		out[(i+1)*m] = out[i+1]
	}
	up, down := make([]float64, len(theta)), make([]float64, len(theta))
	for i, d := range dirs {
		k := at(d)
		was := theta[k]
		step := 1e-4 * max(math.Abs(was), 0.1/math.Sqrt(o.blocks[d.term].scale[d.row]))
		theta[k] = was + step
		o.gradient(theta, up)
		theta[k] = was - step
		o.gradient(theta, down)
		theta[k] = was
		for j, e := range dirs {
			v := (up[at(e)] - down[at(e)]) / (2 * step)
			out[(i+1)*m+j+1] += v / 2
			out[(j+1)*m+i+1] += v / 2
		}
	}
	for i := 1; i < m; i++ {
		for j := 1; j < m; j++ {
			out[i*m+j] += out[i*m] * out[j*m] / out[0]
		}
	}
	return out, dirs
}

// packed writes lambda in the order of theta, and says where the element of a direction stands in it.
func (o *optimum) packed(lambda [][]float64) (theta []float64, at func(direction) int) {
	place := make([]map[[2]int]int, len(o.blocks))
	for t := range o.blocks {
		b := &o.blocks[t]
		q := b.q()
		place[t] = map[[2]int]int{}
		for c := range q {
			last := q
			if b.independent {
				last = c + 1
			}
			for r := c; r < last; r++ {
				place[t][[2]int{r, c}] = len(theta)
				theta = append(theta, lambda[t][r*q+c])
			}
		}
	}
	return theta, func(d direction) int { return place[d.term][[2]int{d.row, d.col}] }
}
