package survival

import (
	"math"

	"lastsip/analysis/internal/resample"
	"lastsip/analysis/survival/internal/law"
)

// MeanOf is the restricted mean of a law with given parameters.
func MeanOf(f Family, eta, a, q, tau float64) float64 {
	s := law.New(f.law(), a, q)
	v, _, _, _ := s.Mean(math.Log(tau), eta)
	return v
}

// ClusterWeights are those of resample i.
func ClusterWeights(cluster []int, seed, i uint64) []float64 {
	w := make([]float64, len(cluster))
	resample.NewSubjects(cluster).Weights(resample.Child(seed, i), w)
	return w
}
