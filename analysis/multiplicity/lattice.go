package multiplicity

import (
	"math"
	"math/rand/v2"

	"lastsip/analysis/internal/resample"
)

// A Korobov lattice has the points frac(j (1, a, a^2, ...) / n), n a prime. Of 2,000 multipliers tried (800 for the last n) a
// is the one whose worst-case error P_2, with weights 1, 1/2, 1/3, ..., is nearest to the best one in 2 to 14 dimensions at
// once.
var lattices = []struct{ n, a uint64 }{{1021, 223}, {4093, 2291}, {16381, 6376}, {65521, 46997}, {262139, 162929}}

const (
	draws     = 12     // random shifts of the lattice, from which the error is told
	gridCells = 512    // cells of the grid of M over an interval of length 1
	mostWork  = 3e9    // products beyond which no finer lattice is taken: some seconds
	drawSeed  = 190804 // seed of the shifts: fixed, so that the same question has the same answer
)

// fineEnough takes finer and finer lattices until the error is small where decisions fall, at probabilities up to 0.1.
func fineEnough(rows [][]float64, both bool, near *companion, within float64) *radial {
	var turned [][]float64
	if near != nil {
		if own, other, ok := near.aligned(rows); ok {
			rows, turned = own, other
		}
	}
	sides := 1.0
	if both {
		sides = 2
	}
	n := float64(len(rows))
	for level := 1; ; level++ {
		r := lattice(rows, turned, both, level)
		if turned != nil {
			r.base = near.law
		}
		worst := 0.0
		for _, all := range [...]float64{0.02, 0.1} {
			worst = max(worst, r.exceed(math.Sqrt2*math.Erfcinv(2*all/sides/n)).within)
		}
		last := level+1 == len(lattices)
		if worst <= within || last || float64(lattices[level+1].n)*draws*n*float64(r.rank) > mostWork {
			return r
		}
	}
}

// lattice works out the law of M(u) from points of a lattice on the sphere, less that of a companion if there is one.
func lattice(rows, less [][]float64, both bool, level int) *radial {
	r := &radial{rank: len(rows[0]), rows: len(rows), both: both, label: "lattice"}
	low, cells := 0.0, gridCells
	if !both {
		low, cells = -1, 2*gridCells
	}
	for k := range cells + 1 {
		r.at = append(r.at, low+float64(k)/gridCells)
	}
	r.mass, r.extra = make([][]float64, draws), make([][]float64, draws)
	l := lattices[level]
	space := func() *walker { return newWalker(rows, less, both) }
	resample.EachWith(draws, drawSeed, 0, space, func(d int, rng *rand.Rand, w *walker) {
		mass, extra := grid{low, make([]float64, cells+1)}, grid{low, make([]float64, cells+1)}
		w.walk(l.n, l.a, rng, mass, extra)
		r.mass[d], r.extra[d] = mass.mass, extra.mass
	})
	return r
}

// grid receives values: each is shared among the four nearest nodes so that cubics keep their integral.
type grid struct {
	low  float64
	mass []float64
}

func (g grid) add(x, weight float64) {
	pos := (x - g.low) * gridCells
	k := min(max(int(pos)-1, 0), len(g.mass)-4)
	t := pos - float64(k) - 1 // in [-1, 2], ordinarily in [0, 1]
	m := g.mass[k : k+4 : k+4]
	m[0] -= weight * t * (t - 1) * (t - 2) / 6
	m[1] += weight * (t + 1) * (t - 1) * (t - 2) / 2
	m[2] -= weight * (t + 1) * t * (t - 2) / 2
	m[3] += weight * (t + 1) * t * (t - 1) / 6
}

// walker is the work space of one goroutine.
type walker struct {
	rows  []float64 // row after row
	less  []float64 // of the companion
	rank  int
	both  bool
	shift []float64
	u     []float64 // point on the sphere
}

func newWalker(rows, less [][]float64, both bool) *walker {
	w := &walker{rank: len(rows[0]), both: both}
	for _, r := range rows {
		w.rows = append(w.rows, r...)
	}
	for _, r := range less {
		w.less = append(w.less, r...)
	}
	w.shift, w.u = make([]float64, w.rank), make([]float64, w.rank)
	return w
}

// walk visits the n points of one shifted lattice.
func (w *walker) walk(n, a uint64, rng *rand.Rand, mass, extra grid) {
	dims := w.rank - 1
	step := make([]uint64, dims)
	for d, s := 0, uint64(1); d < dims; d, s = d+1, s*a%n {
		step[d] = s
		w.shift[d] = rng.Float64()
	}
	at := make([]uint64, dims)
	cube := make([]float64, dims)
	weight := 1 / float64(n)
	for range n {
		for d := range dims {
			v := float64(at[d])/float64(n) + w.shift[d]
			if v >= 1 {
				v--
			}
			cube[d] = v
			if at[d] += step[d]; at[d] >= n {
				at[d] -= n
			}
		}
		onSphere(cube, w.u)
		w.visit(w.rows, weight, mass, extra)
		w.visit(w.less, -weight, mass, extra)
	}
}

// visit adds the point u as these rows see it.
func (w *walker) visit(rows []float64, weight float64, mass, extra grid) {
	if len(rows) == 0 {
		return
	}
	top := -1.0
	for i := 0; i < len(rows); i += w.rank {
		v := 0.0
		for k, a := range rows[i : i+w.rank] {
			v += a * w.u[k]
		}
		if w.both {
			v = math.Abs(v)
		}
		extra.add(v, weight)
		top = max(top, v)
	}
	mass.add(top, weight)
	extra.add(top, -weight)
}

// onSphere maps uniform numbers in [0, 1) to a uniform point of the sphere in one dimension more, pair of coordinates after
// pair [9]: the share of squared length that the first 2j (or 2j+1) coordinates have of the next two more is beta, and
// within a pair the angle is uniform. Numbers that are no angle are folded, so that all is periodic.
func onSphere(cube, u []float64) {
	rank, next := len(u), 0
	fold := func() float64 {
		v := cube[next]
		next++
		return 1 - math.Abs(2*v-1)
	}
	turn := func(radius float64, x, y *float64) {
		s, c := math.Sincos(2 * math.Pi * cube[next])
		next++
		*x, *y = radius*c, radius*s
	}
	square := 1.0
	for have := rank; have > 3; have -= 2 {
		inner := square * math.Exp(math.Log(fold())*2/float64(have-2))
		turn(math.Sqrt(square-inner), &u[have-1], &u[have-2])
		square = inner
	}
	if rank%2 == 0 {
		turn(math.Sqrt(square), &u[0], &u[1])
		return
	}
	z := 2*fold() - 1
	u[0] = math.Sqrt(square) * z
	turn(math.Sqrt(square*max(0, 1-z*z)), &u[1], &u[2])
}
