package answer

import (
	"fmt"
	"math"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/panel"
)

// coverTable reads the figures of testdata/answer/batches.md by batches and tasters: "a, b, c" as sentences print them.
func coverTable(t *testing.T) map[[2]int]string {
	t.Helper()
	text, err := os.ReadFile("../../testdata/answer/batches.md")
	require.NoError(t, err)
	cover := map[[2]int]string{}
	for _, m := range regexp.MustCompile(`(?m)^\| (\d+) \| (\d+) \| ([\d.]+) \| ([\d.]+) \| ([\d.]+) \|`).FindAllStringSubmatch(string(text), -1) {
		var whole []string
		for _, x := range m[3:] {
			whole = append(whole, fmt.Sprint(math.Floor(number(t, x)+0.5)))
		}
		cover[[2]int{int(number(t, m[1])), int(number(t, m[2]))}] = strings.Join(whole, ", ")
	}
	require.Len(t, cover, 11)
	return cover
}

// nearest gives the cell of the table that stands for so many batches and tasters: the next fewer batches, the next more tasters,
// beyond the table the nearest. Eight batches of eight tasters were not simulated: that of twelve is taken.
func nearest(batches, tasters int) [2]int {
	cell := [2]int{1, 24}
	for _, b := range []int{2, 4, 8} {
		if b <= batches {
			cell[0] = b
		}
	}
	for _, n := range []int{12, 8} {
		if tasters <= n && !(n == 8 && cell[0] == 8) {
			cell[1] = n
		}
	}
	return cell
}

// The sentence prints the figures of the table. Where every taster had an own shake, evenings stand in for shakes, if there were
// several.
func TestBatchWordsAreTheTable(t *testing.T) {
	cover := coverTable(t)
	for b := 1; b <= 30; b++ {
		for n := 3; n <= 40; n++ {
			require.Contains(t, cover, nearest(b, n))
			heading, said := batchWords(Counts{Batches: b, Tasters: n, Evenings: 1})
			require.Equal(t, "for these drinks", heading)
			require.Equal(t, "Such limits hold in 95 % of panels if every shake is alike; in about "+cover[nearest(b, n)]+" % if shakes differ by 10, 20, 30 %.", words(said), "%d batches, %d tasters", b, n)
			heading, said = batchWords(Counts{Batches: n, Tasters: n, Evenings: b + 1, OwnBatch: true})
			require.Equal(t, "for these evenings", heading)
			require.Equal(t, "Such limits hold in 95 % of panels if evenings are alike; in about "+cover[nearest(b+1, n)]+" % if evenings differ by 10, 20, 30 %.", words(said), "%d evenings, %d tasters", b+1, n)
		}
	}
}

// One pour of unknown batch makes batches unknown: that is said, and no figure for one batch is given.
func TestUnknownBatchesAreNotOne(t *testing.T) {
	for _, unknown := range []int{1, 12} {
		in := twelve()
		for i := range unknown {
			in.Panel.Pours[i].Batch = ""
		}
		life := mustLife(t, in)
		said := words(strings.Join(life.Sentences, " "))
		require.Contains(t, said, "Batches are not known: how far shakes differ cannot be seen, and the limits speak for these drinks only.")
		require.NotContains(t, said, "Such limits hold")
		require.Contains(t, strings.Join(life.CannotSay, " "), "is not noted")
		for _, r := range life.Rows {
			require.Zero(t, r.Batches)
		}
	}
	heading, said := batchWords(Counts{Batches: 12, Tasters: 12, Evenings: 1, OwnBatch: true})
	require.Equal(t, []string{"", ""}, []string{heading, said})
	require.NotContains(t, strings.Join(mustLife(t, twelve()).Sentences, " "), "not known")
}

// Below six tasters the sentence prints what the replies alone allow, [smallest L, largest R], with the level that it attains,
// 1 - 2^(1-n). The headline's limits are always 95 % ones.
func TestSentenceTellsLevelAttained(t *testing.T) {
	all := []string{"yynn", "yyynn", "ynn", "yyyynn", "yynn", "yyynn"}
	for n, level := range map[int]string{3: "75 %", 4: "87.5 %", 5: "93.75 %", 6: "95 %"} {
		life := mustLife(t, evening(all[:n]...))
		top := 8
		if n > 3 {
			top = 10
		}
		require.Contains(t, words(life.Sentences[0]), "(95 % limits ")
		require.Equal(t, n < 6, strings.Contains(words(life.Sentences[1]), fmt.Sprintf("(%s limits 2 to %d min, by the replies alone).", level, top)))
		require.Equal(t, n < 6, strings.Contains(words(strings.Join(life.Sentences, " ")), "by the replies alone"))
		for _, r := range life.Rows {
			if exact(r) && strings.HasPrefix(r.Statistic, "q50") {
				require.Equal(t, n < 6, r.Status == NotEnough)
			}
		}
	}
	all = append(all, "yyynn", "yynn")
	for n := 3; n <= 8; n++ {
		life := mustLife(t, evening(all[:n]...))
		require.Equal(t, n < 8, strings.Contains(strings.Join(life.NextEvening, " "), "From eight tasters on"), "%d", n)
		require.Equal(t, n < 8, strings.Contains(words(strings.Join(life.CannotSay, " ")), fmt.Sprintf("needs eight tasters or more; here are %d.", n)), "%d", n)
		require.Equal(t, n >= 8, strings.Contains(words(strings.Join(life.Sentences, " ")), "One in ten would leave the rest"), "%d", n)
	}
}

// Open ends are told as what they are. Five tasters: the limits are the smallest L and the largest R, level 1 - 2/32.
func TestWordsForOpenLimits(t *testing.T) {
	for _, tt := range []struct{ first, last, want string }{
		{"nn", "yyyyyy", "(93.75 % limits open at both ends, by the replies alone)"},
		{"nn", "yyyyyn", "(93.75 % limits up to 12 min, lower end open, by the replies alone)"},
		{"ynn", "yyyyyy", "(93.75 % limits from 2 min, upper end open, by the replies alone)"},
		{"ynn", "yyyyyn", "(93.75 % limits 2 to 12 min, by the replies alone)"},
	} {
		life := mustLife(t, evening(tt.first, "yynn", "yyynn", "yyynn", tt.last))
		require.Equal(t, "Without an assumed curve the half lies between 6 and 8 min "+tt.want+".", words(life.Sentences[1]))
	}
}

// A median whose upper end is open on a flat step, three at (2,4] and three beyond 8, is not beyond the last age: from 2 on it
// may lie anywhere. Four beyond 8 put it there.
func TestOpenOnAFlatStepIsNotBeyond(t *testing.T) {
	life := mustLife(t, evening("ynn", "ynn", "ynn", "yyyy", "yyyy", "yyyy"))
	require.Equal(t, []Num{Of(2), inf()}, []Num{life.Parts[0].median().From, life.Parts[0].median().To})
	require.Equal(t, OK, life.Status)
	require.Equal(t, "q50 turnbull either_side+sip_through - | - 2 inf 0.96875 | min ok 6 3 21", briefs(life.Rows, exact)[2])
	require.Contains(t, words(life.Sentences[1]), "Without an assumed curve the half lies past 2 min.")
	life = mustLife(t, evening("ynn", "ynn", "yyyy", "yyyy", "yyyy", "yyyy"))
	require.Equal(t, BeyondLastAge, life.Status)
	require.Equal(t, "q50 turnbull either_side+sip_through - | - 2 inf 0.96875 | min beyond_last_age 6 3 22", briefs(life.Rows, exact)[2])
	require.Contains(t, words(life.Sentences[0]), "later than 8 min")
	require.Contains(t, words(life.Sentences[1]), "Without an assumed curve the half lies past 8 min, when those still going on were last asked.")
}

func inf() Num { return Num{state: numOpen} }

// Five tasters are too few for an act that is called ok; six are not. From eight on it rests on one in ten, 4.68 min here.
func TestActStatus(t *testing.T) {
	for n, want := range map[int]string{1: NotEnough, 2: NotEnough, 3: NotEnough, 5: NotEnough, 6: OK, 8: OK} {
		in := evening([]string{"yynn", "yyynn", "yynn", "yyyynn", "yynn", "yyynn", "yyynn", "yynn"}[:n]...)
		act, err := NewServeBy(in, sour, mustLife(t, in), nil)
		require.NoError(t, err)
		require.Equal(t, want, act.Status, "%d tasters", n)
		require.Equal(t, []string{"act", want}, []string{act.Rows[0].Statistic, act.Rows[0].Status})
		age := Of(map[bool]float64{false: 4, true: 4.5}[n >= 8])
		require.Equal(t, []Num{age, age}, []Num{act.Act, act.Rows[0].Value})
		require.Equal(t, n >= 8, act.Basis == oneInTen)
		require.Equal(t, act.Basis, act.Rows[0].Method)
		require.Equal(t, []string{"hand_over_after", NotAsked, ""}, []string{act.Rows[1].Statistic, act.Rows[1].Status, act.Rows[1].Value.String()})
	}
}

// One taster's pours side by side, however many, do not speak before the glasses of six tasters.
func TestPoursOfOneTasterSpeakLast(t *testing.T) {
	in := evening("yynn", "yyynn", "yynn", "yyyynn", "yynn", "yyynn")
	for i, age := range []float64{3, 5, 7, 9, 11, 13} {
		in.see("a", age, i > 2)
	}
	life := mustLife(t, in)
	require.Len(t, life.Parts, 2)
	require.Equal(t, []string{"sip_through taster 6", "side_by_side pour 6"}, []string{partName(life.Parts[0]), partName(life.Parts[1])})
	require.True(t, strings.HasPrefix(life.Sentences[0], "Half of drinkers like these"))
	require.Contains(t, words(life.Sentences[len(life.Sentences)-1]), "Side by side: in half of such pours taster a would leave the rest")
	// Six tasters side by side do.
	for _, name := range []string{"b", "c", "d", "e", "f"} {
		in.see(name, 5, false)
	}
	require.Equal(t, "side_by_side taster 6", partName(mustLife(t, in).Parts[0]))
}

func partName(p LifetimePart) string { return fmt.Sprint(p.Mode, " ", p.Unit, " ", p.Units) }

// A glass given up for another reason than the drink ends there; the next glass of that taster, and the next taster's, count.
func TestAnotherReasonEndsOneGlassOnly(t *testing.T) {
	in := evening("yn..", "yyyn", "yyyn")
	in.Panel.Tastes[1].Why = panel.WhyFull
	in.Panel.Pours = append(in.Panel.Pours, panel.Pour{Session: "one", ID: "second", Taster: "a", Style: sour.Style, Serve: sour.Serve})
	for i, v := range []panel.Verdict{panel.Accept, panel.Accept, panel.Reject} {
		in.Panel.Tastes = append(in.Panel.Tastes, panel.Taste{Session: "one", Taster: "a", Pour: 3, Mode: panel.SipThrough, Age: panel.Age(float64(2 + 2*i)), Verdict: v})
	}
	life := mustLife(t, in)
	require.Equal(t, []LeftOut{{"ended for another reason than the drink (full)", 1}}, life.Counts.LeftOut)
	require.Equal(t, 12, life.Counts.RowsUsed)
	require.Equal(t, []Interval{
		{Taster: "a", Session: "one", Pour: "ga", L: Of(2), R: inf(), Counted: true},
		{Taster: "b", Session: "one", Pour: "gb", L: Of(6), R: Of(8), Counted: true},
		{Taster: "c", Session: "one", Pour: "gc", L: Of(6), R: Of(8), Counted: true},
		{Taster: "a", Session: "one", Pour: "second", L: Of(4), R: Of(6)},
	}, life.Parts[0].Intervals)
}
