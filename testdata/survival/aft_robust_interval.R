# Cluster sandwich of interval-censored accelerated failure time fits, taster as cluster, no small-sample factor.
# Call: Rscript aft_robust_interval.R > aft_robust_interval.csv   (R 4.2.2, survival 3.5.3, in this folder)
# residuals.survreg gives the score in log(scale) of interval-censored rows with the wrong sign (its sum at the maximum is
# not 0), and survreg(robust = TRUE) uses it. Here that score is a central difference of each row's log-likelihood.
suppressMessages(library(survival))
p <- read.csv("sim_panel_ic.csv")
S <- with(p, Surv(ifelse(left == 0, NA, left), ifelse(is.infinite(right), NA, right), type = "interval2"))
std <- list(weibull = function(z) exp(-exp(z)), lognormal = function(z) pnorm(z, lower.tail = FALSE), loglogistic = function(z) plogis(z, lower.tail = FALSE))
cat("family,row,column,value\n")
for (dn in names(std)) {
  f <- survreg(S ~ style, p, dist = dn, control = survreg.control(maxiter = 500, rel.tolerance = 1e-14))
  eta <- predict(f, type = "lp")
  ll <- function(h) { s <- f$scale * exp(h); P <- function(t) ifelse(t == 0, 1, ifelse(is.infinite(t), 0, std[[dn]]((log(pmax(t, 1e-300)) - eta) / s))); log(P(p$left) - P(p$right)) }
  h <- 1e-3; ds <- (8 * (ll(h) - ll(-h)) - (ll(2 * h) - ll(-2 * h))) / (12 * h)
  m <- residuals(f, type = "matrix"); X <- model.matrix(f)
  stopifnot(abs(sum(ds)) < 1e-7, abs(sum(m[, "ds"])) > 1)         # ours is a score, theirs is not
  both <- is.finite(p$right) & p$left > 0
  flip <- ifelse(both, -1, 1); stopifnot(max(abs(m[, "ds"] - flip * ds)) < 1e-7)
  V <- f$var; W <- V %*% crossprod(rowsum(cbind(m[, "dg"] * X, ds), p$taster)) %*% V
  R <- survreg(S ~ style + cluster(taster), p, dist = dn, robust = TRUE, control = survreg.control(maxiter = 500, rel.tolerance = 1e-14))$var
  Wr <- V %*% crossprod(rowsum(cbind(m[, "dg"] * X, m[, "ds"]), p$taster)) %*% V
  stopifnot(max(abs(Wr - R)) < 1e-9)                               # the sign is the whole difference
  for (i in seq_len(nrow(W))) for (j in seq_len(i)) cat(sprintf("%s,%d,%d,%.15g\n", dn, i, j, W[i, j]))
}
