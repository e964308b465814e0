package survival_test

import (
	"encoding/json"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/survival"
)

// myeloma reads mgus2.csv: cause 1 progression, 2 death; group 0 F, 1 M.
func myeloma(t *testing.T) (rows []survival.Caused, group []int) {
	t.Helper()
	for _, row := range readCSV(t, "mgus2.csv") {
		rows = append(rows, survival.Caused{Time: parse(t, row["etime"]), Cause: int(parse(t, row["event"]))})
		g := 0
		if row["sex"] == "M" {
			g = 1
		}
		group = append(group, g)
	}
	require.Len(t, rows, 1384)
	return rows, group
}

func TestIncidenceReference(t *testing.T) {
	eachTimed(t, "cumulative_incidence.json", 2, func(t *testing.T, e timedEntry) {
		var v struct {
			Times   []float64
			Survfit map[string]struct{ PState, SE table }
			Est     table `json:"cuminc_est"`
			Var     table `json:"cuminc_var"`
			Gray    table `json:"gray_test"`
		}
		require.NoError(t, json.Unmarshal(e.Values, &v))
		rows, group := myeloma(t)
		require.NotEmpty(t, v.Survfit)
		for name, curves := range v.Survfit {
			var part []survival.Caused
			for i, r := range rows {
				if name == "all" || name == [2]string{"F", "M"}[group[i]] {
					part = append(part, r)
				}
			}
			f, err := survival.CumulativeIncidence{}.Fit(part)
			require.NoError(t, err)
			require.Equal(t, []int{1, 2}, f.Causes())
			for k, at := range v.Times {
				row := curves.PState.Rows[k]
				free, known := f.EventFree().At(at)
				require.True(t, known)
				e.near(t, "event-free", free.Value, curves.PState.at(t, row, "(s0)"))
				e.near(t, "its error, Greenwood's", free.SE, curves.SE.at(t, row, "(s0)"))
				for _, cause := range f.Causes() {
					c, err := f.Cause(cause)
					require.NoError(t, err)
					s, known := c.At(at)
					require.True(t, known)
					col, other := fmt.Sprint("cause", cause), fmt.Sprintf("%s %d", name, cause)
					e.near(t, "incidence", s.Value, curves.PState.at(t, row, col))
					e.near(t, "jackknife error", s.SE, curves.SE.at(t, row, col))
					e.near(t, "incidence, other library", s.Value, v.Est.at(t, other, fmt.Sprint(at)))
					e.near(t, "Aalen's variance", s.AalenSE*s.AalenSE, v.Var.at(t, other, fmt.Sprint(at)))
				}
			}
		}
		if len(v.Survfit) == 1 {
			return
		}
		for _, cause := range []int{1, 2} {
			r, err := survival.GrayTest{}.Test(rows, cause, group)
			require.NoError(t, err)
			e.near(t, "Gray's statistic", r.ChiSquare, v.Gray.at(t, fmt.Sprint(cause), "stat"))
			e.near(t, "p", r.P, v.Gray.at(t, fmt.Sprint(cause), "pv"))
			e.near(t, "degrees of freedom", float64(r.DF), v.Gray.at(t, fmt.Sprint(cause), "df"))
		}
	})
}

// Small sets with many ties. Where F is 0 the libraries give limits or none, by scale; we never do.
func TestIncidenceOfInventedSets(t *testing.T) {
	for _, s := range inventedSets(t) {
		f, err := survival.CumulativeIncidence{}.Fit(s.caused)
		require.NoError(t, err)
		for _, cause := range []int{1, 2} {
			c, err := f.Cause(cause)
			require.NoError(t, err)
			at := func(t *testing.T, what string, of func(survival.IncidenceStep) float64) {
				t.Helper()
				s.each(t, fmt.Sprint(what, " ", cause), func(time, want float64) {
					step, known := c.At(time)
					require.True(t, known)
					if math.IsNaN(want) {
						require.False(t, step.Limited, "%s at %v: %+v", what, time, step)
						return
					}
					same10(t, fmt.Sprint(what, " at ", time), of(step), want)
				})
			}
			at(t, "incidence", func(s survival.IncidenceStep) float64 { return s.Value })
			at(t, "jackknife se", func(s survival.IncidenceStep) float64 { return s.SE })
			at(t, "lower", func(s survival.IncidenceStep) float64 { return s.Lower })
			at(t, "upper", func(s survival.IncidenceStep) float64 { return s.Upper })
			at(t, "aalen se", func(s survival.IncidenceStep) float64 { return s.AalenSE })
		}
	}
}

func TestGrayOfInventedSets(t *testing.T) {
	for _, s := range inventedSets(t) {
		for _, cause := range []int{1, 2} {
			s.each(t, fmt.Sprint("gray ", cause), func(rho, want float64) {
				r, err := survival.GrayTest{Rho: rho}.Test(s.caused, cause, s.group)
				require.NoError(t, err)
				same10(t, fmt.Sprint("Gray, rho ", rho), r.ChiSquare, want)
			})
			s.each(t, fmt.Sprint("gray in strata ", cause), func(rho, want float64) {
				r, err := survival.GrayTest{Rho: rho}.TestStratified(s.caused, cause, s.group, s.stratum)
				require.NoError(t, err)
				same10(t, fmt.Sprint("Gray in strata, rho ", rho), r.ChiSquare, want)
			})
		}
	}
}
