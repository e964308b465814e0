package answer_test

import (
	"fmt"
	"hash/fnv"

	"lastsip/analysis/simulate"
)

// recoveryWorld is one way in which panels come about.
type recoveryWorld struct {
	group string
	name  string
	model bool // the reply model is the truth
	study simulate.Study
	shake int // tasters to a shake: 0 each their own, -1 all of them
}

// recoveryCell is a world with a number of tasters.
type recoveryCell struct {
	recoveryWorld
	tasters int
}

var recoveryTasters = []int{3, 5, 8, 12, 24}

const (
	groupSip    = "Sip-through, the model true"
	groupSide   = "Side by side, the model true"
	groupBeside = "Truths outside the model"
)

func everyMinute() []float64 {
	ages := make([]float64, 16)
	for i := range ages {
		ages[i] = float64(i + 1)
	}
	return ages
}

// recoveryWorlds lists every world of the table, in its order.
func recoveryWorlds() []recoveryWorld {
	var out []recoveryWorld
	schedules := []struct {
		name string
		ages []float64
	}{{"every 2 min", nil}, {"every minute", everyMinute()}, {"1, 2, 3, 5, 8, 12, 16", []float64{1, 2, 3, 5, 8, 12, 16}}}
	flights := simulate.Study{SideBySide: true, Ages: []float64{4, 7, 11}, Glasses: 2}
	for _, side := range []bool{false, true} {
		group := groupSip
		if side {
			group = groupSide
		}
		for _, noise := range []float64{0, 0.2, 0.4} {
			for _, s := range schedules {
				out = append(out, recoveryWorld{group, fmt.Sprintf("noise %g, %s", noise, s.name), true, simulate.Study{ReplySD: noise, Ages: s.ages, SideBySide: side}, 0})
			}
			if side {
				s := flights
				s.ReplySD = noise
				out = append(out, recoveryWorld{group, fmt.Sprintf("noise %g, 4, 7, 11 in two flights", noise), true, s, 0})
			}
		}
	}
	for _, side := range []bool{false, true} {
		base, mode := simulate.Study{ReplySD: 0.2}, "sip-through, "
		if side {
			base, mode = flights, "side by side, "
			base.ReplySD = 0.2
		}
		for _, w := range outside(side) {
			s := base
			w.change(&s)
			out = append(out, recoveryWorld{groupBeside, mode + w.name, false, s, w.shake})
		}
	}
	return out
}

// departure is one way in which the truth is not the model's.
type departure struct {
	name   string
	change func(*simulate.Study)
	shake  int
}

func outside(side bool) []departure {
	weibull := func(s *simulate.Study) { s.Weibull = true }
	kinds := func(s *simulate.Study) { s.OtherShare, s.OtherRatio, s.LogSD = 0.3, 0.5, 0.25 }
	clean := func(f func(*simulate.Study)) func(*simulate.Study) {
		return func(s *simulate.Study) { f(s); s.ReplySD = 0 }
	}
	slips := func(share float64) func(*simulate.Study) { return func(s *simulate.Study) { s.Slips = share } }
	shakes := func(s *simulate.Study) { s.BatchSD = 0.2 }
	list := []departure{
		{"noise 0, Weibull limits", clean(weibull), 0},
		{"noise 0.2, Weibull limits", weibull, 0},
		{"noise 0, two kinds of tasters", clean(kinds), 0},
		{"noise 0.2, two kinds of tasters", kinds, 0},
		{"noise 0.2, 2 % of replies flipped", slips(0.02), 0},
		{"noise 0.2, 5 % of replies flipped", slips(0.05), 0},
		{"noise 0.2, shakes differ by 20 %, one each", shakes, 0},
		{"noise 0.2, shakes differ by 20 %, two tasters to a shake", shakes, 2},
		{"noise 0.2, shakes differ by 20 %, one for all", shakes, -1},
		{"noise 0.2, three in ten find it not ready before 3 min", func(s *simulate.Study) { s.YoungShare, s.YoungAge = 0.3, 3 }, 0},
	}
	if side {
		young := &list[len(list)-1]
		young.name = "noise 0.2, three in ten find it not ready before 5 min"
		young.change = func(s *simulate.Study) { s.YoungShare, s.YoungAge = 0.3, 5 }
		return list
	}
	return append(list,
		departure{"noise 0.2, tasters repeat their own no (70 %)", func(s *simulate.Study) { s.RepeatNo = 0.7 }, 0},
		departure{"noise 0.3, every minute, tasters repeat their own no (70 %)", func(s *simulate.Study) { s.RepeatNo, s.ReplySD, s.Ages = 0.7, 0.3, everyMinute() }, 0},
		departure{"noise 0.2, stopped at the first no", func(s *simulate.Study) { s.RoundsAfter = -1 }, 0},
		departure{"noise 0.4, every minute, stopped at the first no", func(s *simulate.Study) { s.RoundsAfter, s.ReplySD, s.Ages = -1, 0.4, everyMinute() }, 0},
	)
}

// of gives the study of n tasters.
func (w recoveryWorld) of(n int) recoveryCell {
	c := recoveryCell{w, n}
	c.study.Tasters = n
	switch w.shake {
	case -1:
		c.study.Batches = 1
	case 2:
		c.study.Batches = (n + 1) / 2
	}
	return c
}

// stream numbers a cell by its name, so that a new world leaves the draws of the others alone.
func (c recoveryCell) stream() uint64 {
	h := fnv.New64a()
	fmt.Fprintf(h, "%s|%s|%d", c.group, c.name, c.tasters)
	return h.Sum64()
}
