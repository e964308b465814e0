package endpoint

import (
	"fmt"
	"math"

	"lastsip/analysis/survival"
)

// Reading is a rule that makes one interval of wavering replies.
type Reading string

// Readings; the words are those of the descriptor and of results.csv.
const (
	EitherSide Reading = "either_side"
	FirstNo    Reading = "first_no"
	LastYes    Reading = "last_yes"
)

// Readings lists all of them, the default first.
var Readings = []Reading{EitherSide, FirstNo, LastYes}

// Limit is what one glass or one taster tells about the age beyond which they would leave the rest.
type Limit struct {
	survival.Interval      // minutes; meaningless unless Known
	Known             bool // false: only age 0 was tasted and rejected, or there was no reply
	BeforeFirst       bool // only age 0 was tasted, and rejected
	Never             bool // never accepted
	Reversed          bool // accepted again after a rejection
	Early             int  // rejections before the first acceptance; 0 for those who never accepted
}

// look is all replies at one age.
type look struct {
	age        float64
	acc, rej   bool
	rejections int
}

// Limit reads replies in order of age. It panics on an unknown reading, which panel settings rule out.
func (r Reading) Limit(replies []Reply) Limit {
	looks := looksOf(replies)
	first := 0
	for first < len(looks) && !looks[first].acc {
		first++
	}
	if first == len(looks) {
		return neverAccepted(looks)
	}
	var out Limit
	for _, l := range looks[:first] {
		out.Early += l.rejections
	}
	no, yes := -1, first // first look with a rejection, last look with an acceptance
	for i := first; i < len(looks); i++ {
		if looks[i].rej && no < 0 {
			no = i
		}
		if looks[i].acc {
			yes = i
		}
	}
	out.Known = true
	out.R = math.Inf(1)
	if no < 0 {
		out.L = looks[yes].age
		return out
	}
	out.Reversed = yes >= no
	before := 0.0 // last acceptance before the first rejection
	if no > first {
		before = looks[no-1].age
	}
	after := math.Inf(1) // first rejection after the last acceptance
	if yes+1 < len(looks) {
		after = looks[yes+1].age
	}
	switch r {
	case EitherSide:
		out.L, out.R = before, after
	case FirstNo:
		out.L, out.R = before, looks[no].age
	case LastYes:
		out.L, out.R = looks[yes].age, after
	default:
		panic(fmt.Sprintf("endpoint: reading %q", string(r)))
	}
	return out
}

// neverAccepted reads looks that hold no acceptance.
func neverAccepted(looks []look) Limit {
	for _, l := range looks {
		if l.age > 0 {
			return Limit{Interval: survival.Interval{L: 0, R: l.age}, Known: true, Never: true}
		}
	}
	return Limit{Never: len(looks) > 0, BeforeFirst: len(looks) > 0}
}

func looksOf(replies []Reply) []look {
	looks := make([]look, 0, len(replies))
	for _, r := range replies {
		if n := len(looks); n == 0 || looks[n-1].age != r.AgeMin {
			looks = append(looks, look{age: r.AgeMin})
		}
		l := &looks[len(looks)-1]
		if r.Reject {
			l.rej = true
			l.rejections++
		} else {
			l.acc = true
		}
	}
	return looks
}
