package survival_test

import (
	"encoding/binary"
	"math"
	"testing"

	"lastsip/analysis/survival"
)

// FuzzTimed reads rows from bytes and wants an error or a result without NaN where none is announced: never a panic. Half of
// the rows are on a grid of few times, so that ties are common; the rest take any bits as a time.
func FuzzTimed(f *testing.F) {
	f.Add([]byte{1, 3, 1, 0, 1, 3, 0, 1, 1, 5, 2, 0, 1, 6, 1, 1, 1, 6, 0, 2}, uint8(0))
	f.Add([]byte{1, 1, 1, 0, 1, 1, 1, 0, 1, 1, 1, 1, 1, 2, 1, 1, 1, 3, 1, 2, 1, 4, 1, 2}, uint8(7))
	f.Add(binary.LittleEndian.AppendUint64([]byte{0, 1, 0}, math.Float64bits(math.MaxFloat64)), uint8(3))
	f.Fuzz(func(t *testing.T, b []byte, how uint8) {
		var rows []survival.Timed
		var caused []survival.Caused
		var group, stratum []int
		for len(rows) < 60 && len(b) >= 4 {
			cause, g, step, at := int(b[2]%3), int(b[3]%4), 4, float64(b[1]%16)
			if b[0]%2 == 0 && len(b) >= 11 {
				cause, g, step, at = int(b[1]%3), int(b[2]%4), 11, math.Float64frombits(binary.LittleEndian.Uint64(b[3:]))
			}
			rows = append(rows, survival.Timed{Time: at, Event: cause > 0})
			caused = append(caused, survival.Caused{Time: at, Cause: cause})
			group, stratum = append(group, g), append(stratum, int(b[0]/64))
			b = b[step:]
		}
		if fit, err := (survival.KaplanMeier{Scale: survival.LimitScale(how % 4)}).Fit(rows); err == nil {
			checkFuzzedCurve(t, fit)
		}
		rho := float64(how%5) - 2
		r, err := survival.LogRank{Rho: rho}.TestStratified(rows, group, stratum)
		checkFuzzedTest(t, r, err)
		r, err = survival.GrayTest{Rho: rho}.TestStratified(caused, 1, group, stratum)
		checkFuzzedTest(t, r, err)
		if fit, err := (survival.CumulativeIncidence{Scale: survival.LimitScale(how % 4)}).Fit(caused); err == nil {
			for _, cause := range fit.Causes() {
				c, _ := fit.Cause(cause)
				for _, s := range c.Steps() {
					if !(s.SE >= 0 && s.AalenSE >= 0 && s.Lower <= s.Value+1e-12 && s.Value <= s.Upper+1e-12) {
						t.Fatalf("%v: %+v", caused, s)
					}
				}
			}
		}
	})
}

func checkFuzzedCurve(t *testing.T, f *survival.KaplanMeierFit) {
	t.Helper()
	for _, s := range f.Steps() {
		if !(s.Lower <= s.Value+1e-12 && s.Value <= s.Upper+1e-12 && s.CumHazardSE >= 0) || math.IsNaN(s.SE) != (s.Value == 0) {
			t.Fatalf("%+v", s)
		}
		if m, err := f.MeanTo(s.Time); err == nil && !(m.Value >= 0 && m.Value <= m.Horizon*(1+1e-12) && m.SE >= 0) {
			t.Fatalf("%+v", m)
		}
	}
	if q, err := f.Quantile(0.5); err != nil || !(q.Lower <= q.Value && q.Value <= q.Upper) {
		t.Fatalf("%+v %v", q, err)
	}
}

func checkFuzzedTest(t *testing.T, r *survival.GroupTest, err error) {
	t.Helper()
	if err == nil && !(r.P >= 0 && r.P <= 1 && r.ChiSquare >= 0 && r.DF >= 1 && r.DF < len(r.N())) {
		t.Fatalf("%+v", r)
	}
}
