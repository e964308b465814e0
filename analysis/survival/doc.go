// Package survival estimates the distribution of a time T that was only seen to fall in an interval.
//
// An observation is (L, R], in one time unit throughout: not yet at L, over by R. R = +Inf: not seen; L = R: seen exactly;
// L = 0 with R finite: over by the first look. A status row (one look at Time: over or not) is (0, Time] or (Time, +Inf].
// Intervals that only touch, (1, 2] and (2, 3], have nothing in common; the point 2 lies in the first and not in the second.
//
// NPMLE maximises sum_i w_i log P(observation i) without a family [1]. Only innermost sets, a left end directly followed by
// a right end among all ends of rows, can carry mass; how it lies inside a set is left open, and At and Quantile return
// both bounds there. The likelihood is concave in the masses, so a maximum is proved, not hoped for: with d_j = sum over
// observations i that contain set j of w_i / P(observation i) and N = sum_i w_i, the true maximum exceeds the reached
// log-likelihood by no more than max_j d_j - N, the optimality gap [2]. It is computed over all innermost sets, those
// without mass too. The solver joins self-consistency, the iterative convex minorant [5] and Newton steps; near the maximum
// it converges quadratically, and sets without mass end at exactly 0. Weights may differ by a factor of about 1e8; where
// they differ by much more, rounding may keep the gap above the tolerance, which is then said in a warning. For exact and
// right-censored rows the NPMLE is the Kaplan-Meier curve.
//
// Isotonic is the same estimate for status rows, in closed form by pooling adjacent violators [3].
//
// ExactShare and ExactQuantile give limits without a family that hold for any number of subjects, however the intervals
// came about: Clopper-Pearson limits of a share counted low and high [4], and order statistics of the binomial test taken
// from the sorted L for the lower and the sorted R for the upper limit. They return the level they reach.
//
// ScoreTest compares groups of rows by scores on the NPMLE of all rows: relabelled freely, within subjects or by whole
// subjects, exactly or by random draws, or by the large-sample law with a variance from whole subjects [6].
// Parametric.CompareGroups does so by the likelihood ratio of a family.
//
// Exact and right-censored times are rows of their own kind (Timed), for which more is known: KaplanMeier gives the curve
// with standard errors, limits, quantiles and restricted means, LogRank compares groups;
// for times that end by one of several causes (Caused) CumulativeIncidence and GrayTest do. All of them hold for large
// numbers of rows. Restricted means of an NPMLE (Curve.MeanTo) are a range, as its masses have no place of their own.
//
// Parametric fits families, log T = x'b + scale W, to rows of every kind by maximum likelihood, with covariates, scales by
// stratum and weights: exponential, Weibull, log-normal, log-logistic, gamma and generalised gamma [P1]. Standard errors come
// from the observed information; quantiles have limits by the delta method, by the profile likelihood at any cut, and by
// bootstrap; RobustCov holds for rows that share a subject [P4]. A fit that has no finite maximum [P3] is an error that says
// why. LikelihoodRatio tests special cases, Distance a family against the NPMLE [P7], Residuals and QuantileResiduals show
// single rows [P5, P6].
//
// ReplyModel takes every yes-or-no reply of every subject instead of intervals made of them: own limits are log-normal, a
// reply wavers about the own limit and slips now and then [R1, R2]. Limits of one subject go together. Limits of quantiles,
// shares and time ratios are profile limits at the small-panel cut: for the mean of n normal values they are Student's
// interval, and they hold from three subjects up. The integral over own limits is exact where replies do not waver.
//
// Rows are taken as independent, and the looks as not chosen with T in mind; for rows that share a subject give ExactShare
// and ExactQuantile one row per subject. Truncation is not handled, and no standard errors of the NPMLE are given.
//
// [1] Peto (1973), Appl. Statist. 22, 86-91; Turnbull (1976), J. R. Statist. Soc. B 38, 290-295.
// [2] Gentleman & Geyer (1994), Biometrika 81, 618-623.
// [3] Ayer, Brunk, Ewing, Reid & Silverman (1955), Ann. Math. Statist. 26, 641-647.
// [4] Clopper & Pearson (1934), Biometrika 26, 404-413.
// [5] Wellner & Zhan (1997), J. Amer. Statist. Assoc. 92, 945-959.
// [6] Finkelstein (1986), Biometrics 42, 845-854; Sun (1996), Statist. Med. 15, 1387-1395; Fay (1996), Biometrics 52, 811-822;
// Fay & Shaw (2010), J. Stat. Software 36(2); Boos (1992), Amer. Statist. 46, 327-333; Phipson & Smyth (2010), Statist.
// Appl. Genet. Mol. Biol. 9(1), 39.
// [T1] Kaplan & Meier (1958), J. Amer. Statist. Assoc. 53, 457-481.
// [T2] Greenwood (1926), Reports on Public Health and Medical Subjects 33, 1-26.
// [T3] Nelson (1972), Technometrics 14, 945-966; Aalen (1978), Ann. Statist. 6, 701-726.
// [T4] Borgan & Liestoel (1990), Scand. J. Statist. 17, 35-41.
// [T5] Brookmeyer & Crowley (1982), Biometrics 38, 29-41.
// [T6] Irwin (1949), J. Hygiene 47, 188-189.
// [T7] Harrington & Fleming (1982), Biometrika 69, 553-566.
// [T8] Mantel (1966), Cancer Chemother. Rep. 50, 163-170; Peto & Peto (1972), J. R. Statist. Soc. A 135, 185-207.
// [T9] Aalen & Johansen (1978), Scand. J. Statist. 5, 141-150.
// [T10] Aalen (1978), Ann. Statist. 6, 534-545.
// [T11] Efron (1982), The Jackknife, the Bootstrap and Other Resampling Plans, SIAM, chapter 6.
// [T12] Gray (1988), Ann. Statist. 16, 1141-1154.
// [P1] Prentice (1974), Biometrika 61, 539-544; Lawless (2003), Statistical Models and Methods for Lifetime Data, chapter 5.
// [P2] Burridge (1981), J. R. Statist. Soc. B 43, 41-45.
// [P3] Silvapulle & Burridge (1986), J. R. Statist. Soc. B 48, 100-106.
// [P4] Lin & Wei (1989), J. Amer. Statist. Assoc. 84, 1074-1078; factor G/(G-1): Cameron & Miller (2015), J. Human Resources 50,
// 317-372.
// [P5] Cox & Snell (1968), J. R. Statist. Soc. B 30, 248-275.
// [P6] Dunn & Smyth (1996), J. Comput. Graph. Statist. 5, 236-244.
// [P7] Stute, Gonzalez Manteiga & Presedo Quindimil (1993), Metrika 40, 243-256.
// [R1] Wichmann & Hill (2001), Perception & Psychophysics 63, 1293-1313.
// [R2] McCulloch (1994), J. Amer. Statist. Assoc. 89, 330-335.
package survival
