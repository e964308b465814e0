package panelcsv_test

import (
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/panel"
	"lastsip/analysis/panelcsv"
)

// besides is complete with one of every file that stands beside the tastes.
func besides() files {
	f := complete()
	f["pours.csv"] += "x,,sour,b,120,21:20:00\ny,,sour,c,120,21:40:00\nz,,stirred,d,120,21:30:00\n"
	f["readings.csv"] = "pour,age_min,quantity,value,unit\n1,2,temperature,-1.5,°C\n1,2,brix,14,Bx\nx,4,Foam,12,mm\nx,4,smoke,3,puffs\nx,6,mass,,g\n"
	f["choices.csv"] = "taster,trial,test,pour_a,pour_b,answer,age_a_min,age_b_min,tasted_at,position\n" +
		"ann,1,Triangle,x,y,right,,,21:42:00,1\nann,2,3 AFC,x,y,Wrong,25,5,,2\nbob,1,preference,x,z,tie,,,21:42,\nbob,2,paired,x,y,,,,,\n"
	f["rankings.csv"] = "taster,trial,pour,rank,age_min\nann,1,x,2,10\nann,1,y,1,\nann,1,z,2,\nbob,1,z,1,\nbob,1,y,2,\nbob,2,x,,\n"
	f["paces.csv"] = "style,minutes,finished,serve,volume_ml,age_at_first_sip_min,why\nsour,8,yes,coupe,120,1.5,\nsour,12,no,,,,drink\nsour,8,yes,coupe,120,1.5,\nsour,,,,,,\n"
	return f
}

func TestBeside(t *testing.T) {
	p := read(t, besides()).Panel
	at := func(file string, line int) panel.Origin { return panel.Origin{File: "eve/" + file, Line: line} }
	pour := func(id string) int {
		for i, g := range p.Pours {
			if g.ID == id {
				return i
			}
		}
		t.Fatalf("no pour %s", id)
		return -1
	}
	require.Len(t, p.Pours, 5, "three pours more than were tasted")
	require.Equal(t, []panel.Reading{
		{Session: "eve", Pour: pour("1"), Age: panel.Age(2), Quantity: "temperature", Value: -1.5, Unit: "C", Origin: at("readings.csv", 2)},
		{Session: "eve", Pour: pour("1"), Age: panel.Age(2), Quantity: "brix", Value: 14, Unit: "brix", Origin: at("readings.csv", 3)},
		{Session: "eve", Pour: pour("x"), Age: panel.Age(4), Quantity: "foam", Value: 12, Unit: "mm", Origin: at("readings.csv", 4)},
		{Session: "eve", Pour: pour("x"), Age: panel.Age(4), Quantity: "smoke", Value: 3, Unit: "puffs", Origin: at("readings.csv", 5)},
	}, p.Readings)
	x, y, z := pour("x"), pour("y"), pour("z")
	require.Equal(t, []panel.Choice{
		{Session: "eve", Taster: "ann", Trial: "1", Test: "triangle", PourA: x, PourB: y, AgeA: panel.Age(22), AgeB: panel.Age(2), Answer: "right", Position: 1, Origin: at("choices.csv", 2)},
		{Session: "eve", Taster: "ann", Trial: "2", Test: "3-afc", PourA: x, PourB: y, AgeA: panel.Age(25), AgeB: panel.Age(5), Answer: "wrong", Position: 2, Origin: at("choices.csv", 3)},
		{Session: "eve", Taster: "bob", Trial: "1", Test: "preference", PourA: x, PourB: z, AgeA: panel.Age(22), AgeB: panel.Age(12), Answer: "tie", Origin: at("choices.csv", 4)},
	}, p.Choices)
	require.Equal(t, []panel.Place{
		{Session: "eve", Taster: "ann", Trial: "1", Pour: x, Rank: 2.5, Age: panel.Age(10), HasAge: true, Origin: at("rankings.csv", 2)},
		{Session: "eve", Taster: "ann", Trial: "1", Pour: y, Rank: 1, Origin: at("rankings.csv", 3)},
		{Session: "eve", Taster: "ann", Trial: "1", Pour: z, Rank: 2.5, Origin: at("rankings.csv", 4)},
		{Session: "eve", Taster: "bob", Trial: "1", Pour: z, Rank: 1, Origin: at("rankings.csv", 5)},
		{Session: "eve", Taster: "bob", Trial: "1", Pour: y, Rank: 2, Origin: at("rankings.csv", 6)},
	}, p.Places)
	require.Equal(t, []panel.Pace{
		{Session: "eve", Style: "sour", Serve: "coupe", Minutes: 8, Finished: true, VolumeML: 120, FirstSip: panel.Age(1.5), HasFirstSip: true, Origin: at("paces.csv", 2)},
		{Session: "eve", Style: "sour", Minutes: 12, Why: panel.WhyDrink, Origin: at("paces.csv", 3)},
		{Session: "eve", Style: "sour", Serve: "coupe", Minutes: 8, Finished: true, VolumeML: 120, FirstSip: panel.Age(1.5), HasFirstSip: true, Origin: at("paces.csv", 4)},
	}, p.Paces, "two guests may drink alike")
	require.Equal(t, []panel.LeftOut{{Session: "eve", Reason: "choice without an answer", Rows: 1}, {Session: "eve", Reason: "guest's drink without minutes", Rows: 1},
		{Session: "eve", Reason: "place without a rank", Rows: 1}, {Session: "eve", Reason: "reading without a value", Rows: 1}}, p.LeftOut)
}

// Ties in a ranking are brought to the mean of their places, in whichever common way they were written.
func TestTiesInRankings(t *testing.T) {
	for _, tt := range []struct {
		written, want []string
	}{
		{[]string{"1", "2", "3", "4"}, []string{"1", "2", "3", "4"}},
		{[]string{"1", "2.5", "2.5", "4"}, []string{"1", "2.5", "2.5", "4"}},
		{[]string{"1", "2", "2", "4"}, []string{"1", "2.5", "2.5", "4"}},
		{[]string{"1", "3", "3", "4"}, []string{"1", "2.5", "2.5", "4"}},
		{[]string{"1", "2", "2", "3"}, []string{"1", "2.5", "2.5", "4"}},
		{[]string{"3", "1", "1", "1"}, nil},
		{[]string{"1", "1", "1", "1"}, []string{"2.5", "2.5", "2.5", "2.5"}},
		{[]string{"1", "2", "2", "5"}, nil},
		{[]string{"2", "3", "4", "5"}, nil},
	} {
		f := besides()
		f["pours.csv"] += "w,,stirred,d,120,21:30:00\n"
		f["rankings.csv"] = "taster,trial,pour,rank\n"
		for i, id := range []string{"x", "y", "z", "w"} {
			f["rankings.csv"] += "ann,1," + id + "," + tt.written[i] + "\n"
		}
		if tt.want == nil {
			cells := refuse(t, f)
			require.Len(t, cells, 1)
			require.Contains(t, cells[0].Error(), "4 pours have the places 1 to 4, ties share one; is a row missing?")
			continue
		}
		var got []string
		for _, p := range read(t, f).Panel.Places {
			got = append(got, strconv.FormatFloat(p.Rank, 'g', -1, 64))
		}
		require.Equal(t, tt.want, got)
	}
}

// TestBesideFindings makes one doubt at a time.
func TestBesideFindings(t *testing.T) {
	f := read(t, besides())
	require.Equal(t, []string{`eve/readings.csv, line 5, column quantity: "smoke" is kept and not analysed; it is shown as written; quantities that are known: temperature, brix, abv, foam, haze, co2, mass`},
		found(f, panelcsv.ErrNotAnalysed))
	require.Len(t, f.Findings, 1, "pours that were compared or measured are not called untasted")
	for _, tt := range []struct {
		file, old, new string
		cause          error
		want           string
	}{
		{"choices.csv", "25,5", "5,5", panelcsv.ErrSameAge, `eve/choices.csv, line 3, column pour_a: "x" is as old as the other glass; there was no difference of age to notice; is one of the ages wrong?`},
		{"paces.csv", "sour,12", "sour,200", panelcsv.ErrLong, `eve/paces.csv, line 3, column minutes: "200" is over 3 hours; is it in minutes, and of one glass?`},
		{"paces.csv", "serve", "table", panelcsv.ErrNotAnalysed, `eve/paces.csv, line 1, column table: is kept and not analysed; paces have no such column`},
	} {
		g := besides()
		g[tt.file] = strings.Replace(g[tt.file], tt.old, tt.new, 1)
		require.Contains(t, found(read(t, g), tt.cause), tt.want)
	}
	g := besides()
	g["choices.csv"] += "bob,1,preference,x,z,tie,,,21:42,\n"
	require.Equal(t, []panel.LeftOut{{Session: "eve", Reason: "choice without an answer", Rows: 1}, {Session: "eve", Reason: "exact duplicate row", Rows: 1}}, read(t, g).Panel.LeftOut[:2])
}

// TestBesideFaults makes one fault at a time; all are told at once.
func TestBesideFaults(t *testing.T) {
	for _, tt := range []struct{ file, old, new, want string }{
		{"readings.csv", "1,2,brix", "q,2,brix", `eve/readings.csv, line 3, column pour: "q" is not known; eve/pours.csv has no such pour; is it written alike? A glass that was never tasted needs a row in pours.csv with its style`},
		{"readings.csv", "-1.5,°C", "29,F", `eve/readings.csv, line 2, column unit: "F" is not known; temperature is read in C; convert the readings`},
		{"readings.csv", "14,Bx", "140,Bx", `eve/readings.csv, line 3, column value: "140" is out of range; brix in brix lies from 0 to 100`},
		{"readings.csv", "14,Bx", "NaN,Bx", `eve/readings.csv, line 3, column value: "NaN" is not a number; leave the cell empty where there is no number`},
		{"readings.csv", "14,Bx", "14,", `eve/readings.csv, line 3, column unit: is empty; brix is read in brix`},
		{"readings.csv", "1,2,brix", "1,,brix", `eve/readings.csv, line 3, column age_min: is empty; write minutes from the making of the drink to the reading, such as 4.5`},
		{"readings.csv", "1,2,brix,14,Bx", "1,2,temperature,-1,C", `eve/readings.csv, line 3, column value: "-1" contradicts another place; line 2 has another reading of the same glass, age and quantity; keep one, or give each its own age`},
		{"readings.csv", "quantity", "what", `eve/readings.csv, line 1, column quantity: column is missing; the columns are pour, age_min, what, value, unit`},
		{"choices.csv", "Triangle", "square", `eve/choices.csv, line 2, column test: "square" is not known; write one of: paired, 3-afc, triangle, duo-trio, tetrad, preference`},
		{"choices.csv", "right", "a", `eve/choices.csv, line 2, column answer: "a" is not known; a trial of triangle is answered with one of: right, wrong`},
		{"choices.csv", "tie", "right", `eve/choices.csv, line 4, column answer: "right" is not known; a trial of preference is answered with one of: a, b, tie`},
		{"choices.csv", "x,y,right", "x,x,right", `eve/choices.csv, line 2, column pour_b: "x" contradicts another place; it is pour_a too; a choice is between two glasses`},
		{"choices.csv", "25,5", "5,25", `eve/choices.csv, line 3, column pour_a: "x" is out of order; pour_a of a forced choice is the older; it is 5 min old, pour_b 25 min`},
		{"choices.csv", "right,,,21:42:00", "right,,,21:32:00", `eve/choices.csv, line 2, column tasted_at: "21:32:00" is out of order; pour_b was made at 21:40:00 (eve/pours.csv, line 5)`},
		{"choices.csv", "right,,,21:42:00", "right,30,,21:42:00", `eve/choices.csv, line 2, column age_a_min: "30" contradicts another place; tasted_at 21:42:00 less made_at 21:20:00 (eve/pours.csv, line 4) is 22 minutes; correct one of them, or leave one out`},
		{"choices.csv", "right,,,21:42:00", "right,,2,", `eve/choices.csv, line 2, column age_a_min: is empty; give the age of pour_a, or tasted_at here and made_at in pours.csv`},
		{"choices.csv", "ann,2,3", "ann,1,3", `eve/choices.csv, line 3, column trial: "1" contradicts another place; line 2 is this taster's trial of the same name but not the same row; number the trials of a taster`},
		{"choices.csv", "ann,1,T", ",1,T", `eve/choices.csv, line 2, column taster: is empty; every choice has a taster`},
		{"rankings.csv", "y,1,", "y,4,", `eve/rankings.csv, line 3, column rank: "4" contradicts another place; the places of this ranking are 2, 2, 4: 3 pours have the places 1 to 3, ties share one; is a row missing?`},
		{"rankings.csv", "ann,1,y", "ann,1,x", `eve/rankings.csv, line 3, column pour: "x" contradicts another place; line 2 gives it another place in the same ranking; keep one of them`},
		{"rankings.csv", "bob,1,y,2,\n", "", `eve/rankings.csv, line 5, column trial: "1" too few observations; a ranking has two pours or more; nothing else stands under this taster and trial`},
		{"rankings.csv", "y,1,", "y,0,", `eve/rankings.csv, line 3, column rank: "0" is out of range; write the place, 1 for the best; ties share a place`},
		{"paces.csv", "sour,12", ",12", `eve/paces.csv, line 3, column style: is empty; name the drink style`},
		{"paces.csv", "12,no", "0,no", `eve/paces.csv, line 3, column minutes: "0" is out of range; write minutes above 0, at most a day`},
		{"paces.csv", "12,no", "12,half", `eve/paces.csv, line 3, column finished: "half" is not known; write one of: yes, no, true, false, y, n, 1, 0, x`},
		{"paces.csv", "12,no", ",no", `eve/paces.csv, line 3, column minutes: is empty; write minutes from the first sip until the glass was empty or left`},
		{"paces.csv", "12,no", "12,yes", `eve/paces.csv, line 3, column why: "drink" contradicts another place; this guest finished the glass; a reason belongs to a glass that was left`},
		{"paces.csv", "coupe,120", "coupe,0", `eve/paces.csv, line 2, column volume_ml: "0" is out of range; write millilitres above 0, such as 120`},
	} {
		t.Run(tt.file+" "+tt.new, func(t *testing.T) {
			f := besides()
			spoilt := strings.Replace(f[tt.file], tt.old, tt.new, 1)
			require.NotEqual(t, spoilt, f[tt.file])
			f[tt.file] = spoilt
			cells := refuse(t, f)
			require.Len(t, cells, 1)
			require.Equal(t, tt.want, cells[0].Error())
		})
	}
	f := besides()
	f["readings.csv"] = strings.Replace(f["readings.csv"], "14,Bx", "140,Bx", 1)
	f["paces.csv"] = strings.Replace(f["paces.csv"], "12,no", "0,no", 1)
	f["tastes.csv"] = strings.Replace(f["tastes.csv"], "yes,7", "maybe,7", 1)
	require.Len(t, refuse(t, f), 3, "all at once")
}

// A reading names no taster: a pour with one glass is that glass, a pour of which every taster has a glass is one more.
func TestReadingOfAPour(t *testing.T) {
	f := files{"tastes.csv": plain + "cat,1,sour,coupe,c,2.5,yes,7\ncat,1,sour,coupe,c,6,yes,7\n", "readings.csv": "pour,age_min,quantity,value,unit\n1,2,temperature,1,C\n2,2,temperature,2,C\n"}
	p := read(t, f).Panel
	require.Len(t, p.Pours, 4)
	require.Equal(t, "bob", p.Pours[p.Readings[1].Pour].Taster)
	probe := p.Pours[p.Readings[0].Pour]
	require.Equal(t, []string{"", "sour", "coupe", ""}, []string{probe.Taster, probe.Style, probe.Serve, probe.Batch})
	f["readings.csv"] = strings.Replace(strings.Replace(f["readings.csv"], "unit\n1", "unit,taster\n1", 1), "C\n2", "C,cat\n2", 1)
	p = read(t, f).Panel
	require.Len(t, p.Pours, 3)
	require.Equal(t, "cat", p.Pours[p.Readings[0].Pour].Taster)
	f["tastes.csv"] = strings.ReplaceAll(f["tastes.csv"], "cat,1,sour", "cat,1,stirred")
	f["readings.csv"] = "pour,age_min,quantity,value,unit\n1,2,temperature,1,C\n"
	require.Contains(t, refuse(t, f)[0].Error(), `column style: "stirred" contradicts another place`)
}

// Only what was tasted needs a batch; sessions are those of any file; clock times of choices count for the evening's start.
func TestBesideAndTheRest(t *testing.T) {
	f := besides()
	f["pours.csv"] = strings.Replace(f["pours.csv"], "z,,stirred,d", "z,,stirred,", 1)
	require.Empty(t, found(read(t, f), panelcsv.ErrNoBatch))

	f["paces.csv"] = "style,minutes,finished,session\nsour,8,yes,friday\nsour,8,yes,\n"
	p := read(t, f).Panel
	require.Len(t, p.Sessions, 2)
	require.Equal(t, []string{"eve", "friday"}, []string{p.Sessions[0].Name, p.Sessions[1].Name})

	cells := refuse(t, files{"pours.csv": "pour,style,made_at\nx,sour,0:10:00\ny,sour,0:12:00\n",
		"choices.csv": "taster,trial,test,pour_a,pour_b,answer,tasted_at\nann,1,paired,x,y,right,23:55:00\n"})
	require.Equal(t, `eve/choices.csv, line 2, column tasted_at: "23:55:00" is out of order; pour_a was made at 0:10:00 (eve/pours.csv, line 2)`, cells[0].Error())
}
