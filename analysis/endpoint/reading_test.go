package endpoint

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

var inf = math.Inf(1)

// replies writes a sequence such as "y2 y4 n6": yes at 2, yes at 4, no at 6.
func replies(t *testing.T, ages []float64, words string) []Reply {
	t.Helper()
	require.Len(t, words, len(ages))
	var out []Reply
	for i, a := range ages {
		out = append(out, Reply{AgeMin: a, StepMin: a, Reject: words[i] == 'n'})
	}
	return out
}

// Worked by hand from the definitions of the readings in the package comment.
func TestReadings(t *testing.T) {
	even := []float64{0, 2, 4, 6, 8, 10}
	for _, tt := range []struct {
		name, words string
		ages        []float64
		either      [2]float64
		first       [2]float64
		last        [2]float64
		reversed    bool
		early       int
		never       bool
		known       bool
	}{
		{"clean", "yyynnn", even, [2]float64{4, 6}, [2]float64{4, 6}, [2]float64{4, 6}, false, 0, false, true},
		{"one doubt", "yynynn", even, [2]float64{2, 8}, [2]float64{2, 4}, [2]float64{6, 8}, true, 0, false, true},
		{"ends with a yes after a no", "yynyyy", even, [2]float64{2, inf}, [2]float64{2, 4}, [2]float64{10, inf}, true, 0, false, true},
		{"never rejects", "yyyyyy", even, [2]float64{10, inf}, [2]float64{10, inf}, [2]float64{10, inf}, false, 0, false, true},
		{"improves first", "nyyynn", even, [2]float64{6, 8}, [2]float64{6, 8}, [2]float64{6, 8}, false, 1, false, true},
		{"improves late and wavers", "nnynyn", even, [2]float64{4, 10}, [2]float64{4, 6}, [2]float64{8, 10}, true, 2, false, true},
		{"rejects at the first positive age", "ynnnnn", even, [2]float64{0, 2}, [2]float64{0, 2}, [2]float64{0, 2}, false, 0, false, true},
		{"never accepts", "nnnnnn", even, [2]float64{0, 2}, [2]float64{0, 2}, [2]float64{0, 2}, false, 0, true, true},
		{"only age 0, rejected", "n", []float64{0}, [2]float64{}, [2]float64{}, [2]float64{}, false, 0, true, false},
		{"only age 0, accepted", "y", []float64{0}, [2]float64{0, inf}, [2]float64{0, inf}, [2]float64{0, inf}, false, 0, false, true},
		{"first tasted late, rejected", "nn", []float64{3, 5}, [2]float64{0, 3}, [2]float64{0, 3}, [2]float64{0, 3}, false, 0, true, true},
		{"yes and no on one step", "yynyn", []float64{2, 4, 4, 6, 8}, [2]float64{2, 8}, [2]float64{2, 4}, [2]float64{6, 8}, true, 0, false, true},
		{"yes and no on the last step", "yyn", []float64{2, 4, 4}, [2]float64{2, inf}, [2]float64{2, 4}, [2]float64{4, inf}, true, 0, false, true},
		{"yes and no on the first step", "ynn", []float64{2, 2, 4}, [2]float64{0, 4}, [2]float64{0, 2}, [2]float64{2, 4}, true, 0, false, true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			rows := replies(t, tt.ages, tt.words)
			for reading, want := range map[Reading][2]float64{EitherSide: tt.either, FirstNo: tt.first, LastYes: tt.last} {
				got := reading.Limit(rows)
				require.Equal(t, tt.known, got.Known, reading)
				require.Equal(t, tt.never, got.Never, reading)
				require.Equal(t, tt.reversed, got.Reversed, reading)
				require.Equal(t, tt.early, got.Early, reading)
				if tt.known {
					require.Equal(t, want, [2]float64{got.L, got.R}, reading)
				} else {
					require.True(t, got.BeforeFirst)
				}
			}
		})
	}
}

func TestNoReplies(t *testing.T) {
	got := EitherSide.Limit(nil)
	require.False(t, got.Known)
	require.False(t, got.Never)
	require.False(t, got.BeforeFirst)
}

// The three readings nest: first no begins where either side begins, last yes ends where it ends.
func TestReadingsNest(t *testing.T) {
	ages := []float64{1, 2, 3, 5, 8, 9}
	for mask := range 1 << len(ages) {
		words := make([]byte, len(ages))
		for i := range words {
			words[i] = "yn"[mask>>i&1]
		}
		rows := replies(t, ages, string(words))
		e, f, l := EitherSide.Limit(rows), FirstNo.Limit(rows), LastYes.Limit(rows)
		require.Equal(t, e.L, f.L, string(words))
		require.Equal(t, e.R, l.R, string(words))
		require.LessOrEqual(t, f.R, e.R, string(words))
		require.GreaterOrEqual(t, l.L, e.L, string(words))
		require.Less(t, e.L, e.R, string(words))
		require.Equal(t, e.Reversed, f.R < l.R && !e.Never, string(words))
	}
}
