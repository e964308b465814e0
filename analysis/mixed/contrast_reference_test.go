package mixed_test

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mathtest"
	"lastsip/analysis/mixed"
)

// comparedModels are the fits of dunnett.json, emmeans.json and mixed_equivalence.json.
var comparedModels = map[string]model{
	"ergostool":   models["lmm_ergostool"],
	"machines":    models["lmm_machines"],
	"cake":        models["lmm_cake"],
	"crossed":     models["lmm_crossed"],
	"crossed_age": {"taster drink style", mixed.Spec{Response: "score", Fixed: terms(fac("time")), Random: []mixed.Random{over("taster"), over("drink")}}},
	"cake_temperature": {"replicate recipe temperature", mixed.Spec{Response: "angle", Fixed: terms(fac("recipe"), fac("temperature")),
		Random: []mixed.Random{{Group: []string{"recipe", "replicate"}}}}},
}

// tolerated is how the file wants numbers to be compared.
type tolerated struct{ Rel, Abs float64 }

func (tol tolerated) close(t *testing.T, what string, got, want float64, source string) {
	t.Helper()
	mathtest.CloseRel(t, what, got, want, tol.Abs, tol.Rel, source)
}

// comparedEntry is one entry of these files.
type comparedEntry struct {
	ID, Call, Library, Version, Source string
	Data                               []string
	Values                             json.RawMessage
	Tolerance                          tolerated
}

func (e comparedEntry) source() string {
	return e.ID + ": " + e.Library + " " + e.Version + ", " + e.Call + "; " + e.Source
}

// compared fits the model called name to the data of the entry.
func compared(t *testing.T, name, data string) *mixed.Fit {
	m, ok := comparedModels[name]
	require.True(t, ok, name)
	return fit(t, m.spec, readTable(t, data, strings.Fields(m.labels)...))
}

func means(t *testing.T, f *mixed.Fit, by string, at ...mixed.At) []mixed.Contrast {
	out, err := f.Means([]string{by}, at...)
	require.NoError(t, err)
	return out
}

// All ages against fresh: adjusted p-values, critical value and simultaneous limits.
func TestDunnettReference(t *testing.T) {
	var entries []comparedEntry
	readJSON(t, "../multiplicity/dunnett.json", &entries)
	by := map[string]string{"crossed_age": "time", "ergostool": "Type", "cake_temperature": "temperature"}
	require.Len(t, entries, 4)
	for _, e := range entries[1:] { // the first is about critical values alone, tested in package multiplicity
		name := e.ID[len("dunnett_"):]
		var v struct {
			Contrast                      []string
			Estimate, SE, T, Lower, Upper []float64
			DF                            float64
			P                             []float64 `json:"p_unadjusted"`
			Dunnett                       []float64 `json:"p_dunnett"`
			Holm                          []float64 `json:"p_holm"`
			Critical                      float64   `json:"critical_value"`
		}
		require.NoError(t, json.Unmarshal(e.Values, &v))
		f := compared(t, name, e.Data[0])
		list := mixed.AgainstFirst(means(t, f, by[name]))
		require.Len(t, list, len(v.Contrast))
		source := e.source()
		got, err := f.Contrasts(list, mixed.ContrastOptions{DF: mixed.Satterthwaite, Adjust: mixed.MaxT})
		require.NoError(t, err)
		holm, err := f.Contrasts(list, mixed.ContrastOptions{DF: mixed.Satterthwaite, Adjust: mixed.Holm})
		require.NoError(t, err)
		require.Empty(t, got.Notes)
		require.Less(t, got.Within, 1e-9)
		tol := e.Tolerance
		tol.close(t, "critical value", got.Critical, v.Critical, source)
		for i, c := range got.List {
			mathtest.CloseRel(t, "estimate", c.Estimate, v.Estimate[i], 1e-6, 1e-5, source)
			mathtest.CloseRel(t, "standard error", c.SE, v.SE[i], 1e-6, 1e-5, source)
			tol.close(t, "df", c.DF, v.DF, source)
			tol.close(t, "t", c.T, v.T[i], source)
			tol.close(t, "p alone", c.P, v.P[i], source)
			tol.close(t, "p max-t", c.Adjusted, v.Dunnett[i], source)
			tol.close(t, "lower", c.JointLower, v.Lower[i], source)
			tol.close(t, "upper", c.JointUpper, v.Upper[i], source)
			tol.close(t, "p Holm", holm.List[i].Adjusted, v.Holm[i], source)
			require.False(t, holm.List[i].Joint)
			if v.Dunnett[i] > 1e-11 { // below that the double integral has no digits
				mathtest.CloseRel(t, "p max-t, relative", c.Adjusted, v.Dunnett[i], 0, 1e-4, source)
			}
		}
	}
}

// estimated is a table of means, slopes or contrasts, all of them called estimates.
type estimated struct {
	Contrast                             []string
	Estimate, SE, DF, Lower, Upper, T, P []float64
}

func (e *estimated) UnmarshalJSON(b []byte) error {
	var cells map[string]json.RawMessage
	if err := json.Unmarshal(b, &cells); err != nil {
		return err
	}
	for name, into := range map[string]any{"contrast": &e.Contrast, "Type": &e.Contrast, "Machine": &e.Contrast, "recipe": &e.Contrast,
		"style": &e.Contrast, "emmean": &e.Estimate, "time.trend": &e.Estimate, "estimate": &e.Estimate, "SE": &e.SE, "df": &e.DF,
		"lower.CL": &e.Lower, "upper.CL": &e.Upper, "t.ratio": &e.T, "p.value": &e.P} {
		if cell, ok := cells[name]; ok {
			if err := json.Unmarshal(cell, into); err != nil {
				return err
			}
		}
	}
	return nil
}

func TestMeansReference(t *testing.T) {
	var entries []comparedEntry
	readJSON(t, "emmeans.json", &entries)
	require.Len(t, entries, 10)
	type question struct {
		model, by string
		adjust    mixed.Adjustment
		df        mixed.DF
		at        []mixed.At
		slope     string
	}
	questions := map[string]question{
		"emm_ergostool_none":       {model: "ergostool", by: "Type"},
		"emm_ergostool_tukey":      {model: "ergostool", by: "Type", adjust: mixed.Tukey},
		"emm_ergostool_holm":       {model: "ergostool", by: "Type", adjust: mixed.Holm},
		"emm_ergostool_bonferroni": {model: "ergostool", by: "Type", adjust: mixed.Bonferroni},
		"emm_ergostool_sidak":      {model: "ergostool", by: "Type", adjust: mixed.Sidak},
		"emm_machines_tukey":       {model: "machines", by: "Machine", adjust: mixed.Tukey},
		"emm_machines_kr":          {model: "machines", by: "Machine", adjust: mixed.Tukey, df: mixed.KenwardRoger},
		"emm_cake_recipe":          {model: "cake", by: "recipe", adjust: mixed.Tukey},
		"emm_crossed_style_at20":   {model: "crossed", by: "style", adjust: mixed.Holm, at: []mixed.At{{Name: "time", Values: []float64{20}}}},
		"emtrends_crossed":         {model: "crossed", by: "style", adjust: mixed.Tukey, slope: "time"},
	}
	for _, e := range entries {
		t.Run(e.ID, func(t *testing.T) {
			q, ok := questions[e.ID]
			require.True(t, ok)
			if q.df == mixed.Default {
				q.df = mixed.Satterthwaite
			}
			var v struct{ Means, Trends, Contrasts estimated }
			require.NoError(t, json.Unmarshal(e.Values, &v))
			f := compared(t, q.model, e.Data[0])
			points, want := []mixed.Contrast(nil), v.Means
			var err error
			if q.slope != "" {
				want = v.Trends
				points, err = f.Slopes(q.slope, []string{q.by}, q.at...)
			} else {
				points, err = f.Means([]string{q.by}, q.at...)
			}
			require.NoError(t, err)
			alone, err := f.Contrasts(points, mixed.ContrastOptions{DF: q.df})
			require.NoError(t, err)
			compareEstimates(t, e, alone, want, false)
			pairs, err := f.Contrasts(mixed.AllPairs(points), mixed.ContrastOptions{DF: q.df, Adjust: q.adjust})
			require.NoError(t, err)
			if q.adjust == mixed.Holm { // limits printed there beside Holm's p-values are Bonferroni's
				bonferroni, err := f.Contrasts(mixed.AllPairs(points), mixed.ContrastOptions{DF: q.df, Adjust: mixed.Bonferroni})
				require.NoError(t, err)
				for i := range pairs.List {
					require.False(t, pairs.List[i].Joint)
					pairs.List[i].JointLower, pairs.List[i].JointUpper = bonferroni.List[i].JointLower, bonferroni.List[i].JointUpper
				}
			}
			compareEstimates(t, e, pairs, v.Contrasts, q.adjust != mixed.None)
		})
	}
}

// compareEstimates holds a family beside a table of the reference; a family that is adjusted is compared by its
// simultaneous limits.
func compareEstimates(t *testing.T, e comparedEntry, got *mixed.Comparisons, want estimated, adjusted bool) {
	t.Helper()
	require.Len(t, got.List, len(want.Estimate))
	source := e.source()
	for i, c := range got.List {
		tol, lower, upper := e.Tolerance, c.Lower, c.Upper
		if adjusted {
			lower, upper = c.JointLower, c.JointUpper
		}
		require.Equal(t, want.Contrast[i], c.Name)
		tol.close(t, "estimate", c.Estimate, want.Estimate[i], source)
		tol.close(t, "standard error", c.SE, want.SE[i], source)
		tol.close(t, "df", c.DF, want.DF[i], source)
		tol.close(t, "lower", lower, want.Lower[i], source)
		tol.close(t, "upper", upper, want.Upper[i], source)
		if want.P != nil {
			tol.close(t, "t", c.T, want.T[i], source)
			tol.close(t, "p", c.Adjusted, want.P[i], source)
		}
	}
}
