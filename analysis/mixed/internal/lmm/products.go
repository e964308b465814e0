package lmm

import "slices"

// multiply builds the cross-products of [Z, X] and the factor of X'X, block after block, over what is not zero.
func (p *Problem) multiply() {
	m := multiplier{p: p, first: p.effects - p.rest, at: make([]int, 0, 32), val: make([]float64, 0, 32)}
	p.cross = square(p.rest + p.p)
	order, begin := p.byBlock()
	if len(p.blocks) > 0 {
		m.meet(order, begin)
	}
	for b := range len(begin) - 1 {
		if len(p.blocks) > 0 {
			m.enter(&p.blocks[b])
		}
		for _, i := range order[begin[b]:begin[b+1]] {
			m.row(int(i))
		}
		if len(p.blocks) > 0 {
			m.leave()
		}
	}
	p.cross.mirror()
	for i := range p.terms {
		p.terms[i].weight = p.weigh(&p.terms[i])
	}
	p.xchol = square(p.p)
	for i := range p.p {
		copy(p.xchol.row(i), p.cross.row(p.rest + i)[p.rest:])
	}
	p.xbad = p.xchol.cholesky(p.p, 0, dependent) >= 0
}

// byBlock lists the rows block after block; without blocks, in one run.
func (p *Problem) byBlock() (order []int32, begin []int) {
	begin = make([]int, max(len(p.blocks), 1)+1)
	order = make([]int32, p.n)
	if len(p.blocks) == 0 {
		for i := range order {
			order[i] = int32(i)
		}
		begin[1] = p.n
		return order, begin
	}
	for _, b := range p.root {
		begin[b+1]++
	}
	for b := range p.blocks {
		begin[b+1] += begin[b]
	}
	next := slices.Clone(begin)
	for i, b := range p.root {
		order[next[b]] = int32(i)
		next[b]++
	}
	return order, begin
}

// multiplier adds rows up.
type multiplier struct {
	p     *Problem
	first int // effects in blocks: where the rest begins
	b     *block
	zz    []float64 // of b
	zc    []float64
	place []int32 // d+p: where a column of [Z_rest, X] stands in b.cols
	at    []int   // entries of one row that are not 0: effect, or r + column of X
	val   []float64
}

// meet lists the columns that each block meets and makes room for the cross-products.
func (m *multiplier) meet(order []int32, begin []int) {
	p := m.p
	m.place = make([]int32, p.rest+p.p)
	seen := make([]int32, p.rest) // block that saw the column last, +1
	var all []int32
	ends := make([]int, len(p.blocks))
	for b := range p.blocks {
		from := len(all)
		for i := range p.terms {
			t := &p.terms[i]
			if t.nested {
				continue
			}
			for _, r := range order[begin[b]:begin[b+1]] {
				at := t.at[t.Level[r]] - m.first
				if seen[at] == int32(b+1) {
					continue
				}
				seen[at] = int32(b + 1)
				for c := range t.q {
					all = append(all, int32(at+c))
				}
			}
		}
		slices.Sort(all[from:])
		for k := range p.p {
			all = append(all, int32(p.rest+k))
		}
		ends[b] = len(all)
	}
	from, zz, zc := 0, 0, 0
	for b := range p.blocks {
		k := &p.blocks[b]
		k.cols, from = all[from:ends[b]:ends[b]], ends[b]
		k.zz, k.zc = zz, zc
		zz += k.size * k.size
		zc += k.size * len(k.cols)
	}
	p.zz, p.zc = make([]float64, zz), make([]float64, zc)
}

func (m *multiplier) enter(b *block) {
	m.b = b
	m.zz = m.p.zz[b.zz : b.zz+b.size*b.size]
	m.zc = m.p.zc[b.zc : b.zc+b.size*len(b.cols)]
	for k, c := range b.cols {
		m.place[c] = int32(k)
	}
}

// row adds the products of one row: what it has in the block with itself and with the columns met, the latter with
// themselves.
func (m *multiplier) row(i int) {
	p := m.p
	m.at, m.val = m.at[:0], m.val[:0]
	for k := range p.terms {
		if p.terms[k].nested {
			m.gather(&p.terms[k], i)
		}
	}
	inside := len(m.at)
	for k := range p.terms {
		if !p.terms[k].nested {
			m.gather(&p.terms[k], i)
		}
	}
	for k, col := range p.x {
		if v := col[i]; v != 0 {
			m.at, m.val = append(m.at, p.effects+k), append(m.val, v/p.xscale[k])
		}
	}
	for a := range inside {
		r, v := m.at[a]-m.b.at, m.val[a]
		zz, zc := m.zz[r*m.b.size:], m.zc[r*len(m.b.cols):]
		for b := range a + 1 {
			zz[m.at[b]-m.b.at] += v * m.val[b]
		}
		for b := inside; b < len(m.at); b++ {
			zc[m.place[m.at[b]-m.first]] += v * m.val[b]
		}
	}
	for a := inside; a < len(m.at); a++ {
		row, v := p.cross.row(m.at[a]-m.first), m.val[a]
		for b := inside; b <= a; b++ {
			row[m.at[b]-m.first] += v * m.val[b]
		}
	}
}

func (m *multiplier) gather(t *term, i int) {
	at := t.at[t.Level[i]]
	for c, col := range t.Columns {
		v := 1.0
		if col != nil {
			if v = col[i] / t.scale[c]; v == 0 {
				continue
			}
		}
		m.at, m.val = append(m.at, at+c), append(m.val, v)
	}
}

// leave fills the upper triangle.
func (m *multiplier) leave() { matrix{m.b.size, m.zz}.mirror() }

// weigh is a term's weight.
func (p *Problem) weigh(t *term) float64 {
	w := 0.0
	for l := range t.at {
		for c := range t.q {
			w += p.square(t, l, c)
		}
	}
	if w == 0 { // columns of zeros
		return 1
	}
	return w / float64(t.Levels*t.q)
}

// square is the sum of squares of column c of a term over one level.
func (p *Problem) square(t *term, level, c int) float64 {
	i := t.at[level] + c
	if !t.nested {
		i -= p.effects - p.rest
		return p.cross.at(i, i)
	}
	b := &p.blocks[t.block[level]]
	return p.zz[b.zz+(i-b.at)*(b.size+1)]
}
