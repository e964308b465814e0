# Upper tail of the studentised range, and where it is 0.05, in base R: by ptukey, and by the double integral of which ptukey
# keeps about six digits at 3 degrees of freedom. Call, from this folder:
#   Rscript studentised_range.R > studentised_range.csv
options(digits = 15)
gauss <- function(n) { i <- 1:(n - 1); b <- i / sqrt(4 * i^2 - 1); J <- matrix(0, n, n); J[cbind(i, i + 1)] <- b; J[cbind(i + 1, i)] <- b
  e <- eigen(J, symmetric = TRUE); list(x = e$values, w = 2 * e$vectors[1, ]^2) }
G <- gauss(200)
on <- function(f, a, b) { h <- (b - a) / 2; sum(h * G$w * f(a + h + h * G$x)) }
normal <- function(w, k) k * on(function(x) dnorm(x) * (pnorm(x)^(k - 1) - (pnorm(x) - pnorm(x - w))^(k - 1)), -9, 9 + w / 2)
above <- function(q, k, df) { if (is.infinite(df)) return(normal(q, k)) # over v = log s, df s^2 chi-square
  f <- function(v) exp(log(2) + df / 2 * log(df / 2) - lgamma(df / 2) + df * v - df * exp(2 * v) / 2) * vapply(q * exp(v), normal, 0, k = k)
  lo <- max(-50 / df, -12) - log1p(q); on(f, lo, -1) + on(f, -1, 0) + on(f, 0, log(sqrt(qchisq(1e-17, df, lower.tail = FALSE) / df))) }
cat("means,df,q,p_above,p_ptukey,critical_05\n")
for (k in c(3, 4, 6, 10)) for (df in c(3, 7.5, 24, 200, Inf)) {
  critical <- uniroot(function(q) above(q, k, df) - 0.05, c(2, 12), tol = 1e-12)$root
  for (q in c(1, 2.5, 4, 6)) cat(k, df, q, above(q, k, df), ptukey(q, k, df, lower.tail = FALSE), critical, sep = ",", fill = TRUE)
}
