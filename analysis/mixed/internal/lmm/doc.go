// Package lmm is the kernel of linear mixed models: it evaluates the profiled deviance or the REML criterion, its gradient
// and average information, and finds the minimum.
//
// The model, for n rows, p fixed columns and r random effects in all, is
//
//	y = X beta + Z Lambda u + e,  u ~ N(0, sigma^2 I_r),  e ~ N(0, sigma^2 I_n)
//
// where Lambda is block diagonal: every level of term t has the same lower triangular q*q block Lambda_t. theta lists
// these triangles by columns, term after term. H = I + Z T Z', T = Lambda Lambda', is the covariance of y over sigma^2.
//
// With the Cholesky factor of the cross-products of [Z Lambda, X, y] (ones added to the diagonal of the first part), r^2
// the square of its last pivot, |H| the product of the squared pivots of the first part and |X'H^-1X| that of the second:
//
//	deviance = log|H| + n (1 + log(2 pi r^2 / n))
//	REML     = log|H| + log|X'H^-1X| + (n-p) (1 + log(2 pi r^2 / (n-p)))
//
// as in [1]. For the term t, the gradient with respect to T_t is the q*q matrix
//
//	W = sum over levels of the level's block of Z'PZ - (n or n-p)/r^2 (Z'Py)(Z'Py)',  P = H^-1 - H^-1 X (X'H^-1X)^-1 X'H^-1
//
// (for the deviance H^-1 replaces P in the first part) and 2 W Lambda_t with respect to Lambda_t. Both come out of the
// factor and its inverse without dividing by theta. Steps are Newton's with the average of observed and expected
// information [2] and the positive part of what W adds to it; a variance of 0 is judged by W.
//
// One factor and all that is nested in it are eliminated level by level, as small blocks; the other random effects, d in
// all, meet in one dense system of d+p columns, of which a Space holds five. Nothing else grows faster than the data.
//
// Columns of X and Z are scaled inside by powers of two, and y is replaced by its least-squares residual, so that units do
// not matter. Input is taken as checked: finite, levels within range. What the data cannot tell ends with Converged false
// and a reason: residual variance 0, dependent columns of X, n <= p, a flat direction, a search that got stuck. Where rows
// are few the criterion may have several minima; then several starts are tried, which need not find the lowest of all.
//
// [1] Bates, Maechler, Bolker & Walker (2015), J. Stat. Softw. 67(1).
// [2] Gilmour, Thompson & Cullis (1995), Biometrics 51, 1440-1450.
package lmm
