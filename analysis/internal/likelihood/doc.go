// Package likelihood maximises log-likelihoods and turns them into limits.
//
// Profile limits of a scalar psi are the ends of {psi: 2 (max - profile(psi)) <= cut}. The cut is the chi-square quantile
// where samples are large. For a location that n subjects inform it is the small-panel cut
//
//	c(n) = n log(1 + t^2/(n-1)),  t the two-sided point of Student's law on n-1 degrees of freedom,
//
// with which the profile limits of the mean of n normal values are exactly Student's interval: there the profile
// log-likelihood of the mean is -(n/2) log(1 + t^2/(n-1)) below its maximum. With k fitted locations that vary between
// subjects, n-1 becomes n-k.
//
// Newton finds the maximum of a log-likelihood with known gradient and Hessian.
package likelihood
