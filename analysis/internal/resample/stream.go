package resample

import "math/rand/v2"

// Child is stream number index of seed. The same arguments give the same numbers.
func Child(seed, index uint64) *rand.Rand { return rand.New(rand.NewPCG(words(seed, index))) }

// words is the state of a child stream. For a fixed seed both words differ from index to index, as mix is a bijection.
func words(seed, index uint64) (hi, lo uint64) {
	hi = mix(seed ^ mix(index))
	return hi, mix(hi + index)
}

// mix is one step of SplitMix64.
func mix(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}
