# Upper tails of the largest of correlated t statistics, by nested one-dimensional integrals in base R. Call, from this folder:
#   Rscript joint_t.R > joint_t.csv
# shape: "product" correlations l_i l_j, l = 0.9, 0.5, -0.3, 0.7; "sharp" l = 0.999, 0.999, 0.6;
# "three" and "four": all pairs of means with variances 1, 2, 4 (, 0.5); "chain": correlations 0.5^|i-j|, five statistics;
# "between": consecutive differences of five means of variance 1; "nearly": l_i l_j + m_i m_j, l = 0.7, 0.75, 0.65, 0.6,
# m = 0.2, -0.2, 0.15, 0.1; "near four": all pairs of means with variances 1, 1.1, 0.95, 1.05.
options(digits = 15)
int <- function(f, a, b) integrate(f, a, b, rel.tol = 1e-12, abs.tol = 0, subdivisions = 2000, stop.on.error = FALSE)$value
each <- function(f) function(x) vapply(x, f, 0)
gauss <- function(n) { i <- 1:(n - 1); b <- i / sqrt(4 * i^2 - 1); J <- matrix(0, n, n); J[cbind(i, i + 1)] <- b; J[cbind(i + 1, i)] <- b
  e <- eigen(J, symmetric = TRUE); list(x = e$values, w = 2 * e$vectors[1, ]^2) }
G <- gauss(120)

# inside(w): chance that no normal statistic lies beyond w
product <- function(l, two) function(w) { s <- sqrt(1 - l^2); m <- c(-9, sort(c(w / l, -w / l)), 9); m <- unique(m[abs(m) <= 9])
  f <- each(function(x) dnorm(x) * prod(pnorm((w - l * x) / s) - if (two) pnorm((-w - l * x) / s) else 0))
  sum(vapply(seq_len(length(m) - 1), function(i) int(f, m[i], m[i + 1]), 0)) }
nearly <- function(l, m, two) function(w) { s <- sqrt(1 - l^2 - m^2); H <- gauss(80); x <- 9 * H$x # two factors, a grid over both
  g <- expand.grid(x = x, y = x); q <- dnorm(g$x) * dnorm(g$y); for (i in seq_along(l)) { a <- l[i] * g$x + m[i] * g$y; q <- q * (pnorm((w - a) / s[i]) - if (two) pnorm((-w - a) / s[i]) else 0) }
  sum(81 * outer(H$w, H$w) * q) }
three <- function(v) function(w) { s <- sqrt(c(v[1] + v[2], v[1] + v[3], v[2] + v[3])) # given the first mean the others lie near it
  int(each(function(x) { g <- function(y) dnorm(y, 0, sqrt(v[2])) * pmax(0, pnorm(pmin(x + w * s[2], y + w * s[3]), 0, sqrt(v[3])) - pnorm(pmax(x - w * s[2], y - w * s[3]), 0, sqrt(v[3])))
    k <- c(-1, 1, 0) * w * s[1]; k <- sort(c(k, w * (s[2] - s[3]), -w * (s[2] - s[3]))); k <- x + k[abs(k) <= w * s[1]]
    dnorm(x, 0, sqrt(v[1])) * sum(vapply(seq_len(length(k) - 1), function(i) if (k[i + 1] > k[i]) int(g, k[i], k[i + 1]) else 0, 0)) }), -9 * sqrt(v[1]), 9 * sqrt(v[1])) }
markov <- function(r, n, two) function(w) { lo <- if (two) -w else -9; h <- (w - lo) / 2; x <- lo + h + h * G$x; q <- h * G$w # chain of kernels
  K <- outer(x, x, function(a, b) dnorm(b, r * a, sqrt(1 - r^2))); f <- rep(1, length(x)); for (i in seq_len(n - 1)) f <- as.vector(K %*% (q * f)); sum(q * dnorm(x) * f) }
# means m_1, m_2, ... with m_(i+1) within w of m_i, from the last one backwards, each step kept as a polynomial
between <- function(n, two) function(w) { w <- w * sqrt(2); xs <- 9 * cos(pi * (0:160) / 160); g <- function(y) rep(1, length(y))
  step <- function(f, x) { lo <- max(if (two) x - w else -9, -9); hi <- min(x + w, 9); h <- (hi - lo) / 2; y <- lo + h + h * G$x; sum(h * G$w * dnorm(y) * f(y)) }
  for (i in seq_len(n - 1)) { ys <- vapply(xs, function(x) step(g, x), 0); g <- cheb(xs, ys) }
  int(function(x) dnorm(x) * g(x), -9, 9) }
cheb <- function(xs, ys) { n <- length(xs) - 1; wt <- (-1)^(0:n); wt[c(1, n + 1)] <- wt[c(1, n + 1)] / 2
  function(x) vapply(x, function(z) { d <- z - xs; if (any(d == 0)) ys[which(d == 0)[1]] else sum(wt / d * ys) / sum(wt / d) }, 0) }

above <- function(inside, df) function(c) { if (is.infinite(df)) return(1 - inside(c))
  dens <- function(s) exp(log(2) + df / 2 * log(df / 2) - lgamma(df / 2) + (df - 1) * log(s) - df * s^2 / 2)
  lo <- sqrt(qchisq(1e-13, df) / df); hi <- sqrt(qchisq(1e-13, df, lower.tail = FALSE) / df); h <- (hi - lo) / 2; s <- lo + h + h * G$x
  1 - sum(h * G$w * dens(s) * vapply(c * s, inside, 0)) }
cat("shape,side,df,c,p_above\n")
put <- function(shape, side, df, inside) { p <- above(inside, df); for (c in c(1.2, 2.4, 3.3)) cat(shape, side, df, c, p(c), sep = ",", fill = TRUE) }
for (df in c(12.5, Inf)) {
  for (two in c(TRUE, FALSE)) { side <- if (two) "two" else "greater"
    put("product", side, df, product(c(0.9, 0.5, -0.3, 0.7), two)); put("sharp", side, df, product(c(0.999, 0.999, 0.6), two))
    put("nearly", side, df, nearly(c(0.7, 0.75, 0.65, 0.6), c(0.2, -0.2, 0.15, 0.1), two))
    put("chain", side, df, markov(0.5, 5, two)); put("between", side, df, between(5, two)) }
  put("three", "two", df, three(c(1, 2, 4)))
}
# four means, normal only: means one and two outside, the chance of the fourth given three inside the integral over the third
four <- function(v) function(w) { s <- function(i, j) w * sqrt(v[i] + v[j]); d <- function(x, i) dnorm(x, 0, sqrt(v[i])); P <- function(x, i) pnorm(x, 0, sqrt(v[i]))
  inner <- function(a, b) { lo <- max(a - s(1, 3), b - s(2, 3)); hi <- min(a + s(1, 3), b + s(2, 3)); if (hi <= lo) return(0)
    g <- function(x) d(x, 3) * pmax(0, P(pmin(a + s(1, 4), b + s(2, 4), x + s(3, 4)), 4) - P(pmax(a - s(1, 4), b - s(2, 4), x - s(3, 4)), 4))
    k <- c(min(a + s(1, 4), b + s(2, 4)) - s(3, 4), max(a - s(1, 4), b - s(2, 4)) + s(3, 4)); k <- sort(c(lo, k[k > lo & k < hi], hi))
    sum(vapply(seq_len(length(k) - 1), function(i) { h <- (k[i + 1] - k[i]) / 2; y <- k[i] + h + h * H$x; sum(h * H$w * g(y)) }, 0)) }
  x <- seq(-6.5, 6.5, length.out = 401); hx <- x[2] - x[1] # trapezoid over the first mean, Gauss over the second in pieces
  sum(vapply(x * sqrt(v[1]), function(a) { k <- a + s(1, 2) * c(-1, -0.5, 0, 0.5, 1); d(a, 1) * sum(vapply(1:4, function(i) { h <- (k[i + 1] - k[i]) / 2; y <- k[i] + h + h * H$x
    sum(h * H$w * d(y, 2) * vapply(y, function(b) inner(a, b), 0)) }, 0)) }, 0)) * hx * sqrt(v[1]) }
H <- gauss(24)
put("four", "two", Inf, four(c(1, 2, 4, 0.5)))
put("near four", "two", Inf, four(c(1, 1.1, 0.95, 1.05)))
