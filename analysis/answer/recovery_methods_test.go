package answer_test

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/simulate"
	"lastsip/analysis/survival"
)

// Methods of the table. The headline is the reply model or, where the replies after a rejection are too few, its fallback.
const (
	headline = iota
	replyModel
	withoutEarly
	firstNo
	eitherSide
	lastYes
	exactLimits
	methods
)

var methodNames = [methods]string{"headline", "reply model", "reply model without early nos", "log-normal, first no", "log-normal, either side", "log-normal, last yes", "exact limits"}

// slipsHeld is the share of flipped replies that the headline holds fixed.
const slipsHeld = 0.02

// noted is what one panel tells by one method: ages in minutes, an end open below at 0 and above at +Inf.
type noted struct {
	done                 bool // the method was tried
	half, tenth          bounds
	act                  float64
	fallback             bool
	failed, loose, level bool // an error; not converged; every value in a range as likely
}

// bounds is an estimate with its limits. Where every value in a range is as likely the estimate is the geometric middle.
type bounds struct {
	have                 bool
	estimate, low, lower float64 // low: the lower end of the estimate
	upper                float64
}

// reach is where limits still say something: outside they count as open.
type reach struct{ least, most float64 }

var usualRatios = reach{0.01, 100}

// reach of a cell's ages: above 0, and up to four times the last age tasted, past which the answers print an upper limit as open.
func (c recoveryCell) reach() reach {
	last := 16.0
	if n := len(c.study.Ages); n > 0 {
		last = c.study.Ages[n-1]
	}
	return reach{math.SmallestNonzeroFloat64, 4 * last}
}

func (r reach) open(b bounds) bool { return b.lower < r.least || b.upper > r.most }

// tasted holds the replies of each taster in order of age.
type tasted [][]endpoint.Reply

func tastedOf(glasses []simulate.Glass, tasters int) tasted {
	out := make(tasted, tasters)
	for _, g := range glasses {
		for k, age := range g.Ages {
			out[g.Taster] = append(out[g.Taster], endpoint.Reply{AgeMin: age, Reject: g.Reject[k]})
		}
	}
	for _, r := range out {
		slices.SortStableFunc(r, func(a, b endpoint.Reply) int { return cmp.Compare(a.AgeMin, b.AgeMin) })
	}
	return out
}

// draw invents panel i of a cell and lets every method answer.
func (c recoveryCell) draw(seed uint64, i int) (out [methods]noted, crowd float64) {
	rng := rand.New(rand.NewPCG(seed, c.stream()+uint64(i)))
	said := tastedOf(c.study.Draw(rng), c.tasters)
	out[replyModel] = said.fit(survival.ReplyModel{Slips: slipsHeld}, said.units())
	for m, reading := range map[int]endpoint.Reading{firstNo: endpoint.FirstNo, eitherSide: endpoint.EitherSide, lastYes: endpoint.LastYes} {
		out[m] = said.fit(survival.ReplyModel{Sharp: true}, said.asIntervals(reading))
	}
	out[exactLimits] = said.exact()
	out[headline] = out[replyModel]
	if !c.study.SideBySide && said.early() {
		out[headline] = out[firstNo]
		out[headline].fallback = true
	}
	if c.study.YoungShare > 0 {
		out[withoutEarly] = said.fit(survival.ReplyModel{Slips: slipsHeld}, said.fromFirstYes().units())
	}
	return out, said.crowd()
}

// fit answers by a model: half, one in ten from eight tasters up, and the act.
func (s tasted) fit(model survival.ReplyModel, units []survival.ReplyUnit) (out noted) {
	out.done = true
	fit, err := model.Fit(units)
	if err != nil {
		out.failed = true
		return out
	}
	out.loose = !fit.Converged
	ask := func(p float64) bounds {
		e, err := fit.Quantile(nil, p)
		if err != nil || math.IsNaN(e.From+e.To+e.Lower+e.Upper) {
			out.failed = true
			return bounds{}
		}
		out.level = out.level || e.From < e.To
		return bounds{true, math.Sqrt(e.From) * math.Sqrt(e.To), e.From, e.Lower, e.Upper}
	}
	out.half = ask(0.5)
	if len(s) >= 8 {
		out.tenth = ask(0.1)
	}
	tell := out.tenth.have && fit.Converged && fit.Kind != survival.ReplyDivided && fit.Kind != survival.ReplySeparated
	out.act = s.act(tell, out.tenth.low)
	return out
}

// act is the one-in-ten estimate where it can be told and lies within the ages tasted, else the smallest L of any taster, rounded
// down to half a minute. (An estimate before the first age is 0 in the answers where nobody accepted that age, which
// panels of eight and more do not do here.)
func (s tasted) act(tell bool, tenth float64) float64 {
	last, least := 0.0, math.Inf(1)
	for _, replies := range s {
		last = max(last, replies[len(replies)-1].AgeMin)
	}
	if tell && tenth <= last {
		return math.Floor(2*tenth+1e-9) / 2
	}
	for _, iv := range s.intervals(endpoint.EitherSide) {
		least = min(least, iv.L)
	}
	return math.Floor(2*least) / 2
}

// exact is the limits without a family of either-side intervals.
func (s tasted) exact() (out noted) {
	out.done = true
	rows := s.intervals(endpoint.EitherSide)
	ask := func(p float64) bounds {
		lim, err := survival.ExactQuantile(rows, p, 0.95)
		if err != nil {
			out.failed = true
			return bounds{}
		}
		return bounds{estimate: math.NaN(), have: true, lower: lim.Lower, upper: lim.Upper}
	}
	out.half = ask(0.5)
	if len(s) >= 8 {
		out.tenth = ask(0.1)
	}
	out.act = s.act(false, 0)
	return out
}

// units are the replies as the model takes them: one own limit a taster.
func (s tasted) units() []survival.ReplyUnit {
	units := make([]survival.ReplyUnit, len(s))
	for i, replies := range s {
		units[i].Subject = i
		units[i].Replies = make([]survival.Reply, len(replies))
		for k, r := range replies {
			units[i].Replies[k] = survival.Reply{Age: r.AgeMin, Reject: r.Reject}
		}
	}
	return units
}

func (s tasted) intervals(reading endpoint.Reading) []survival.Interval {
	rows := make([]survival.Interval, 0, len(s))
	for _, replies := range s {
		if l := reading.Limit(replies); l.Known {
			rows = append(rows, l.Interval)
		}
	}
	return rows
}

// asIntervals says the intervals of a reading as replies without noise: none yet at L, over by R. An interval from 0 to +Inf says
// nothing and is left out.
func (s tasted) asIntervals(reading endpoint.Reading) []survival.ReplyUnit {
	var units []survival.ReplyUnit
	for i, iv := range s.intervals(reading) {
		u := survival.ReplyUnit{Subject: i}
		if iv.L > 0 {
			u.Replies = append(u.Replies, survival.Reply{Age: iv.L})
		}
		if !math.IsInf(iv.R, 1) {
			u.Replies = append(u.Replies, survival.Reply{Age: iv.R, Reject: true})
		}
		if len(u.Replies) > 0 {
			units = append(units, u)
		}
	}
	return units
}

// early says that the noise of replies cannot be told: fewer than half of those who rejected replied at a later age.
func (s tasted) early() bool {
	rejected, later := 0, 0
	for _, replies := range s {
		if no := slices.IndexFunc(replies, func(r endpoint.Reply) bool { return r.Reject }); no >= 0 {
			rejected++
			if replies[len(replies)-1].AgeMin > replies[no].AgeMin {
				later++
			}
		}
	}
	return 2*later < rejected
}

// fromFirstYes leaves out the rejections before a taster's first acceptance, where there is one.
func (s tasted) fromFirstYes() tasted {
	out := slices.Clone(s)
	for i, replies := range s {
		if yes := slices.IndexFunc(replies, func(r endpoint.Reply) bool { return !r.Reject }); yes >= 0 {
			out[i] = replies[yes:]
		}
	}
	return out
}

// crowd is the share of tasters in the commonest interval.
func (s tasted) crowd() float64 {
	count, most := map[survival.Interval]int{}, 0
	for _, iv := range s.intervals(endpoint.EitherSide) {
		count[iv]++
		most = max(most, count[iv])
	}
	return float64(most) / float64(len(s))
}
