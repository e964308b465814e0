package lmm

import "math"

// eliminate factors the blocks and takes their share from schur (lower triangle). It returns their part of log|H|.
func (s *Space) eliminate() float64 {
	p := s.p
	e := p.rest + p.p
	product, logs := 1.0, 0.0
	for i := range p.blocks {
		b := &p.blocks[i]
		w := len(b.cols)
		l := s.blockChol(b)
		c := s.coupled[b.zc : b.zc+b.size*w]
		y := s.zyBlock[b.at : b.at+b.size]
		copy(l.x, p.zz[b.zz:])
		copy(c, p.zc[b.zc:])
		copy(y, s.zy[b.at:])
		s.blockLeft(b, l.x, b.size)
		s.blockRight(b, l.x)
		s.blockLeft(b, c, w)
		s.blockLeft(b, y, 1)
		for a := range b.size {
			l.x[a*b.size+a]++
		}
		l.cholesky(b.size, b.size, 0)
		l.forwardRows(c, w)
		l.forward(b.size, y)
		for a := range b.size {
			product *= l.at(a, a)
			if product > 1e200 {
				logs += math.Log(product)
				product = 1
			}
			s.take(b.cols, c[a*w:(a+1)*w], y[a], e)
		}
	}
	return 2 * (logs + math.Log(product))
}

// take subtracts the products of one row of a block's coupling, the last entry y, from the lower triangle of schur.
func (s *Space) take(cols []int32, c []float64, y float64, e int) {
	d := len(c) - s.p.p
	last := s.schur.row(e)
	last[e] -= y * y
	if d == s.p.rest { // all columns, in order
		axpy(-y, c, last)
		for j, v := range c {
			axpy(-v, c[:j+1], s.schur.row(j))
		}
		return
	}
	for j, v := range c {
		row := s.schur.row(int(cols[j]))
		last[cols[j]] -= y * v
		if j < d {
			for k, at := range cols[:j+1] {
				row[at] -= v * c[k]
			}
			continue
		}
		for k, at := range cols[:d] {
			row[at] -= v * c[k]
		}
		axpy(-v, c[d:j+1], row[s.p.rest:])
	}
}

// blockLeft multiplies the rows (w values each) of a block's matrix with Lambda' from the left, in place.
func (s *Space) blockLeft(b *block, x []float64, w int) {
	for _, m := range b.members {
		q, l := s.p.terms[m.term].q, s.lambda[m.term]
		at := m.row * w
		for c := range q {
			row := x[at+c*w : at+(c+1)*w]
			scale(l[c*q+c], row)
			for a := c + 1; a < q; a++ {
				axpy(l[a*q+c], x[at+a*w:at+(a+1)*w], row)
			}
		}
	}
}

// blockRight multiplies a block's square matrix with Lambda from the right, in place.
func (s *Space) blockRight(b *block, x []float64) {
	for _, m := range b.members {
		q, l := s.p.terms[m.term].q, s.lambda[m.term]
		for r := m.row; r < len(x); r += b.size {
			v := x[r : r+q]
			for c := range q {
				sum := 0.0
				for a := c; a < q; a++ {
					sum += v[a] * l[a*q+c]
				}
				v[c] = sum
			}
		}
	}
}

// blockLift writes Lambda u to v for one block.
func (s *Space) blockLift(b *block, u, v []float64) {
	for _, m := range b.members {
		q, l := s.p.terms[m.term].q, s.lambda[m.term]
		for a := range q {
			v[m.row+a] = dot(l[a*q:a*q+a+1], u[m.row:])
		}
	}
}
