package panelcsv_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
	"lastsip/analysis/panelcsv"
)

// coded is an evening side by side where the glasses bear codes.
func coded() files {
	return files{
		"tastes.csv":   "taster,pour,mode,age_min,verdict\nann,412,side_by_side,,yes\nann,907,side_by_side,,no\nbob,733,side_by_side,2.5,yes\nbob,old,side_by_side,,no\n",
		"key.csv":      "code,pour,style,serve,batch,planned_age_min\n412,fresh,sour,coupe,a,2\n907,old,sour,coupe,b,12\n733,fresh,,,,\n",
		"readings.csv": "pour,age_min,quantity,value,unit\n412,2,temperature,-1,C\n",
		"choices.csv":  "taster,trial,test,pour_a,pour_b,answer\nann,1,paired,907,412,right\n",
		"rankings.csv": "taster,trial,pour,rank\nbob,1,412,1\nbob,1,907,2\n",
		"plan.json":    `{"code_key": "key.csv"}`,
	}
}

func TestCodeKey(t *testing.T) {
	f := coded()
	f["tastes.csv"] = strings.Replace(f["tastes.csv"], "bob,old,side_by_side,", "bob,old,side_by_side,13", 1)
	got := read(t, f)
	p := got.Panel
	require.False(t, p.Blind)
	require.Len(t, p.Pours, 2, "two codes of one pour are one pour")
	require.Equal(t, []string{"fresh", "sour", "coupe", "a"}, []string{p.Pours[0].ID, p.Pours[0].Style, p.Pours[0].Serve, p.Pours[0].Batch})
	require.Equal(t, panel.Origin{File: "eve/key.csv", Line: 2}, p.Pours[0].Origin)
	var ages []float64
	for _, s := range p.Tastes {
		ages = append(ages, panel.Minutes(s.Age))
	}
	require.Equal(t, []float64{2, 12, 2.5, 13}, ages)
	require.Equal(t, panel.AgePlanned, p.Tastes[0].AgeFrom)
	require.Equal(t, []float64{12, 2}, []float64{panel.Minutes(p.Choices[0].AgeA), panel.Minutes(p.Choices[0].AgeB)})
	require.Equal(t, []int{1, 0}, []int{p.Choices[0].PourA, p.Choices[0].PourB})
	require.Equal(t, 0, p.Readings[0].Pour)
	require.Equal(t, 1, p.Places[1].Pour)
	require.ElementsMatch(t, []string{`eve/choices.csv, line 2, column pour_a: "907" has no time, the planned age stands in; so for 2 glasses of 1 choices`,
		`eve/tastes.csv, line 2, column pour: "412" has no time, the planned age stands in; so in 2 of 4 tastes`}, found(got, panelcsv.ErrPlannedAge))
	require.Empty(t, found(got, panelcsv.ErrNotTasted), "codes in any file are used")
	f["key.csv"] += "500,spare,sour,,,\nold2,old2,sour,,,\n" // a code may be its own pour's name
	require.Contains(t, found(read(t, f), panelcsv.ErrNotTasted), `eve/key.csv, line 5, column code: "500" was never tasted; no row of the other files has this code; is it written alike?`)
}

func TestCodeKeyFaults(t *testing.T) {
	for _, tt := range []struct{ file, old, new, want string }{
		{"key.csv", "907,old", "412,old", `eve/key.csv, line 3, column code: "412" contradicts another place; line 2 gives the same code to another glass; a code stands for one`},
		{"key.csv", "907,old", "fresh,old", `eve/key.csv, line 3, column code: "fresh" contradicts another place; line 4 has a pour of this name; a code is no pour's name`},
		{"key.csv", "907,old", "907,", `eve/key.csv, line 3, column pour: is empty; give every code and its pour`},
		{"key.csv", "a,2", "a,soon", `eve/key.csv, line 2, column planned_age_min: "soon" is not a number; write a number such as 4.5`},
		{"key.csv", "733,fresh,", "733,fresh,stirred", `eve/key.csv, line 4, column style: "stirred" contradicts another place; eve/key.csv, line 2 says "sour" about the same pour; write one of them in both places`},
		{"key.csv", "code,pour", "code,glass", `eve/key.csv, line 1, column pour: column is missing; the columns are code, glass, style, serve, batch, planned_age_min`},
		{"tastes.csv", "bob,733", "bob,377", `eve/tastes.csv, line 4, column style: is empty; name the drink style of every pour, here or in eve/pours.csv; eve/key.csv has no such code`},
		{"readings.csv", "412", "214", `eve/readings.csv, line 2, column pour: "214" is not known; tastes.csv has no such pour in this session, eve/key.csv no such code; is it written alike? A glass that was never tasted needs a row in pours.csv with its style`},
		{"plan.json", "{", "[", "eve/plan.json, line 1: cannot be read; it is not JSON: invalid character ':' after array element"},
		{"plan.json", `{"code_key": "key.csv"}`, "[]", `eve/plan.json, line 1: "[...]" cannot be read; the plan is one object: {"code_key": "key.csv"}`},
	} {
		f := coded()
		f["tastes.csv"] = strings.Replace(f["tastes.csv"], "bob,old,side_by_side,", "bob,old,side_by_side,13", 1)
		spoilt := strings.Replace(f[tt.file], tt.old, tt.new, 1)
		require.NotEqual(t, spoilt, f[tt.file])
		f[tt.file] = spoilt
		require.Equal(t, tt.want, refuse(t, f)[0].Error(), tt.new)
	}
}

// Without the key a planned evening stays blind: what is known by code only is left out and counted, and no fault.
func TestBlind(t *testing.T) {
	f := coded()
	delete(f, "key.csv")
	got := read(t, f)
	p := got.Panel
	require.True(t, p.Blind)
	require.Empty(t, p.Tastes)
	require.Empty(t, p.Pours)
	require.Equal(t, []panel.LeftOut{{Session: "eve", Reason: "known by code only, no code key", Rows: 8}}, p.LeftOut)
	require.Contains(t, got.Notes[0], "the plan has a code key, key.csv, which is not in the folder")

	f["pours.csv"] = "pour,style\nold,sour\n733,sour\n"
	f["tastes.csv"] = strings.Replace(f["tastes.csv"], "bob,old,side_by_side,", "bob,old,side_by_side,13", 1)
	f["rankings.csv"] = "taster,trial,pour,rank\nbob,1,412,1\nbob,1,733,2\nbob,2,old,1\nbob,2,733,2\n"
	p = read(t, f).Panel
	require.True(t, p.Blind)
	require.Len(t, p.Tastes, 2, "what has a style is used")
	require.Len(t, p.Places, 2, "a ranking is used whole or not at all")
	require.Equal(t, "old", p.Pours[p.Places[0].Pour].ID)
	require.Equal(t, []panel.LeftOut{{Session: "eve", Reason: "known by code only, no code key", Rows: 6}}, p.LeftOut)

	delete(f, "plan.json")
	require.Error(t, func() error { _, err := panelcsv.Read(f.fs(), "eve"); return err }(), "without a plan a glass without a style is a fault")
}

// rounds is an evening in which the host wrote down when each round was called.
func rounds() files {
	return files{
		"pours.csv":  "pour,taster,style,batch,made_at\n1,ann,sour,a,21:30:00\n2,bob,sour,a,21:30:30\n",
		"tastes.csv": "taster,pour,round,tasted_at,planned_age_min,verdict\nann,1,1,,2,yes\nann,1,02,,4,yes\nann,1,3,,6,no\nbob,2,1,21:33:00,2,yes\nbob,2,2,,4,no\n",
		"rounds.csv": "round,called_at\n1,21:32:00\n2,21:34:10\n3,\n",
	}
}

func TestRounds(t *testing.T) {
	f := rounds()
	p := read(t, f).Panel
	var ages []float64
	for _, s := range p.Tastes {
		ages = append(ages, s.Age.Seconds())
	}
	require.Equal(t, []float64{120, 250, 360, 150, 220}, ages, "a time of the row wins; a round without a time falls back to the plan")
	require.Equal(t, []panel.AgeSource{panel.AgeClock, panel.AgeClock, panel.AgePlanned, panel.AgeClock, panel.AgeClock},
		[]panel.AgeSource{p.Tastes[0].AgeFrom, p.Tastes[1].AgeFrom, p.Tastes[2].AgeFrom, p.Tastes[3].AgeFrom, p.Tastes[4].AgeFrom})
	f["tastes.csv"] = "taster,pour,round,verdict\nann,1,1,yes\nann,1,2,no\n"
	f["rounds.csv"] = "round,called_at\n1,23:59:00\n2,0:01:00\n"
	f["pours.csv"] = "pour,style,made_at\n1,sour,23:58:00\n"
	p = read(t, f).Panel
	require.Equal(t, panel.Age(3), p.Tastes[1].Age, "over midnight, and no column of times is needed")
	f["rounds.csv"] = "session,round,called_at\neve,1,23:59:00\neve,2,0:01:00\nother,2,0:30:00\n,4,0:40:00\n"
	got := read(t, f)
	require.Equal(t, panel.Age(3), got.Panel.Tastes[1].Age, "rounds of another session are others")
	require.Len(t, found(got, panelcsv.ErrNotTasted), 2)
}

// A stated age wins; the call of a round is when it was meant to be tasted, so it contradicts nothing.
func TestRoundBesideAnAge(t *testing.T) {
	f := rounds()
	f["tastes.csv"] = "taster,pour,round,age_min,verdict\nann,1,1,3.5,yes\nann,1,2,,no\n"
	p := read(t, f).Panel
	require.Equal(t, []float64{210, 250}, []float64{p.Tastes[0].Age.Seconds(), p.Tastes[1].Age.Seconds()})
}

func TestRoundFaults(t *testing.T) {
	for _, tt := range []struct{ file, old, new, want string }{
		{"rounds.csv", "2,21:34:10", "2,21.34", `eve/rounds.csv, line 3, column called_at: "21.34" is not a time; write a time of day such as 21:04:30 or 21:04`},
		{"rounds.csv", "2,21:34:10", "1,21:34:10", `eve/rounds.csv, line 3, column round: "1" contradicts another place; line 2 calls the same round at another time; keep one of them`},
		{"rounds.csv", "2,21:34:10", ",21:34:10", `eve/rounds.csv, line 3, column round: is empty; number the rounds as tastes.csv does`},
		{"rounds.csv", "called_at", "at", `eve/rounds.csv, line 1, column called_at: column is missing; the columns are round, at`},
		{"rounds.csv", "1,21:32:00", "1,21:12:00", `eve/tastes.csv, line 2, column round: "1" is out of order; the drink was made at 21:30:00 (eve/pours.csv, line 2), after this round was called`},
		{"tastes.csv", "ann,1,3", "ann,1,9", `eve/tastes.csv, line 4, column round: "9" is not known; eve/rounds.csv calls no such round; is it written alike?`},
		{"tastes.csv", "ann,1,3,,6", "ann,1,3,,", `eve/tastes.csv, line 4, column round: "3" is empty; no time of this round stands in eve/rounds.csv; give called_at there, or the time or age here`},
	} {
		f := rounds()
		spoilt := strings.Replace(f[tt.file], tt.old, tt.new, 1)
		require.NotEqual(t, spoilt, f[tt.file])
		f[tt.file] = spoilt
		var got []string
		for _, c := range refuse(t, f) {
			got = append(got, c.Error())
		}
		require.Contains(t, got, tt.want, tt.new)
	}
	cells := refuse(t, files{"tastes.csv": "taster,pour,style,round,verdict\nann,1,sour,1,yes\n"})
	require.ErrorIs(t, cells[0], dataerr.ErrNoColumn)
	require.Contains(t, cells[0].Error(), "there is no rounds.csv that can be read")
}

// A session of another kind has no tastes: guests' paces, comparisons.
func TestSessionWithoutTastes(t *testing.T) {
	p := read(t, files{"paces.csv": "style,minutes,finished\nsour,8,yes\n"}).Panel
	require.Len(t, p.Paces, 1)
	require.Equal(t, "eve", p.Sessions[0].Name)
	p = read(t, files{"pours.csv": "pour,style\nx,sour\ny,sour\n", "choices.csv": "taster,trial,test,pour_a,pour_b,answer,age_a_min,age_b_min\nann,1,paired,x,y,right,9,1\n"}).Panel
	require.Len(t, p.Choices, 1)
	require.Contains(t, refuse(t, files{"pours.csv": "pour,style\nx,sour\n"})[0].Error(), "eve/tastes.csv: file is missing")
}
