package lmm

// block is the part of the system that belongs to one level of the root: s effects, of the root's terms and of the terms
// nested in it, and w columns that they meet, of the rest and of X.
type block struct {
	size    int      // s
	at      int      // first effect in the kernel's order
	members []member // one per level of a term
	cols    []int32  // w: columns of [Z_rest, X] met; those of X are all there, at the end
	zz      int      // where its s*s cross-products begin in Problem.zz, by rows, both triangles
	zc      int      // where its s*w cross-products begin in Problem.zc, by rows
}

// member is a level of a term within a block.
type member struct {
	term, row int // row is the first of its q rows
}

// arrange chooses the root and gives every effect its place.
func (p *Problem) arrange() {
	best, cost := -1, p.cost(-1, nil)
	var family []bool
	for i := range p.terms {
		f := make([]bool, len(p.terms))
		for j := range p.terms {
			f[j] = i == j || nestedIn(&p.terms[j], &p.terms[i])
		}
		if c := p.cost(i, f); c < cost {
			best, cost, family = i, c, f
		}
	}
	if best >= 0 {
		p.root = p.terms[best].Level
		p.blocks = make([]block, p.terms[best].Levels)
	}
	at := p.placeBlocks(family)
	for i := range p.terms {
		t := &p.terms[i]
		if t.nested {
			continue
		}
		t.at = make([]int, t.Levels)
		for l := range t.at {
			t.at[l] = at + l*t.q
		}
		at += t.Levels * t.q
		p.rest += t.Levels * t.q
	}
}

// placeBlocks puts the levels of the family's terms into blocks and returns the number of their effects.
func (p *Problem) placeBlocks(family []bool) int {
	for i, in := range family {
		if !in {
			continue
		}
		t := &p.terms[i]
		t.nested = true
		t.block, t.at = make([]int, t.Levels), make([]int, t.Levels) // a level without rows stays in block 0
		for r, l := range t.Level {
			t.block[l] = p.root[r]
		}
		for l, b := range t.block {
			m := &p.blocks[b]
			m.members = append(m.members, member{i, m.size})
			t.at[l] = m.size
			m.size += t.q
		}
	}
	at := 0
	for b := range p.blocks {
		p.blocks[b].at = at
		at += p.blocks[b].size
	}
	for i := range p.terms {
		for l, b := range p.terms[i].block {
			p.terms[i].at[l] += p.blocks[b].at
		}
	}
	return at
}

// nestedIn says whether every level of a lies within one level of b.
func nestedIn(a, b *term) bool {
	in := make([]int, a.Levels)
	for i, l := range a.Level {
		switch k := b.Level[i] + 1; in[l] {
		case 0:
			in[l] = k
		case k:
		default:
			return false
		}
	}
	return true
}

// cost is the rough number of operations of one evaluation with the root and its family; root -1 is no root.
func (p *Problem) cost(root int, family []bool) float64 {
	rest, inside := float64(p.p+1), 0.0
	for i := range p.terms {
		t := &p.terms[i]
		if root >= 0 && family[i] {
			inside += float64(t.Levels * t.q)
		} else {
			rest += float64(t.Levels * t.q)
		}
	}
	c := rest * rest * rest
	if root < 0 {
		return c + float64(p.effects*p.effects) // blocks are the better choice where both are small
	}
	levels := float64(max(p.terms[root].Levels, 1))
	size := inside / levels
	met := min(rest, float64(p.p+1)+float64(p.n)/levels*float64(len(p.terms)))
	return c + levels*(size*size*size+size*met*met)
}
