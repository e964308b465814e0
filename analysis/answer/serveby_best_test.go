package answer

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// best makes a window by hand: at its best from and until, at least until (empty: not shown).
func best(from, to float64, least Num) *PrimeWindow {
	w := &PrimeWindow{Limit: Of(7), Curve: []CurvePoint{{AgeMin: 1}, {AgeMin: 16}},
		Main: Window{Status: OK, Limit: 7, From: Of(from), To: Of(to), FromLower: Of(0), FromUpper: Of(from), ToLower: least, ToUpper: Of(to + 2), AtLeastUntil: least}}
	w.Status = OK
	return w
}

// The twelve clean tasters' one in ten is 4.259 min (testdata/answer/replies.csv), the smallest L 2 min.
func TestActIsTheEarlierOfTwo(t *testing.T) {
	drop := best(1, 9, Of(8))
	drop.Drop, drop.DropStated = Of(1.5), true
	drop.Variants = []Variant{{Variant: "one_point", Window: Window{Status: OK, AtLeastUntil: Of(3)}}}
	unsettled := best(1, 9, Of(1))
	unsettled.Status = NotConverged
	unasked := best(1, 9, Of(1))
	unasked.Status, unasked.Main.Status = NotAsked, NotAsked
	for name, tt := range map[string]struct {
		in     Input
		window *PrimeWindow
		act    float64
		basis  string
		says   string
	}{
		"scores first":           {twelve(), best(1, 5, Of(3.34)), 3, atItsBest, "an average taster would score it 7 or better at least until 3.3 min, rounded down"},
		"scores, exactly a half": {twelve(), best(1, 5, Of(3.5)), 3.5, atItsBest, "at least until 3.5 min"},
		"replies first":          {twelve(), best(1, 9, Of(6.2)), 4, oneInTen, "The scores hold out longer: at its best at least until 6.2 min."},
		"scores show nothing":    {twelve(), best(1, 9, Num{}), 4, oneInTen, "Until when it is at its best is not shown by this panel"},
		"not asked":              {twelve(), unasked, 4, oneInTen, ""},
		"no window":              {twelve(), nil, 4, oneInTen, ""},
		"fit did not settle":     {twelve(), unsettled, 4, oneInTen, ""},
		"too few for one in ten": {evening("yynn", "yyynn", "yyyynn"), best(1, 9, Of(6.2)), 6, atItsBest, "By 6 minutes taster a had left it."},
		"neither":                {evening("yynn", "yyynn", "yyyynn"), best(1, 9, Num{}), 4, leastOfAllLs, "the last age"},
		"drop stated beforehand": {twelve(), drop, 3, atItsBest, "less than 1.5 points below fresh at least until 3 min"},
		"not even half a minute": {twelve(), best(1, 9, Of(0.4)), 0, atItsBest, "Have it drunk at once"},
	} {
		t.Run(name, func(t *testing.T) {
			act, err := NewServeBy(tt.in, sour, mustLife(t, tt.in), tt.window)
			require.NoError(t, err)
			require.Equal(t, tt.basis, act.Basis)
			require.Equal(t, Of(tt.act), act.Act)
			require.True(t, act.HandOverAfter.Empty())
			if tt.says != "" {
				require.Contains(t, words(joinLines(act.Sentences)), tt.says)
			}
			require.Equal(t, tt.basis, act.Rows[0].Method)
			require.Equal(t, Of(tt.act), act.Rows[0].Value)
		})
	}
}

func joinLines(s []string) string {
	out := ""
	for _, x := range s {
		out += x + " "
	}
	return out
}

// A drink that improves first is handed over where its window begins, up to the next half minute; not where that lies past the act.
func TestHandOver(t *testing.T) {
	in := twelve()
	act, err := NewServeBy(in, sour, mustLife(t, in), best(2.1, 9, Of(3.6)))
	require.NoError(t, err)
	require.Equal(t, Of(2.5), act.HandOverAfter)
	require.Equal(t, "Hand it over 2½ minutes after the making, and have it drunk by 3½ minutes.", words(act.Sentences[0]))
	require.Equal(t, []any{Of(2.5), OK}, []any{act.Rows[1].Value, act.Rows[1].Status})

	sure := best(1.2, 9, Of(3.6)) // begins at 1.2, surely from 2.2
	sure.Curve[0].AgeMin, sure.Main.FromUpper = 0, Of(2.2)
	act, err = NewServeBy(in, sour, mustLife(t, in), sure)
	require.NoError(t, err)
	require.Equal(t, Of(2.5), act.HandOverAfter)
	sure.Main.FromUpper = Of(4) // past the act: the estimate
	act, err = NewServeBy(in, sour, mustLife(t, in), sure)
	require.NoError(t, err)
	require.Equal(t, Of(1.5), act.HandOverAfter)

	act, err = NewServeBy(in, sour, mustLife(t, in), best(5.2, 9, Of(8)))
	require.NoError(t, err)
	require.Equal(t, Of(4), act.Act)
	require.True(t, act.HandOverAfter.Empty())
	require.Contains(t, words(joinLines(act.Sentences)), "only from 5.2 min on, which is past the act")
	require.Equal(t, NotAsked, act.Rows[1].Status)
}
