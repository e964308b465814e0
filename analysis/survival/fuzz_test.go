package survival_test

import (
	"encoding/binary"
	"math"
	"testing"

	"lastsip/analysis/survival"
)

// FuzzNPMLE reads rows and weights from bytes and wants an error, a warning or a proved curve: never a panic, never NaN.
// Half of the rows are on a grid of few times, so that ties and points are common; the rest take any bits as numbers.
func FuzzNPMLE(f *testing.F) {
	for _, obs := range [][]survival.Interval{
		{{L: 2, R: 5}}, {{L: 4, R: 4}, {L: 4, R: 6}, {L: 2, R: 4}}, {{L: 4, R: inf}, {L: 9, R: inf}}, {{L: 0, R: 4}, {L: 0, R: 2}},
		{{L: 0, R: 2}, {L: 1, R: 3}, {L: 2, R: 4}}, {{L: 3, R: 2}, {L: math.NaN(), R: 1}}, {{L: 0, R: 0}, {L: 0, R: 1}},
	} {
		var b []byte
		for _, o := range obs {
			b = binary.LittleEndian.AppendUint64(append(b, 0), math.Float64bits(o.L))
			b = binary.LittleEndian.AppendUint64(b, math.Float64bits(o.R))
			b = append(b, 3)
		}
		f.Add(b, false)
		f.Add(b, true)
	}
	f.Add([]byte{1, 2, 5, 1, 1, 0, 9, 200, 1, 3, 3, 7, 1, 2, 255, 90}, true)
	f.Fuzz(func(t *testing.T, b []byte, weighted bool) {
		var obs []survival.Interval
		var weights []float64
		for len(obs) < 60 {
			switch {
			case len(b) >= 18 && b[0]%2 == 0:
				obs = append(obs, survival.Interval{L: math.Float64frombits(binary.LittleEndian.Uint64(b[1:])), R: math.Float64frombits(binary.LittleEndian.Uint64(b[9:]))})
				weights = append(weights, float64(b[17]))
				b = b[18:]
				continue
			case len(b) >= 4 && b[0]%2 == 1:
				o := survival.Interval{L: float64(b[1] % 16)}
				if o.R = o.L + float64(b[2]%8); b[2] > 200 {
					o.R = inf
				}
				obs = append(obs, o)
				weights = append(weights, math.Exp(float64(b[3])-128)) // from e^-128 to e^127
				b = b[4:]
				continue
			}
			break
		}
		if !weighted {
			weights = nil
		}
		honest(t, obs, weights)
		status := make([]survival.Status, len(obs))
		for i, o := range obs {
			status[i] = survival.Status{Time: o.L, Over: i%2 == 0}
		}
		if c, err := (survival.Isotonic{}).FitWeighted(status, weights); err == nil && (math.IsNaN(c.LogLik) || !c.Converged && len(c.Warnings()) == 0) {
			t.Fatalf("isotonic %v %v: %+v", status, weights, c)
		}
		if lim, err := survival.ExactQuantile(obs, 0.5, 0.95); err == nil && !(lim.Lower <= lim.Upper) {
			t.Fatalf("quantile %v: %+v", obs, lim)
		}
		if lim, err := survival.ExactShare(obs, 3, 0.95); err == nil && !(lim.Lower <= lim.Upper) {
			t.Fatalf("share %v: %+v", obs, lim)
		}
	})
}
