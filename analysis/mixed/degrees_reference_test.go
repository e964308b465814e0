package mixed

import (
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mathtest"
)

// rows reads a data file of testdata/mixed; the columns named hold numbers, the others labels.
func rows(t testing.TB, name string, numbers ...string) *Table {
	t.Helper()
	file, err := os.Open(filepath.Join("../../testdata/mixed", name+".csv"))
	require.NoError(t, err)
	defer file.Close()
	records, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	var columns []Column
	for j, head := range records[0] {
		var words []string
		var values []float64
		for _, r := range records[1:] {
			words = append(words, r[j])
			if slices.Contains(numbers, head) {
				v, err := strconv.ParseFloat(r[j], 64)
				require.NoError(t, err)
				values = append(values, v)
			}
		}
		if values != nil {
			columns = append(columns, Numbers(head, values))
		} else {
			columns = append(columns, Labels(head, words))
		}
	}
	table, err := NewTable(columns...)
	require.NoError(t, err)
	return table
}

// printed is a matrix of a reference file.
type printed struct {
	Rows, Cols []string
	X          [][]float64
}

// reference reads an entry's values into v and gives its source.
func reference(t testing.TB, file, id string, v any) (source string) {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join("../../testdata/mixed", file+".json"))
	require.NoError(t, err)
	var entries []struct {
		ID, Source, Call string
		Values           json.RawMessage
	}
	require.NoError(t, json.Unmarshal(raw, &entries))
	for _, e := range entries {
		if e.ID == id {
			require.NoError(t, json.Unmarshal(e.Values, v))
			return e.Source + "; " + e.Call
		}
	}
	t.Fatalf("no entry %s in %s", id, file)
	return ""
}

func num(name string) Term                   { return Numeric{Name: name} }
func fac(name string) Term                   { return Factor{Name: name} }
func times(a, b Term) Term                   { return Interaction{Of: []Term{a, b}} }
func over(slopes []Term, g ...string) Random { return Random{Group: g, Slopes: slopes} }

// The models of the reference, by REML.
func model(t testing.TB, name string) *Fit {
	t.Helper()
	var table *Table
	var s Spec
	switch name {
	case "sleepstudy_corr", "sleepstudy_missing":
		data := "sleepstudy"
		if name == "sleepstudy_missing" {
			data = name
		}
		table = rows(t, data, "Reaction", "Days")
		s = Spec{Response: "Reaction", Fixed: []Term{num("Days")}, Random: []Random{over([]Term{num("Days")}, "Subject")}}
	case "sleepstudy_intercept":
		table = rows(t, "sleepstudy", "Reaction", "Days")
		s = Spec{Response: "Reaction", Fixed: []Term{num("Days")}, Random: []Random{over(nil, "Subject")}}
	case "cake":
		table = rows(t, "cake", "angle", "temp")
		s = Spec{Response: "angle", Fixed: []Term{fac("recipe"), fac("temperature"), times(fac("recipe"), fac("temperature"))}, Random: []Random{over(nil, "recipe", "replicate")}}
	case "machines":
		table = rows(t, "machines", "score")
		s = Spec{Response: "score", Fixed: []Term{fac("Machine")}, Random: []Random{over(nil, "Worker"), over(nil, "Worker", "Machine")}}
	case "ergostool":
		table = rows(t, "ergostool", "effort")
		s = Spec{Response: "effort", Fixed: []Term{fac("Type")}, Random: []Random{over(nil, "Subject")}}
	case "orthodont":
		table = rows(t, "orthodont", "distance", "age")
		s = Spec{Response: "distance", Fixed: []Term{num("age"), fac("Sex"), times(num("age"), fac("Sex"))}, Random: []Random{over([]Term{num("age")}, "Subject")}}
	case "crossed":
		table = rows(t, "sim_crossed", "score", "time")
		s = Spec{Response: "score", Fixed: []Term{fac("style"), num("time"), times(fac("style"), num("time"))}, Random: []Random{over([]Term{num("time")}, "taster"), over(nil, "drink")}}
	case "pastes":
		table = rows(t, "pastes", "strength")
		s = Spec{Response: "strength", Random: []Random{over(nil, "sample"), over(nil, "batch")}}
	case "penicillin":
		table = rows(t, "penicillin", "diameter")
		s = Spec{Response: "diameter", Random: []Random{over(nil, "plate"), over(nil, "sample")}}
	case "dyestuff", "dyestuff2":
		table = rows(t, name, "Yield")
		s = Spec{Response: "Yield", Random: []Random{over(nil, "Batch")}}
	default:
		t.Fatalf("no model %s", name)
	}
	fit, err := s.Fit(table)
	require.NoError(t, err)
	return fit
}

// compareCoef holds a table of fixed effects against a printed one, columns estimate, standard error, df, t, p.
func compareCoef(t *testing.T, got []Coefficient, want printed, source string) {
	t.Helper()
	require.Len(t, got, len(want.Rows))
	for i, row := range want.X {
		c := got[i]
		for j, v := range []float64{c.Estimate, c.SE, c.DF, c.T} {
			rel := 1e-4
			if want.Cols[j] == "df" {
				rel = 1e-3 // theirs come from numerical derivatives
			}
			mathtest.CloseRel(t, want.Rows[i]+" "+want.Cols[j], v, row[j], 1e-5, rel, source)
		}
		if row[4] > 1e-12 { // below, the printed ones have lost digits; a t off by 1e-5 moves such a p by more than 1e-4
			mathtest.CloseRel(t, want.Rows[i]+" p", c.P, row[4], 1e-9, 2e-3, source)
		}
	}
}

func TestKenwardRogerReference(t *testing.T) {
	for _, name := range []string{"sleepstudy_corr", "sleepstudy_missing", "ergostool", "machines", "crossed", "pastes"} {
		t.Run(name, func(t *testing.T) {
			var want struct {
				KenwardRoger  printed `json:"kenward_roger"`
				Satterthwaite printed `json:"satterthwaite"`
				Vcov          printed `json:"vcov"`
				Adjusted      printed `json:"vcov_adjusted"`
			}
			source := reference(t, "lmm_kr", "kr_"+name, &want)
			fit := model(t, name)
			got, err := fit.Coef(KenwardRoger)
			require.NoError(t, err)
			compareCoef(t, got, want.KenwardRoger, source)
			got, err = fit.Coef(Satterthwaite)
			require.NoError(t, err)
			compareCoef(t, got, want.Satterthwaite, source)
			d, err := fit.Degrees(Default)
			require.NoError(t, err)
			require.Equal(t, KenwardRoger, d.Method())
			for i, row := range want.Adjusted.X {
				for j, v := range row {
					mathtest.CloseRel(t, "adjusted covariance", d.Covariance().At(i, j), v, 1e-5, 1e-4, source)
				}
			}
		})
	}
}

func TestTestsReference(t *testing.T) {
	for _, name := range []string{"sleepstudy_corr", "sleepstudy_intercept", "cake", "machines", "ergostool", "orthodont", "crossed", "missing"} {
		t.Run(name, func(t *testing.T) {
			var want struct {
				Coef   printed
				Anova3 printed
				Roger  printed `json:"anova3_kenward_roger"`
			}
			source := reference(t, "lmm_tests", "satt_"+name, &want)
			if name == "missing" {
				name = "sleepstudy_missing"
			}
			fit := model(t, name)
			got, err := fit.Coef(Satterthwaite)
			require.NoError(t, err)
			compareCoef(t, got, want.Coef, source)
			compareTests(t, fit, Satterthwaite, want.Anova3, source)
			compareTests(t, fit, KenwardRoger, want.Roger, source)
		})
	}
}

// compareTests: the columns are sum and mean of squares, both degrees of freedom, F, p.
func compareTests(t *testing.T, fit *Fit, df DF, want printed, source string) {
	t.Helper()
	got, err := fit.Tests(df)
	require.NoError(t, err)
	require.Len(t, got, len(want.Rows))
	for i, row := range want.X {
		one := got[i]
		require.Empty(t, one.Why)
		require.Equal(t, row[2], one.Num, source)
		mathtest.CloseRel(t, want.Rows[i]+" denominator", one.Den, row[3], 1e-5, 1e-3, source)
		mathtest.CloseRel(t, want.Rows[i]+" F", one.F, row[4], 1e-5, 1e-4, source)
		if row[5] > 1e-12 {
			mathtest.CloseRel(t, want.Rows[i]+" p", one.P, row[5], 1e-9, 2e-3, source)
		}
	}
}
