// Package mixed fits linear mixed models: a response that depends on fixed terms (styles, ages, curves), with deviations
// of tasters, evenings or whatever the rows were taken from.
//
// The model, for n rows, is [1, 2]
//
//	y = X beta + sum over random terms of Z_t b_t + e,   b_t ~ N(0, sigma^2 Lambda_t Lambda_t') per level,   e ~ N(0, sigma^2)
//
// with levels, terms and residuals independent of each other. Theta holds the lower triangles of the Lambda_t by columns. With
// H = I + sum Z_t Lambda_t Lambda_t' Z_t', r^2 the generalised residual sum of squares and p coefficients,
//
//	-2 log-likelihood = log|H| + n (1 + log(2 pi r^2/n))
//	REML criterion    = log|H| + log|X'H^-1 X| + (n-p) (1 + log(2 pi r^2/(n-p)))
//
// is minimised over theta with the diagonal of each Lambda_t at least 0. A minimum on that border is an ordinary estimate:
// the term has no variance in some direction, which Singular names. sigma^2 is r^2/n or r^2/(n-p), Covariance
// sigma^2 (X'H^-1 X)^-1; it takes the variances as known, so that in small panels it is a little too small (see
// KenwardRoger for what that costs and how it is repaired).
//
// A Spec names columns of a Table. Terms are taken as they stand, X has a column of ones unless NoIntercept, and a column
// that is a linear combination of those before it is left out and named (Aliased). Units of columns do not matter, but a
// column that differs from a combination of those before it by less than 1e-5 of its size, such as a clock that runs from
// 10^6 to 10^6 + 5, leaves too few digits and is refused. Factors need not be balanced, groupings
// may be nested, crossed or both; a grouping of several columns has a level for each combination that occurs.
//
// Tests of fixed effects take degrees of freedom from the information about the variances: Satterthwaite's from the observed
// one [10, 11], Kenward and Roger's, with a covariance adjusted for the variances being estimated, from the expected one [12]
// (Degrees, Coef, Infer, Tests). Models within each other compare by LikelihoodRatio, which knows a variance on its boundary
// [13], or by BootstrapRatio, which draws the law [14]. Profile gives likelihood limits of every parameter [15], Bootstrap
// those of any function of the fit [14].
//
// Comparisons are linear combinations of coefficients (Contrast): expected means at levels of factors (Means), slopes of a
// column (Slopes), differences of either (AllPairs, AgainstFirst, Consecutive, Combine). Contrasts tests them, adjusted for
// their number, Equivalent tests that they lie within margins; estimate, standard error and degrees of freedom are those of
// Degrees. BrokenStick looks for the place where the line of a column bends [20], and draws the law of its test [21].
//
// Units are the caller's: coefficients have the unit of the response over that of their column. Rows are rows of the table,
// from 1 in errors. Everything is computed for the rows given; a row with a missing cell has to be left out beforehand, which
// is harmless only where what is missing does not depend on what it would have been.
//
// Not done: residuals that are correlated or have unequal variances, weights, responses other than numbers with normal
// residuals, covariance structures other than unstructured and diagonal.
//
// [1] Laird & Ware (1982), Biometrics 38, 963-974; Patterson & Thompson (1971), Biometrika 58, 545-554.
// [2] Bates, Maechler, Bolker & Walker (2015), J. Stat. Softw. 67(1).
// [3] Henderson (1975), Biometrics 31, 423-447; Robinson (1991), Statist. Sci. 6, 15-51.
// [4] Fieller (1954), J. R. Statist. Soc. B 16, 175-185.
// [5] de Boor (1978), A Practical Guide to Splines, Springer.
// [6] Hastie (1992), in Chambers & Hastie, Statistical Models in S, chapter 7; R Core Team, package splines.
// [7] Dongarra, Bunch, Moler & Stewart (1979), LINPACK Users' Guide, chapter 9.
// [8] Kennedy & Gentle (1980), Statistical Computing, Marcel Dekker, 343-344.
// [9] Hestenes & Stiefel (1952), J. Res. Nat. Bur. Standards 49, 409-436.
// [10] Satterthwaite (1946), Biometrics Bull. 2, 110-114; Giesbrecht & Burns (1985), Biometrics 41, 477-486.
// [11] Fai & Cornelius (1996), J. Statist. Comput. Simul. 54, 363-378.
// [12] Kenward & Roger (1997), Biometrics 53, 983-997.
// [13] Self & Liang (1987), J. Amer. Statist. Assoc. 82, 605-610; Stram & Lee (1994), Biometrics 50, 1171-1177.
// [14] Davison & Hinkley (1997), Bootstrap Methods and their Application, chapters 4 and 5.
// [15] Venzon & Moolgavkar (1988), Appl. Statist. 37, 87-94.
// [16] Speed, Hocking & Hackney (1978), J. Amer. Statist. Assoc. 73, 105-112.
// [17] Nocedal & Wright (2006), Numerical Optimization, chapter 6.
// [18] Searle, Speed & Milliken (1980), Amer. Statist. 34, 216-221.
// [19] Schuirmann (1987), J. Pharmacokin. Biopharm. 15, 657-680; Berger & Hsu (1996), Statist. Sci. 11, 283-319.
// [20] Hudson (1966), J. Amer. Statist. Assoc. 61, 1097-1129; Hinkley (1971), J. Amer. Statist. Assoc. 66, 736-743.
// [21] Davies (1987), Biometrika 74, 33-43.
package mixed
