// Package masses maximises a log-likelihood in masses that lie on an ordered list of sets, of which each row holds a run.
//
// With p_j the mass of set j (j = 0..m-1, p >= 0, sum 1), row i holding the sets first_i..last_i with weight w_i > 0:
//
//	l(p) = sum_i w_i log P_i,  P_i = p_first + ... + p_last,  d_j = sum_{i holds j} w_i / P_i,  N = sum_i w_i.
//
// l is concave, and p is a maximum exactly if d_j <= N for all j; for any p the maximum exceeds l(p) by no more than
// gap = max_j d_j - N [1]. Solve stops on that gap, over all sets, so what it returns is proved.
//
// Each step of Solve is made of three, each of which never lowers l:
//
//   - self-consistency (EM): p_j <- p_j d_j / N. Moves mass surely but slowly; keeps every step well defined.
//   - iterative convex minorant in F_k = p_0 + ... + p_{k-1}: the quadratic model with the diagonal of the Hessian,
//     maximised under monotone F by pooling adjacent violators, then a line search [2, 3]. Takes masses to exactly 0 and
//     back. The two together converge from any start [3].
//   - Newton on the sets that have mass, again in F: a row touches F at its two ends only, so the Hessian is sparse and a
//     Cholesky factor within its envelope is cheap. The step ends where a mass reaches 0, and that set is left out of the
//     next. Near the maximum this converges quadratically.
//
// Shapes: p has m elements, F has m+1 with F_0 = 0 and F_m = 1. Solve allocates its work arrays once;
// steps do not, but for the envelope, which may grow.
//
// [1] Gentleman & Geyer (1994), Biometrika 81, 618-623.
// [2] Jongbloed (1998), J. Comput. Graph. Statist. 7, 310-321.
// [3] Wellner & Zhan (1997), J. Amer. Statist. Assoc. 92, 945-959.
package masses

import (
	"cmp"
	"slices"
)

// Row is a run of sets, First..Last (0-based, both held), and a weight > 0.
type Row struct {
	First, Last int32
	Weight      float64
}

// Problem is a list of rows over Sets sets. Every set is held by some row.
type Problem struct {
	Sets int
	Rows []Row
}

// Result of Solve. Mass sums to 1 up to rounding and has exact zeros.
type Result struct {
	Mass        []float64
	LogLik, Gap float64
	Iterations  int
}

// Merge sorts rows and joins those with the same run, adding their weights. It reuses the slice.
func Merge(rows []Row) []Row {
	slices.SortFunc(rows, func(a, b Row) int {
		if a.First != b.First {
			return int(a.First) - int(b.First)
		}
		if a.Last != b.Last {
			return int(a.Last) - int(b.Last)
		}
		return cmp.Compare(a.Weight, b.Weight) // so that sums do not depend on the order of the rows
	})
	out := rows[:0]
	for _, r := range rows {
		if n := len(out); n > 0 && out[n-1].First == r.First && out[n-1].Last == r.Last {
			out[n-1].Weight += r.Weight
			continue
		}
		out = append(out, r)
	}
	return out
}
