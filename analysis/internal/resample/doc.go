// Package resample draws again, on any number of cores with the same answer.
//
// Replicate i of a run with a seed draws from a stream of its own, Child(seed, i), so that it does not matter which core
// takes it or when. Each hands replicates to cores. Subjects draws whole subjects with replacement, for rows that repeat
// on a subject [1].
//
// The streams are PCG generators [2] whose two words of state are seed and index, mixed by the finaliser of SplitMix64
// [3]: streams of neighbouring seeds and indices have nothing in common that a simulation could notice.
//
// [1] Davison & Hinkley (1997), Bootstrap Methods and their Application, section 3.8.
// [2] O'Neill (2014), PCG, Harvey Mudd College report HMC-CS-2014-0905.
// [3] Steele, Lea & Flood (2014), Proc. OOPSLA, 453-472.
package resample
