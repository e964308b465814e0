package endpoint

import (
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/panel"
	"lastsip/analysis/survival"
)

// seen writes an own limit's replies as "2y 4n".
func seen(rows []OwnLimit) [][]survival.Reply {
	var out [][]survival.Reply
	for _, u := range ReplyUnits(rows) {
		out = append(out, u.Replies)
	}
	return out
}

func TestOwnLimits(t *testing.T) {
	rows := []panel.Taste{
		taste("a", 0, 0, panel.Reject), taste("a", 0, 2, panel.Accept), taste("a", 0, 4, panel.Reject),
		taste("a", 1, 3, panel.Accept),
		taste("b", 0, 0, panel.Accept), // fresh only: says nothing about ageing
		taste("c", 0, 2, panel.Reject), taste("c", 0, 4, panel.Reject),
	}
	r, err := RepliesOf(small(panel.SipThrough, rows...), sour, panel.SipThrough)
	require.NoError(t, err)
	all, skipped := r.OwnLimits(false)
	require.Zero(t, skipped)
	require.Equal(t, [][]survival.Reply{
		{{Age: 0, Reject: true}, {Age: 2}, {Age: 4, Reject: true}},
		{{Age: 3}},
		{{Age: 2, Reject: true}, {Age: 4, Reject: true}},
	}, seen(all))
	units := ReplyUnits(all)
	require.Equal(t, []int{0, 0, 1}, []int{units[0].Subject, units[1].Subject, units[2].Subject}, "two glasses of a, one of c")

	late, skipped := r.OwnLimits(true)
	require.Equal(t, 1, skipped, "a's no at 0; who never accepts keeps every no")
	require.Equal(t, []survival.Reply{{Age: 2}, {Age: 4, Reject: true}}, seen(late)[0])
	require.Len(t, late[2].Replies, 2)

	bounds := r.IntervalLimits(FirstNo)
	require.Equal(t, [][]survival.Reply{{{Age: 2}, {Age: 4, Reject: true}}, {{Age: 3}}, {{Age: 2, Reject: true}}}, seen(bounds))
}

// Side by side a taster's replies about all glasses are about one own limit; a single taster's pours each have their own.
func TestOwnLimitsSideBySide(t *testing.T) {
	rows := []panel.Taste{taste("a", 0, 2, panel.Accept), taste("a", 1, 6, panel.Reject)}
	r, err := RepliesOf(small(panel.SideBySide, append(rows, taste("b", 0, 2, panel.Reject))...), sour, panel.SideBySide)
	require.NoError(t, err)
	all, _ := r.OwnLimits(false)
	require.Len(t, all, 2)
	require.False(t, r.Single())

	r, err = RepliesOf(small(panel.SideBySide, rows...), sour, panel.SideBySide)
	require.NoError(t, err)
	all, _ = r.OwnLimits(false)
	require.True(t, r.Single())
	require.Len(t, all, 2)
	require.NotEqual(t, all[0].Subject, all[1].Subject)
	require.Equal(t, "a", all[1].Taster)
}

// A single taster's pours of one batch hang together.
func TestSubjectsOfOneTaster(t *testing.T) {
	p := small(panel.SipThrough, taste("a", 0, 2, panel.Accept), taste("a", 1, 4, panel.Accept))
	p.Pours[0].Batch, p.Pours[1].Batch = "x", "x"
	r, err := RepliesOf(p, sour, panel.SipThrough)
	require.NoError(t, err)
	all, _ := r.OwnLimits(false)
	require.Equal(t, all[0].Subject, all[1].Subject)
}

func TestLaterReplies(t *testing.T) {
	rows := []panel.Taste{
		taste("a", 0, 2, panel.Accept), taste("a", 0, 4, panel.Reject), // stopped at the first no
		taste("b", 0, 4, panel.Reject), taste("b", 0, 6, panel.Reject),
		taste("c", 0, 4, panel.Reject), taste("c", 0, 4, panel.Accept), // the same age is no later one
		taste("d", 0, 4, panel.Accept),
	}
	r, err := RepliesOf(small(panel.SipThrough, rows...), sour, panel.SipThrough)
	require.NoError(t, err)
	rejected, later := r.LaterReplies()
	require.Equal(t, [2]int{3, 1}, [2]int{rejected, later})
}
