# Writes reply_survreg.csv and reply_survreg_fit.csv: invented intervals, and what survreg() of the survival package makes of
# them as log-normal times. Run in this folder: Rscript reply_survreg.R (R 4.2.2, survival 3.5.3).
suppressPackageStartupMessages(library(survival))
set.seed(20310305)
rows <- data.frame(); fits <- data.frame()
for (k in 1:6) {
  n <- c(5, 8, 12, 24, 40, 12)[k]
  grid <- list(seq(2, 16, 2), seq(2, 16, 2), 1:16, seq(2, 16, 2), 1:16, c(1, 2, 3, 5, 8, 12, 16))[[k]]
  x <- rep(0:1, length.out = n)
  t <- exp(log(7) + 0.4 * x * (k > 3) + 0.5 * rnorm(n))
  l <- sapply(t, function(v) max(c(0, grid[grid < v]))); r <- sapply(t, function(v) min(c(Inf, grid[grid >= v])))
  rows <- rbind(rows, data.frame(set = k, x = x, left = l, right = r))
  s <- Surv(ifelse(l == 0, NA, l), ifelse(is.infinite(r), NA, r), type = "interval2")
  f <- if (k > 3) survreg(s ~ x, dist = "lognormal", control = survreg.control(rel.tolerance = 1e-14, maxiter = 200)) else
    survreg(s ~ 1, dist = "lognormal", control = survreg.control(rel.tolerance = 1e-14, maxiter = 200))
  b <- unname(coef(f)); if (length(b) == 1) b <- c(b, NA)
  fits <- rbind(fits, data.frame(set = k, intercept = sprintf("%.15g", b[1]), x = sprintf("%.15g", b[2]), scale = sprintf("%.15g", f$scale), loglik = sprintf("%.15g", f$loglik[2])))
}
write.csv(rows, "reply_survreg.csv", row.names = FALSE, quote = FALSE)
write.csv(fits, "reply_survreg_fit.csv", row.names = FALSE, quote = FALSE)
