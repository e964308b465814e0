package survival_test

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mathtest"
	"lastsip/analysis/survival"
)

func TestLogRankReference(t *testing.T) {
	eachTimed(t, "logrank.json", 6, func(t *testing.T, e timedEntry) {
		var v struct {
			Groups             []string
			N, DF              json.RawMessage
			Observed, Expected []float64
			Var                table
			ChiSq, P           float64
		}
		require.NoError(t, json.Unmarshal(e.Values, &v))
		stratum, rho := "", 0.0
		if strings.Contains(e.Call, "strata(pair)") {
			stratum = "pair"
		}
		if strings.Contains(e.Call, "rho=1") {
			rho = 1
		}
		rows, group, strata := timedGroups(t, e.Data[0], v.Groups, stratum)
		r, err := survival.LogRank{Rho: rho}.TestStratified(rows, group, strata)
		require.NoError(t, err)
		require.Empty(t, r.Warnings())
		n, err := json.Marshal(r.N())
		require.NoError(t, err)
		require.JSONEq(t, string(v.N), string(n))
		for g := range v.Groups {
			e.near(t, "observed", r.Observed()[g], v.Observed[g])
			e.near(t, "expected", r.Expected()[g], v.Expected[g])
			for h := range v.Groups {
				e.near(t, "variance", r.Variance()[g][h], float64(v.Var.X[g][h]))
			}
		}
		e.near(t, "chi-square", r.ChiSquare, v.ChiSq)
		e.near(t, "p", r.P, v.P)
		df, err := json.Marshal(r.DF)
		require.NoError(t, err)
		require.JSONEq(t, string(v.DF), string(df))
	})
}

func TestPrintedLogRank(t *testing.T) {
	rows, group, _ := timedGroups(t, "gehan", []string{"treat=6-MP", "treat=control"}, "")
	r, err := survival.LogRank{}.Test(rows, group)
	require.NoError(t, err)
	mathtest.Close(t, "chi-square", r.ChiSquare, 16.79, 0.005, "textbook treatments of Freireich et al. (1963), from memory")
}
