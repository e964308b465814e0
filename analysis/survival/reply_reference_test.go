package survival_test

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mathtest"
	"lastsip/analysis/survival"
)

// asReplies says an interval as replies: acceptance at L, rejection at R.
func asReplies(o survival.Interval) (out []survival.Reply) {
	if o.L > 0 {
		out = append(out, survival.Reply{Age: o.L})
	}
	if !math.IsInf(o.R, 1) {
		out = append(out, survival.Reply{Age: o.R, Reject: true})
	}
	return out
}

// Without slips and noise the model is the log-normal model on intervals.
func TestReplySharpMeetsSurvreg(t *testing.T) {
	const source = "survreg(dist = lognormal), survival 3.5.3, reply_survreg.R"
	rows := readCSV(t, "reply_survreg.csv")
	for _, want := range readCSV(t, "reply_survreg_fit.csv") {
		t.Run("set "+want["set"], func(t *testing.T) {
			var units []survival.ReplyUnit
			for i, row := range rows {
				if row["set"] != want["set"] {
					continue
				}
				u := survival.ReplyUnit{Subject: i, Replies: asReplies(survival.Interval{L: parse(t, row["left"]), R: parse(t, row["right"])})}
				if want["x"] != "NA" {
					u.X = []float64{parse(t, row["x"])}
				}
				units = append(units, u)
			}
			f, err := survival.ReplyModel{Sharp: true}.Fit(units)
			require.NoError(t, err)
			require.True(t, f.Converged)
			mathtest.Close(t, "log-likelihood", f.LogLik, parse(t, want["loglik"]), 1e-7, source)
			if want["set"] == "1" { // four limits in one cell, one in the next: the scale cannot be told
				require.Equal(t, survival.ReplyPlateau, f.Kind)
				return
			}
			require.Equal(t, survival.ReplyInterior, f.Kind)
			mathtest.CloseRel(t, "intercept", f.Coef[0], parse(t, want["intercept"]), 0, 1e-6, source)
			mathtest.CloseRel(t, "scale", f.Sigma, parse(t, want["scale"]), 0, 1e-5, source)
			require.Zero(t, f.Tau)
			if want["x"] != "NA" {
				mathtest.CloseRel(t, "x", f.Coef[1], parse(t, want["x"]), 0, 2e-6, source)
			}
		})
	}
}

type tasterEntry struct {
	ID, Call, Source string
	Values           struct {
		Coef       map[string]float64
		Sigma, Tau float64
		LogLik     float64
		Quantiles  []struct {
			P        float64
			X        []float64
			Quantile float64
		}
		Implied map[string]float64
	}
}

// Log-normal lifetimes with a random taster: each row is a limit of its own about the taster's.
func TestReplyMeetsRandomTaster(t *testing.T) {
	var entries []tasterEntry
	readJSON(t, "aft_taster.json", &entries)
	require.Len(t, entries, 3)
	for _, e := range entries {
		if e.ID == "status_probit" {
			continue // the same model as status_rows, to fewer digits
		}
		t.Run(e.ID, func(t *testing.T) {
			source := e.Call + "; " + e.Source
			units, names := tasterUnits(t, e.ID)
			f, err := survival.ReplyModel{Sharp: true}.Fit(units)
			require.NoError(t, err)
			require.True(t, f.Converged && f.Apart && f.Kind == survival.ReplyInterior)
			require.GreaterOrEqual(t, f.LogLik, e.Values.LogLik-1e-6, source)
			mathtest.Close(t, "log-likelihood", f.LogLik, e.Values.LogLik, 1e-6, source)
			for j, name := range names {
				mathtest.CloseRel(t, name, f.Coef[j], e.Values.Coef[name], 1e-6, 1e-5, source)
			}
			mathtest.CloseRel(t, "sd of rows", f.UnitSD, e.Values.Sigma, 1e-6, 1e-5, source)
			mathtest.CloseRel(t, "sd of tasters", f.SubjectSD, e.Values.Tau, 0, 1e-3, source)
			k := math.Sqrt(float64(f.Subjects) / float64(f.Subjects-1))
			for _, q := range e.Values.Quantiles {
				got, err := f.Quantile(q.X[1:], q.P)
				require.NoError(t, err)
				median, err := f.Quantile(q.X[1:], 0.5)
				require.NoError(t, err)
				plain := math.Exp(math.Log(median.From) + math.Log(got.From/median.From)/k) // the reference does not widen sigma
				mathtest.CloseRel(t, "quantile", plain, q.Quantile, 1e-6, 1e-5, source)
				require.True(t, got.Lower < got.From && got.From < got.Upper)
			}
		})
	}
}

// tasterUnits gives one unit a row, covariates by treatment contrasts against the first level.
func tasterUnits(t *testing.T, id string) (units []survival.ReplyUnit, names []string) {
	file, levels := "sim_panel_ic.csv", []string{"fizzy", "shaken", "stirred"}
	if id == "status_rows" {
		file, levels = "sim_status.csv", []string{"stirred"}
	}
	names = []string{"(Intercept)"}
	for _, l := range levels {
		names = append(names, "style"+l)
	}
	for _, row := range readCSV(t, file) {
		taster, err := strconv.Atoi(row["taster"])
		require.NoError(t, err)
		u := survival.ReplyUnit{Subject: taster, X: make([]float64, len(levels))}
		for j, l := range levels {
			if row["style"] == l {
				u.X[j] = 1
			}
		}
		if id == "status_rows" {
			u.Replies = []survival.Reply{{Age: parse(t, row["age"]), Reject: row["reject"] == "1"}}
		} else {
			u.Replies = asReplies(survival.Interval{L: parse(t, row["left"]), R: parse(t, row["right"])})
		}
		units = append(units, u)
	}
	return units, names
}

// The probit mixed model of glmer is the reply model without slips and without a part of the limit that belongs to the glass;
// with that part free the likelihood cannot be worse.
func TestReplyMeetsProbit(t *testing.T) {
	var entries []tasterEntry
	readJSON(t, "aft_taster.json", &entries)
	e := entries[2]
	require.Equal(t, "status_probit", e.ID)
	rows, _ := tasterUnits(t, "status_rows")
	var units []survival.ReplyUnit
	for _, r := range rows { // one unit per taster and style
		k := -1
		for i, u := range units {
			if u.Subject == r.Subject && u.X[0] == r.X[0] {
				k = i
			}
		}
		if k < 0 {
			units = append(units, r)
			continue
		}
		units[k].Replies = append(units[k].Replies, r.Replies...)
	}
	f, err := survival.ReplyModel{}.Fit(units)
	require.NoError(t, err)
	require.True(t, f.Converged)
	require.GreaterOrEqual(t, f.LogLik, e.Values.LogLik-1e-6, e.Call)
	require.Equal(t, 28, f.Units)
	if f.UnitSD == 0 {
		mathtest.Close(t, "log-likelihood", f.LogLik, e.Values.LogLik, 1e-6, e.Call)
		mathtest.CloseRel(t, "intercept", f.Coef[0], e.Values.Implied["intercept"], 1e-4, 1e-3, e.Call)
		mathtest.CloseRel(t, "noise of replies", f.Tau, e.Values.Implied["sigma"], 1e-4, 1e-3, e.Call)
		mathtest.CloseRel(t, "sd of tasters", f.SubjectSD, e.Values.Implied["tau"], 1e-4, 1e-3, e.Call)
	}
	t.Log(f.Coef, f.SubjectSD, f.UnitSD, f.Tau, f.LogLik)
}
