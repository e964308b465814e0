// Package multiplicity adjusts p-values for looking at several comparisons at once.
//
// From p-values alone. Every function takes m p-values in any order and returns as many adjusted ones in the same order, in
// [0, 1]: comparing an adjusted value with alpha gives the decision of the procedure at level alpha. With
// p(1) <= ... <= p(m):
//
//	Bonferroni            m p(i)
//	Sidak                 1 - (1 - p(i))^m                                      [10]
//	Holm                  max over j <= i of (m-j+1) p(j)                       [1]
//	Hochberg              min over j >= i of (m-j+1) p(j)                       [2]
//	Benjamini-Hochberg    min over j >= i of m p(j) / j                         [3]
//	Benjamini-Yekutieli   the same times 1 + 1/2 + ... + 1/m                    [4]
//
// Bonferroni and Holm bound the chance of any false rejection whatever the dependence; Holm is never worse. Hochberg wants
// independence or positive dependence. The last two bound the expected share of false ones among the rejections:
// Benjamini-Hochberg under independence or positive dependence, Benjamini-Yekutieli whatever the dependence.
//
// From t statistics with known correlations. Joint (in one call: MaxT, MaxTCritical) has the law of the largest of n
// statistics T_i = Z_i / S, Z normal with the correlation matrix given, df S^2 chi-square with df degrees of freedom,
// independent of Z. The adjusted p-value of t is P(max |T_i| >= |t|), the critical value at level 1 - alpha is where that
// probability is alpha; both are exact for balanced normal data and less wasteful than any of the above. Equal degrees of
// freedom are assumed. How P is reckoned depends on the correlations, cheapest first; groups of statistics without
// correlation between them are taken one by one:
//
//	all correlations l_i l_j (comparisons with one control [5])       one integral, and one over S
//	all pairs of equally precise means, two-sided (Tukey-Kramer [6])  the same: the studentised range
//	any matrix of rank two (all pairs of three means)                 the same, over an angle
//	any other, singular or not                                        lattice points on the sphere [7-9], and one over S
//
// The first three are good to 1e-9. Where points are drawn and the matrix is near one of the first two forms, as a few missing
// rows make it, they tell only the difference from it. The bound on the error that is returned (three standard errors between
// randomly shifted lattices) is some 2e-5 at most for P up to 0.1 and ranks up to ten, more for larger P or ranks, and falls with
// P. The shifts come from a fixed seed: same question, same bytes, on any number of cores.
//
// [1] Holm (1979), Scand. J. Statist. 6, 65-70.
// [2] Hochberg (1988), Biometrika 75, 800-802.
// [3] Benjamini & Hochberg (1995), J. R. Statist. Soc. B 57, 289-300.
// [4] Benjamini & Yekutieli (2001), Ann. Statist. 29, 1165-1188.
// [5] Dunnett (1955), J. Am. Statist. Assoc. 50, 1096-1121; Dunnett (1964), Biometrics 20, 482-491.
// [6] Tukey (1953), The problem of multiple comparisons; Kramer (1956), Biometrics 12, 307-310.
// [7] Deak (1980), Numer. Math. 35, 369-380; Somerville (1998), J. Comput. Graph. Statist. 7, 529-544; Genz & Bretz (2009),
// Computation of Multivariate Normal and t Probabilities, chapter 4.
// [8] Trefethen & Weideman (2014), SIAM Rev. 56, 385-458.
// [9] Fang & Wang (1994), Number-theoretic Methods in Statistics, section 1.5; Korobov (1959), Dokl. Akad. Nauk SSSR 124,
// 1207-1210; Cranley & Patterson (1976), SIAM J. Numer. Anal. 13, 904-914.
// [10] Sidak (1967), J. Am. Statist. Assoc. 62, 626-633.
package multiplicity
