package panelcsv_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
	"lastsip/analysis/panelcsv"
)

// ages gives the ages of the tastes in minutes.
func ages(p *panel.Panel) []float64 {
	var out []float64
	for _, t := range p.Tastes {
		out = append(out, panel.Minutes(t.Age))
	}
	return out
}

// clocks writes rows of made_at and tasted_at, one glass each.
func clocks(pairs ...string) string {
	var b strings.Builder
	b.WriteString("taster,pour,style,made_at,tasted_at,verdict\n")
	for i, p := range pairs {
		made, tasted, _ := strings.Cut(p, " ")
		fmt.Fprintf(&b, "ann,%d,sour,%s,%s,yes\n", i+1, made, tasted)
	}
	return b.String()
}

// Hand-worked from the rules: minutes between two times of day of one evening.
func TestClock(t *testing.T) {
	for _, tt := range []struct {
		name, start string
		pairs       []string
		ages        []float64
		made        []string
	}{
		{"before midnight", "", []string{"21:30:00 21:34:30"}, []float64{4.5}, []string{"21h30m0s"}},
		{"over midnight", "", []string{"23:50:00 23:58:00", "23:58:00 0:04:00", "0:02:00 00:10:30"}, []float64{8, 6, 8.5}, []string{"23h50m0s", "23h58m0s", "24h2m0s"}},
		{"over midnight, start given", "21:30", []string{"23:50:00 00:10:00", "00:20:00 00:30:00"}, []float64{20, 10}, []string{"23h50m0s", "24h20m0s"}},
		{"start after midnight", "00:30", []string{"00:30:00 00:40:00", "01:10:00 01:12:00"}, []float64{10, 2}, []string{"30m0s", "1h10m0s"}},
		{"made before a start after midnight", "00:05", []string{"23:55:00 00:10:00"}, []float64{15}, []string{"23h55m0s"}},
		{"a gap of exactly 12 h is no night between", "", []string{"09:00:00 09:05:00", "21:05:00 21:06:00"}, []float64{5, 1}, []string{"9h0m0s", "21h5m0s"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			f := files{"tastes.csv": clocks(tt.pairs...)}
			if tt.start != "" {
				f["datapackage.json"] = tasting(`"start": "` + tt.start + `"`)
			}
			p := read(t, f).Panel
			require.Equal(t, tt.ages, ages(p))
			for i, m := range tt.made {
				want, err := time.ParseDuration(m)
				require.NoError(t, err)
				require.True(t, p.Pours[i].HasMade)
				require.Equal(t, want, p.Pours[i].Made, "pour %d", i)
				require.Equal(t, panel.AgeClock, p.Tastes[i].AgeFrom)
			}
		})
	}
}

func TestClockRefuses(t *testing.T) {
	for _, s := range []string{"9pm", "21.30", "2130", "24:00", "21:60", "21:30:60", "21:3", "-1:30", "21:30:00:00", "2031-03-04 21:30", "1e1:30", ":30", "２１:30"} {
		cells := refuse(t, files{"tastes.csv": clocks("21:30:00 " + s)})
		require.NotEmpty(t, cells, s)
		require.ErrorIs(t, cells[0], dataerr.ErrTime, s)
		require.Equal(t, "tasted_at", cells[0].Column)
	}
	cells := refuse(t, files{"tastes.csv": clocks("21:30:00 21:29:59")})
	require.EqualError(t, cells[0], `eve/tastes.csv, line 2, column tasted_at: "21:29:59" is out of order; the drink was made at 21:30:00 (eve/tastes.csv, line 2)`)
	// 11 h 59 min before its making is a slip, not the next day; with a start the clock decides and nothing is guessed.
	cells = refuse(t, files{"tastes.csv": clocks("21:30:00 09:31:00"), "datapackage.json": tasting(`"start": "21:00"`)})
	require.ErrorIs(t, cells[0], dataerr.ErrOrder)
}

func TestMadeComesFromPours(t *testing.T) {
	p := read(t, files{
		"pours.csv": "pour,taster,style,batch,made_at,volume_ml\n1,ann,sour,a,21:30:00,120\n1,bob,sour,b,21:32:00,110\n2,,stirred,c,21:40:00,90\n",
		"tastes.csv": "taster,pour,tasted_at,verdict\nann,1,21:34:00,yes\nann,1,21:36:00,no\nbob,1,21:34:00,yes\nbob,1,21:36:00,no\n" +
			"ann,2,21:41:00,yes\nann,2,21:43:00,no\nbob,2,21:42:00,yes\nbob,2,21:44:00,no\n",
	}).Panel
	require.Equal(t, []float64{4, 6, 2, 4, 1, 3, 2, 4}, ages(p))
	require.Len(t, p.Pours, 4, "sip-through: a glass for every taster and pour")
	require.Equal(t, panel.Pour{Session: "eve", ID: "1", Taster: "bob", Style: "sour", Batch: "b", VolumeML: 110, Made: 21*time.Hour + 32*time.Minute, HasMade: true,
		Origin: panel.Origin{File: "eve/pours.csv", Line: 3}}, p.Pours[1])
	require.Equal(t, "bob", p.Pours[3].Taster)
	require.Equal(t, 90.0, p.Pours[3].VolumeML)
}

func TestSideBySideSharesThePour(t *testing.T) {
	const tastes = "taster,pour,age_min,verdict\nann,1,4,yes\nann,2,8,no\nbob,1,4.2,yes\nbob,2,8.2,no\n"
	f := read(t, files{"pours.csv": "pour,style,batch\n1,sour,a\n2,sour,b\n", "tastes.csv": tastes})
	require.Len(t, f.Panel.Pours, 2)
	require.Empty(t, f.Panel.Pours[0].Taster)
	require.Equal(t, f.Panel.Tastes[0].Pour, f.Panel.Tastes[2].Pour)
	require.Equal(t, panel.SideBySide, f.Panel.Tastes[0].Mode)
	require.Contains(t, f.Notes, "No mode is given: 2 tasters are taken as side by side, as no pour is tasted twice.")

	own := read(t, files{"pours.csv": "pour,taster,style,batch\n1,ann,sour,a\n1,bob,sour,c\n2,,sour,b\n", "tastes.csv": tastes}).Panel
	require.Len(t, own.Pours, 3, "pours.csv gives both their own glass of pour 1")
	require.Equal(t, "c", own.Pours[own.Tastes[2].Pour].Batch)
}

func TestModes(t *testing.T) {
	f := read(t, files{"tastes.csv": "taster,pour,style,session,age_min,verdict\nann,1,sour,one,2,yes\nann,1,sour,one,4,no\nann,2,sour,two,2,yes\nann,3,sour,two,6,no\nbob,4,sour,one,2,yes\n"})
	modes := []panel.Mode{}
	for _, s := range f.Panel.Tastes {
		modes = append(modes, s.Mode)
	}
	require.Equal(t, []panel.Mode{panel.SipThrough, panel.SipThrough, panel.SideBySide, panel.SideBySide, panel.SideBySide}, modes, "per session and taster")
	require.Equal(t, []string{"No mode is given: one taster is taken as sip-through, as a pour is tasted more than once.",
		"No mode is given: 2 tasters are taken as side by side, as no pour is tasted twice."}, f.Notes)
	require.Equal(t, []panel.Session{{Name: "one", Dir: "eve"}, {Name: "two", Dir: "eve"}}, f.Panel.Sessions)

	given := read(t, files{"tastes.csv": "taster,pour,style,mode,age_min,verdict\nann,1,sour,side_by_side,2,yes\nann,1,sour,side_by_side,4,no\nbob,2,sour,sip_through,2,yes\n"})
	require.Equal(t, panel.SideBySide, given.Panel.Tastes[0].Mode)
	require.Equal(t, panel.SipThrough, given.Panel.Tastes[2].Mode)
	require.Empty(t, given.Notes)
}

// The same row twice is no second taste, so it does not make a sip-through of a side by side evening.
func TestDuplicateRowIsNoSecondTaste(t *testing.T) {
	f := read(t, files{"tastes.csv": "taster,pour,style,age_min,verdict\nann,1,sour,2,yes\nann,1,sour,2,yes\n"})
	require.Len(t, f.Panel.Tastes, 1)
	require.Equal(t, panel.SideBySide, f.Panel.Tastes[0].Mode)
	require.Equal(t, []panel.LeftOut{{Session: "eve", Reason: "exact duplicate row", Rows: 1}}, f.Panel.LeftOut)
	require.Equal(t, []string{`eve/tastes.csv, line 3, column taster: "ann" stands twice; line 2 is the same row; it is used once`}, found(f, dataerr.ErrDuplicate))
}

func TestAgeSources(t *testing.T) {
	const header = "taster,pour,style,age_min,planned_age_min,made_at,tasted_at,verdict\n"
	p := read(t, files{"tastes.csv": header + "ann,1,sour,2.5,2,21:30:00,21:32:30,yes\nann,1,sour,4.4,4,21:30:00,21:34:54,yes\nann,1,sour,,6,21:30:00,21:36:06,yes\nann,1,sour,,8,21:30:00,,no\n"}).Panel
	require.Equal(t, []float64{2.5, 4.4, 6.1, 8}, ages(p))
	var from []panel.AgeSource
	for _, s := range p.Tastes {
		from = append(from, s.AgeFrom)
		require.True(t, s.HasPlanned)
	}
	require.Equal(t, []panel.AgeSource{panel.AgeStated, panel.AgeStated, panel.AgeClock, panel.AgePlanned}, from)
	require.Equal(t, panel.Age(4), p.Tastes[1].Planned)

	// Half a minute apart agrees, more does not; a time without seconds may itself be half a minute off.
	cells := refuse(t, files{"tastes.csv": header + "ann,1,sour,4.4,4,21:30:00,21:34:55,yes\n"})
	require.ErrorIs(t, cells[0], dataerr.ErrConflict)
	require.Equal(t, "age_min", cells[0].Column)
	read(t, files{"tastes.csv": header + "ann,1,sour,4.4,4,21:30,21:35,yes\n"})
	cells = refuse(t, files{"tastes.csv": header + "ann,1,sour,4.4,4,21:30,21:36,yes\n"})
	require.ErrorIs(t, cells[0], dataerr.ErrConflict)
	// Nothing at all.
	cells = refuse(t, files{"tastes.csv": header + "ann,1,sour,,,21:30,,yes\n"})
	require.EqualError(t, cells[0], "eve/tastes.csv, line 2, column age_min: is empty; write minutes since the drink was finished, such as 4.5")
	cells = refuse(t, files{"tastes.csv": clocks("21:30:00 ")})
	require.Equal(t, "tasted_at", cells[0].Column)
}

func TestSessionColumn(t *testing.T) {
	f := files{
		"pours.csv":  "pour,style\n1,sour\n",
		"tastes.csv": "taster,pour,session,age_min,verdict\nann,1,monday,2,yes\nann,1,monday,4,no\nann,1,,2,yes\nann,1,,4,no\n",
	}
	p := read(t, f).Panel
	require.Len(t, p.Pours, 2, "without a session column a row of pours.csv holds for every session")
	require.Equal(t, []string{"monday", "eve"}, []string{p.Sessions[0].Name, p.Sessions[1].Name})
	f["pours.csv"] = "pour,style,session\n1,sour,monday\n1,stirred,\n"
	p = read(t, f).Panel
	require.Equal(t, "sour", p.Pours[0].Style)
	require.Equal(t, "stirred", p.Pours[1].Style)
	require.Equal(t, "eve", p.Pours[1].Session)
}

func TestContradictions(t *testing.T) {
	for _, column := range []string{"style", "serve", "batch"} {
		row := map[string]string{"style": "sour", "serve": "coupe", "batch": "a"}
		line := func() string { return row["style"] + "," + row["serve"] + "," + row["batch"] }
		same := line()
		row[column] = "other"
		f := files{"tastes.csv": "taster,pour,style,serve,batch,age_min,verdict\nann,1," + same + ",2,yes\nann,1," + line() + ",4,no\n"}
		cells := refuse(t, f)
		require.Len(t, cells, 1)
		require.Equal(t, dataerr.Cell{File: "eve/tastes.csv", Row: 3, Column: column, Value: "other", Err: dataerr.ErrConflict, Want: cells[0].Want}, *cells[0])
		require.Contains(t, cells[0].Want, "eve/tastes.csv, line 2 says")

		f = files{"pours.csv": "pour,style,serve,batch\n1," + same + "\n", "tastes.csv": "taster,pour,style,serve,batch,age_min,verdict\nann,1," + line() + ",2,yes\nann,1," + line() + ",4,no\n"}
		cells = refuse(t, f)
		require.Len(t, cells, 1, "told once, not for every taste")
		require.Contains(t, cells[0].Want, "eve/pours.csv, line 2 says")

		f = files{"pours.csv": "pour,taster,style,serve,batch\n1,," + same + "\n1,ann," + line() + "\n", "tastes.csv": "taster,pour,age_min,verdict\nann,1,2,yes\nann,1,4,no\n"}
		cells = refuse(t, f)
		require.Len(t, cells, 1)
		require.Contains(t, cells[0].Want, "eve/pours.csv, line 3 says")
	}
	cells := refuse(t, files{"tastes.csv": clocks("21:30:00 21:34:00") + "ann,1,sour,21:31:00,21:36:00,no\n"})
	require.Equal(t, "made_at", cells[0].Column)
	p := read(t, files{"tastes.csv": clocks("21:30 21:34:00") + "ann,1,sour,21:30:20,21:36:00,no\n"}).Panel
	require.Equal(t, 21*time.Hour+30*time.Minute+20*time.Second, p.Pours[0].Made, "the time with seconds says more")

	// Tasters side by side share the pour; where that was only assumed, the message says what else it may be.
	cells = refuse(t, files{"tastes.csv": "taster,pour,style,batch,age_min,verdict\nann,1,sour,a,2,yes\nbob,1,sour,b,2,yes\n"})
	require.Contains(t, cells[0].Want, "give a mode column with sip_through")
}

func TestUnusedRows(t *testing.T) {
	f := read(t, files{"tastes.csv": "taster,pour,style,planned_age_min,age_min,verdict,liking,why,note\nann,1,sour,2,2,yes,7,,\nann,1,sour,4,,,,,\nann,1,sour,6,,,,full,went home\n" +
		"bob,2,sour,2,2,yes,6,,\nbob,2,sour,4,4,,,,\n"})
	require.Len(t, f.Panel.Tastes, 3)
	require.Equal(t, panel.WhyFull, f.Panel.Tastes[1].Why)
	require.Equal(t, []panel.LeftOut{{Session: "eve", Reason: "row without score, verdict or why", Rows: 2}}, f.Panel.LeftOut)
	require.Equal(t, panel.SipThrough, f.Panel.Tastes[2].Mode, "the sheet shows that bob was to taste again")
}

// A sheet that is not filled in yet is no fault; the row that shows how is never read.
func TestNothingTastedYet(t *testing.T) {
	f := read(t, files{"pours.csv": "pour,style\n1,sour\n", "tastes.csv": "taster,pour,planned_age_min,tasted_at,verdict\nExample,1,2,25 o'clock,perhaps\nann,1,2,,\nann,1,4,,\n"})
	require.Empty(t, f.Panel.Tastes)
	require.Empty(t, f.Panel.Pours)
	require.Equal(t, []string{"eve/tastes.csv: nothing was tasted yet; 2 rows wait for a score, a verdict or a why"}, found(f, panelcsv.ErrNothingYet))
	require.Empty(t, found(f, panelcsv.ErrNotTasted), "no wall of doubts about every glass")
	require.Equal(t, []panel.LeftOut{{Session: "eve", Reason: "example row of the sheet", Rows: 1}, {Session: "eve", Reason: "row without score, verdict or why", Rows: 2}}, f.Panel.LeftOut)
	require.Equal(t, "eve", f.Panel.Sessions[0].Name)
}
