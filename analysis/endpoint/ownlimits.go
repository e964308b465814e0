package endpoint

import (
	"fmt"

	"lastsip/analysis/panel"
	"lastsip/analysis/survival"
)

// OwnLimit holds the replies about one own limit, in order of age, and whose it is: in sip-through a taster's limit about one
// glass, side by side a taster's limit over all glasses of the drink.
type OwnLimit struct {
	Subject string // who varies: the taster; where a single taster speaks, the batch or the pour
	Taster  string
	Replies []Reply
}

// OwnLimits gives every own limit with its replies, the input of the reply model. Where a single taster speaks the subjects
// are the batches (pours, where batches are unknown). Limits without a reply past age 0 say nothing and are left out. With
// skipEarly the rejections before a taster's first acceptance of a glass are left out and counted.
func (r *Replies) OwnLimits(skipEarly bool) (rows []OwnLimit, skipped int) {
	single := r.Single()
	for _, g := range r.Units() {
		row := OwnLimit{Subject: g.subject(single), Taster: g.Taster, Replies: g.Replies}
		if skipEarly {
			n := earlyNo(g.Replies)
			row.Replies, skipped = g.Replies[n:], skipped+n
		}
		if pastZero(row.Replies) {
			rows = append(rows, row)
		}
	}
	return rows, skipped
}

// IntervalLimits gives every own limit as the two replies that bound its interval under a reading: going on at L (absent at
// 0), not at R (absent when open). Sharp replies without slips about them have the likelihood of the interval.
func (r *Replies) IntervalLimits(reading Reading) []OwnLimit {
	var rows []OwnLimit
	single := r.Single()
	for _, g := range r.Units() {
		l := reading.Limit(g.Replies)
		if !l.Known {
			continue
		}
		row := OwnLimit{Subject: g.subject(single), Taster: g.Taster}
		about := g.Replies[0]
		if l.L > 0 {
			about.AgeMin, about.Reject = l.L, false
			row.Replies = append(row.Replies, about)
		}
		if l.R < maxAge {
			about.AgeMin, about.Reject = l.R, true
			row.Replies = append(row.Replies, about)
		}
		if len(row.Replies) > 0 {
			rows = append(rows, row)
		}
	}
	return rows
}

// maxAge lies past every age in minutes that a panel can hold.
const maxAge = 1e12

// LaterReplies counts the glasses that were rejected, and of these those with a reply at a later age.
func (r *Replies) LaterReplies() (rejected, later int) {
	for _, g := range r.Glasses {
		for i, y := range g.Replies {
			if !y.Reject {
				continue
			}
			rejected++
			if g.Replies[len(g.Replies)-1].AgeMin > g.Replies[i].AgeMin {
				later++
			}
			break
		}
	}
	return rejected, later
}

// ReplyUnits numbers the subjects of own limits in order of appearance and hands their replies on as they are.
func ReplyUnits(rows []OwnLimit) []survival.ReplyUnit {
	number := map[string]int{}
	out := make([]survival.ReplyUnit, len(rows))
	for i, row := range rows {
		id, ok := number[row.Subject]
		if !ok {
			id = len(number)
			number[row.Subject] = id
		}
		u := survival.ReplyUnit{Subject: id, Replies: make([]survival.Reply, len(row.Replies))}
		for j, y := range row.Replies {
			u.Replies[j] = survival.Reply{Age: y.AgeMin, Reject: y.Reject}
		}
		out[i] = u
	}
	return out
}

// Units are the glasses; side by side, where a single taster speaks, every reply is about a pour of its own.
func (r *Replies) Units() []Glass {
	if r.Mode != panel.SideBySide || !r.Single() {
		return r.Glasses
	}
	var out []Glass
	for _, g := range r.Glasses {
		for _, y := range g.Replies {
			out = append(out, Glass{Taster: g.Taster, Session: y.Session, Pour: y.Pour, Batch: y.Batch, Replies: []Reply{y}})
		}
	}
	return out
}

// Single tells that one taster gave all replies.
func (r *Replies) Single() bool {
	for _, g := range r.Glasses {
		if g.Taster != r.Glasses[0].Taster {
			return false
		}
	}
	return true
}

// subject names who varies; single tells that one taster gave all replies.
func (g Glass) subject(single bool) string {
	switch {
	case !single:
		return g.Taster
	case g.Batch != "":
		return fmt.Sprintf("batch %q of %q", g.Batch, g.Session)
	}
	return fmt.Sprintf("pour %q of %q", g.Pour, g.Session)
}

// earlyNo counts the rejections before the first acceptance; 0 for replies that hold none.
func earlyNo(replies []Reply) int {
	for i, y := range replies {
		if !y.Reject {
			return i
		}
	}
	return 0
}

func pastZero(replies []Reply) bool {
	for _, y := range replies {
		if y.AgeMin > 0 {
			return true
		}
	}
	return false
}
