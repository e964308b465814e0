// Package reply is the likelihood of yes-or-no replies about a random limit, its maxima and its profiles.
//
// A subject has a limit m on the log scale, a reply at log age a says yes with probability
//
//	F + (C - F) Phi((a - m)/tau),
//
// floor F far below the limit, ceiling C far past it: the psychometric function with guessing and lapses [1]. Limits are normal,
// m = x'b + u + e, u ~ N(0, omega^2) of the subject, e ~ N(0, kappa^2) of each of its limits; with one limit a subject only
// sigma^2 = omega^2 + kappa^2 can be told. The likelihood of a subject is the integral of the product of its replies'
// probabilities over m, or over u and each e: a probit mixed model [2] with floor and ceiling.
//
// At tau = 0 the product is constant on the cells between ages and the integral a sum of normal probabilities, exact. For tau up
// to sigma/3 each step is smoothed apart, which is again a sum of normal probabilities, with S^2 = sigma^2 + tau^2; what is left,
// where ages lie within each other's reach, decays on both sides and is summed over equidistant nodes, which converges
// faster than any power of their distance for functions that are analytic [3]. For larger tau the whole integrand is. Every
// other node tells whether they are dense enough; the relative error of a subject's likelihood is below 1e-8.
// Of two integrals one within the other the outer is taken in the same way, its steps smoothed by the inner.
//
// First and second derivatives are exact (moments of the integrand under its weights [4]). The coordinates are b, lambda =
// log S, and angles theta and alpha with tau = S sin(theta), kappa = S cos(theta) sin(alpha), omega = S cos(theta)
// cos(alpha): the likelihood is flat along S where tau is small, and variances of 0 are bounds of angles. Maxima are sought by
// damped Newton steps from several starts. Ends of profiles are found by Newton steps on the signed root, with one
// evaluation for each step of the held parameter and the others together, as in [5], between brackets; past an end other
// humps are looked for.
//
// Evaluations allocate nothing once a Space has grown; a Problem may be evaluated by several goroutines with a Space each.
//
// [1] Wichmann & Hill (2001), Perception & Psychophysics 63, 1293-1313.
// [2] McCulloch (1994), J. Amer. Statist. Assoc. 89, 330-335.
// [3] Trefethen & Weideman (2014), SIAM Review 56, 385-458.
// [4] Louis (1982), J. R. Statist. Soc. B 44, 226-233.
// [5] Venzon & Moolgavkar (1988), Appl. Statist. 37, 87-94.
package reply
