package mixed

import "slices"

// sparseRow is a row of Z'Z: columns in rising order.
type sparseRow struct {
	at []int
	v  []float64
}

func (r sparseRow) value(at int) float64 {
	if k, ok := slices.BinarySearch(r.at, at); ok {
		return r.v[k]
	}
	return 0
}

// crossProducts gives Z'Z, sparse.
func (f *Fit) crossProducts() []sparseRow {
	sums := make([]map[int]float64, f.problem.Effects())
	for i := range sums {
		sums[i] = map[int]float64{}
	}
	var at []int
	var z []float64
	for i := range f.y {
		at, z = at[:0], z[:0]
		for k, g := range f.groups {
			offset, q := f.problem.Offset(k), len(g.names)
			for j := range q {
				v := 1.0
				if g.z[j] != nil {
					v = g.z[j][i]
				}
				at, z = append(at, offset+g.code[i]*q+j), append(z, v)
			}
		}
		for j, a := range at {
			for k, b := range at {
				sums[a][b] += z[j] * z[k]
			}
		}
	}
	out := make([]sparseRow, len(sums))
	for i, m := range sums {
		for b := range m {
			out[i].at = append(out[i].at, b)
		}
		slices.Sort(out[i].at)
		for _, b := range out[i].at {
			out[i].v = append(out[i].v, m[b])
		}
	}
	return out
}
