# Writes limits.csv, ranks.csv, cdf.csv: base R values that analysis/internal/binomial is held against.
# Run in this folder: Rscript make.R
num <- function(x) sprintf("%.17g", x)
put <- function(d, f) { d[] <- lapply(d, function(v) if (is.double(v)) num(v) else v); write.csv(d, f, row.names = FALSE, quote = FALSE) }
rows <- list()
for (level in c(0.9, 0.95, 0.99)) for (n in c(1, 2, 3, 5, 8, 12, 30, 100, 1000))
  for (x in unique(pmin(n, c(0, 1, 2, n %/% 3, n %/% 2, n - 1, n)))) {
    ci <- binom.test(x, n, conf.level = level)$conf.int
    rows[[length(rows) + 1]] <- data.frame(x = as.integer(x), n = as.integer(n), level = level, lower = ci[1], upper = ci[2])
  }
put(do.call(rbind, rows), "limits.csv")
rows <- list()
for (level in c(0.8, 0.9, 0.95, 0.99)) for (n in c(1, 2, 3, 5, 6, 8, 12, 30, 100, 999)) for (p in c(0.1, 0.25, 0.5, 0.75, 0.9)) {
  tail <- (1 - level) / 2
  l <- qbinom(tail, n, p); u <- qbinom(tail, n, p, lower.tail = FALSE) + 1
  near <- abs(c(pbinom(c(l - 1, l), n, p), pbinom(c(u - 1, u - 2), n, p, lower.tail = FALSE)) / tail - 1)
  if (any(near < 1e-9)) next   # a tail met exactly: left to hand-worked cases, rounding decides here
  stopifnot(pbinom(l - 1, n, p) <= tail, pbinom(l, n, p) > tail, pbinom(u - 1, n, p, lower.tail = FALSE) <= tail,
            u == 0 || pbinom(u - 2, n, p, lower.tail = FALSE) > tail)
  rows[[length(rows) + 1]] <- data.frame(n = as.integer(n), p = p, level = level, l = as.integer(l), u = as.integer(u))
}
put(do.call(rbind, rows), "ranks.csv")
g <- expand.grid(k = c(0L, 1L, 3L, 10L, 49L, 400L), n = c(1L, 5L, 12L, 100L, 1000L), p = c(0.001, 0.1, 0.5, 0.93))
g <- g[g$k <= g$n, ]
g$below <- pbinom(g$k, g$n, g$p); g$above <- pbinom(g$k - 1, g$n, g$p, lower.tail = FALSE)
put(g, "cdf.csv")
