package survival_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/mathtest"
	"lastsip/analysis/survival"
)

type entry struct {
	ID, Call, Library, Version, Source string
	Data                               []string
	Values                             struct {
		Intervals struct {
			Left, Right, Mass []number
			LeftIsInSet       []bool `json:"left_is_in_set"`
		}
		LogLik          number
		ObservationProb []number `json:"observation_prob"`
		Curves          map[string]struct {
			Time, Surv []number
		}
	}
	Published struct {
		Where   string
		Printed []string
	}
	Tolerance struct{ Rel, Abs float64 }
}

func (e entry) source() string {
	return e.ID + ": " + e.Library + " " + e.Version + ", " + e.Call + "; " + e.Source
}

// rowsOf gives the rows of a turnbull entry.
func rowsOf(t *testing.T, e entry) []survival.Interval {
	t.Helper()
	file := e.Data[0] + ".csv"
	name := e.ID[strings.LastIndex(e.ID, "_")+1:]
	switch {
	case name == "rad":
		return intervals(t, file, "treatment", "Rad")
	case name == "radchem":
		return intervals(t, file, "treatment", "RadChem")
	case strings.HasPrefix(e.ID, "turnbull_panel"):
		return intervals(t, file, "style", name)
	}
	return intervals(t, file, "", "")
}

// matches holds a curve against sets and masses.
func matches(t *testing.T, e entry, c *survival.Curve, tol float64) {
	t.Helper()
	left, right, mass := floats(e.Values.Intervals.Left), floats(e.Values.Intervals.Right), floats(e.Values.Intervals.Mass)
	require.Len(t, c.Sets(), len(mass), e.source())
	for k, s := range c.Sets() {
		require.Equal(t, survival.Interval{L: left[k], R: right[k]}, s, e.source())
		mathtest.Close(t, "mass", c.Mass()[k], mass[k], tol, e.source())
	}
}

func TestTurnbullReference(t *testing.T) {
	var entries []entry
	readJSON(t, "turnbull.json", &entries)
	require.Len(t, entries, 10)
	for _, e := range entries {
		t.Run(e.ID, func(t *testing.T) {
			obs := rowsOf(t, e)
			c := fit(t, obs, nil)
			sound(t, obs, nil, c)
			want := float64(e.Values.LogLik)
			require.GreaterOrEqual(t, c.LogLik, want-1e-6, "short of %s", e.source())
			require.LessOrEqual(t, c.LogLik, want+1e-8, "above what is possible, by the certificate of %s", e.source())
			matches(t, e, c, 1e-5)
			prob := probabilities(obs, c)
			for i, p := range floats(e.Values.ObservationProb) {
				mathtest.CloseRel(t, "P(observation)", prob[i], p, 1e-6, 0, e.source())
			}
		})
	}
}

// The masses printed in Fay & Shaw (2010), J. Stat. Software 36(2), section 4.1, to their last digit.
func TestPublishedMasses(t *testing.T) {
	var entries []entry
	readJSON(t, "turnbull.json", &entries)
	seen := 0
	for _, e := range entries {
		if e.Published.Printed == nil {
			continue
		}
		seen++
		mass := fit(t, rowsOf(t, e), nil).Mass()
		require.Len(t, mass, len(e.Published.Printed))
		for k, printed := range e.Published.Printed {
			mathtest.Close(t, "mass", mass[k], parse(t, printed), 0.5e-4, e.Published.Where)
		}
	}
	require.Equal(t, 2, seen)
}

func TestHandworkedReference(t *testing.T) {
	rows := map[string][]survival.Interval{
		"npmle_overlap":            {{L: 0, R: 4}, {L: 2, R: 6}},
		"npmle_touching":           {{L: 0, R: 4}, {L: 4, R: 6}},
		"npmle_exact_at_right_end": {{L: 0, R: 4}, {L: 4, R: 4}, {L: 4, R: 6}},
		"current_status":           intervals(t, "edge_current_status.csv", "", ""),
	}
	var entries []entry
	readJSON(t, "handworked.json", &entries)
	require.Len(t, entries, len(rows))
	for _, e := range entries {
		t.Run(e.ID, func(t *testing.T) {
			c := fit(t, rows[e.ID], nil)
			sound(t, rows[e.ID], nil, c)
			matches(t, e, c, 1e-9)
			mathtest.Close(t, "log-likelihood", c.LogLik, float64(e.Values.LogLik), 1e-9, e.source())
		})
	}
}

// On exact and right-censored rows the NPMLE is the Kaplan-Meier curve; an event counts before a censoring at its time.
func TestKaplanMeierReference(t *testing.T) {
	var entries []entry
	readJSON(t, "kaplan_meier.json", &entries)
	seen := 0
	for _, e := range entries {
		for name, curve := range e.Values.Curves {
			t.Run(e.ID+" "+name, func(t *testing.T) {
				var obs []survival.Interval
				if e.ID == "km_edge_one_subject" {
					obs = []survival.Interval{{L: 4, R: 4}}
				} else {
					for _, row := range timed(t, e.Data[0], name) {
						obs = append(obs, row.Interval())
					}
				}
				c := fit(t, obs, nil)
				sound(t, obs, nil, c)
				last := len(curve.Time) - 1
				for k, at := range floats(curve.Time) {
					lo, hi := c.At(at)
					mathtest.Close(t, "S", lo, float64(curve.Surv[k]), 1e-9, e.source())
					mathtest.Close(t, "S, upper", hi, float64(curve.Surv[k]), 1e-9, e.source())
					seen++
				}
				if s := float64(curve.Surv[last]); s > 0 {
					lo, hi := c.At(float64(curve.Time[last]) + 1)
					mathtest.Close(t, "S past the last censoring", lo, 0, 0, "nothing is known there")
					mathtest.Close(t, "S past the last censoring, upper", hi, s, 1e-9, e.source())
				}
			})
		}
	}
	require.Greater(t, seen, 40)
}
