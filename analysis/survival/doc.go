// Package survival estimates the distribution of a time T that was only seen to fall in an interval.
//
// An observation is (L, R], in one time unit throughout: not yet at L, over by R. R = +Inf: not seen; L = R: seen exactly;
// L = 0 with R finite: over by the first look. A status row (one look at Time: over or not) is (0, Time] or (Time, +Inf].
//
// NPMLE maximises sum_i w_i log P(observation i) without a family [1]. The likelihood is concave in the masses, so a
// maximum is proved, not hoped for: with d_j = sum over observations i that contain set j of w_i / P(observation i) and
// N = sum_i w_i, the true maximum exceeds the reached log-likelihood by no more than max_j d_j - N, the optimality gap [2].
// Where data leave the curve undefined (inside a Turnbull interval) At and Quantile return both bounds.
//
// Isotonic is the same estimate for status rows, in closed form by pooling adjacent violators [3].
//
// ExactShare and ExactQuantile give limits without a family that hold for any number of subjects, however the intervals
// came about: Clopper-Pearson limits of a share counted low and high [4], and order statistics of the binomial test taken
// from the sorted L for the lower and the sorted R for the upper limit. They return the level they reach.
//
// Rows are taken as independent; for rows that share a subject give ExactShare and ExactQuantile one row per subject.
// Truncation is not handled.
//
// [1] Turnbull (1976), J. R. Statist. Soc. B 38, 290-295.
// [2] Gentleman & Geyer (1994), Biometrika 81, 618-623.
// [3] Ayer, Brunk, Ewing, Reid & Silverman (1955), Ann. Math. Statist. 26, 641-647.
// [4] Clopper & Pearson (1934), Biometrika 26, 404-413.
package survival
