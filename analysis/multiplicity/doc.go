// Package multiplicity adjusts p-values for looking at several comparisons at once.
//
// Every function takes m p-values in any order and returns as many adjusted ones in the same order, in [0, 1]: comparing
// an adjusted value with alpha gives the decision of the procedure at level alpha. With p(1) <= ... <= p(m):
//
//	Bonferroni            m p(i)
//	Holm                  max over j <= i of (m-j+1) p(j)                       [1]
//	Hochberg              min over j >= i of (m-j+1) p(j)                       [2]
//	Benjamini-Hochberg    min over j >= i of m p(j) / j                         [3]
//	Benjamini-Yekutieli   the same times 1 + 1/2 + ... + 1/m                    [4]
//
// Bonferroni and Holm bound the chance of any false rejection whatever the dependence; Holm is never worse. Hochberg wants
// independence or positive dependence. The last two bound the expected share of false ones among the rejections:
// Benjamini-Hochberg under independence or positive dependence, Benjamini-Yekutieli whatever the dependence.
//
// [1] Holm (1979), Scand. J. Statist. 6, 65-70.
// [2] Hochberg (1988), Biometrika 75, 800-802.
// [3] Benjamini & Hochberg (1995), J. R. Statist. Soc. B 57, 289-300.
// [4] Benjamini & Yekutieli (2001), Ann. Statist. 29, 1165-1188.
package multiplicity
