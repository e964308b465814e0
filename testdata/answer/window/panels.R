# Prime windows of the demo evenings and of four invented panels by another route: lmer, Kenward and Roger's covariance and degrees of freedom, the pointwise 95 % t band on a
# grid of 0.02 min, every crossing refined by uniroot. Rscript panels.R > panels.csv in this folder; about three minutes.
# Scores that are better low are turned first, so that curve and lines of the panel low are of -score. Terms whose variance is 0
# stay in for the degrees of freedom, as pbkrtest does it.
suppressMessages({library(lme4); library(pbkrtest); library(splines)})
options(contrasts = c("contr.sum", "contr.poly"))
tight <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-10, maxfun = 1e6), check.conv.singular = "ignore", check.conv.grad = "ignore")
minutes <- function(s) sapply(strsplit(as.character(s), ":"), function(p) sum(as.numeric(p) * c(60, 1, 1 / 60)))
demo <- function(dir, style) {
  t <- read.csv(file.path("../../../datasets", dir, "tastes.csv"), colClasses = c(pour = "character"))
  p <- read.csv(file.path("../../../datasets", dir, "pours.csv"), colClasses = c(pour = "character"))
  m <- match(t$pour, p$pour)
  if (is.null(t$age_min)) t$age_min <- (minutes(t$tasted_at) - minutes(p$made_at[m])) %% (24 * 60)
  d <- data.frame(evening = dir, batch = p$batch[m], taster = t$taster, planned = t$planned_age_min, age = t$age_min, score = t$liking)
  d[p$style[m] == style & !is.na(d$score), ]
}
invented <- function(name) read.csv(paste0(name, ".csv"))

# What lies at or above a limit, by a function of age that gives mean, lower and upper; ages are the grid.
window <- function(at, ages, limit) {
  v <- t(sapply(ages, at)); n <- length(ages)
  cross <- function(k, i, j) uniroot(function(a) at(a)[k] - limit, sort(ages[c(i, j)]), tol = 1e-10)$root
  above <- v[, 1] >= limit
  out <- c(from = NA, from_lower = NA, from_upper = NA, to = NA, to_lower = NA, to_upper = NA, at_least = NA)
  low <- v[, 2] >= limit
  if (any(low)) { j <- which.max(v[, 2]); while (j < n && low[j + 1]) j <- j + 1; out["at_least"] <- if (j == n) ages[n] else cross(2, j, j + 1) }
  if (!any(above)) return(out)
  i <- j <- which.max(v[, 1])
  while (i > 1 && above[i - 1]) i <- i - 1
  while (j < n && above[j + 1]) j <- j + 1
  out["from"] <- if (i == 1) ages[1] else cross(1, i - 1, i)
  if (j < n) out["to"] <- cross(1, j, j + 1)
  before <- which(v[, 3] < limit & seq_len(n) < i); after <- which(v[, 3] < limit & seq_len(n) > j)
  out["from_lower"] <- if (length(before)) cross(3, max(before), max(before) + 1) else 0
  out["to_upper"] <- if (length(after)) cross(3, min(after) - 1, min(after)) else Inf
  sure <- which(low & seq_len(n) >= i & seq_len(n) <= j)
  out["from_upper"] <- if (!length(sure)) Inf else if (min(sure) == 1) ages[1] else cross(2, min(sure) - 1, min(sure))
  out["to_lower"] <- if (!length(sure)) 0 else if (max(sure) == n) ages[n] else cross(2, max(sure), max(sure) + 1)
  out
}
show <- function(panel, variant, w) for (s in names(w)) cat(paste(panel, variant, s, format(w[[s]], digits = 12), sep = ","), "\n", sep = "")

answer <- function(panel, d, beside, random, limit = 7, sign = 1) {
  d$score <- sign * d$score; limit <- sign * limit
  d$batch <- interaction(d$evening, d$batch, drop = TRUE)
  steps <- sort(tapply(d$age, d$planned, mean)); n <- length(steps)
  if (n >= 5) {
    p <- if (length(unique(d$taster)) >= 20) c(1, 2, 3) / 4 else c(1, 2) / 3
    knots <- quantile(steps, p, type = 7)
    basis <- function(a) ns(a, knots = knots, Boundary.knots = range(steps), intercept = FALSE)
    row <- function(a) c(1, basis(a))
    own <- function(x) lm.fit(cbind(1, x$B), x$score)$coefficients
    d$B <- unclass(basis(d$age)); attributes(d$B) <- attributes(d$B)["dim"]
  } else { # one mean per step
    row <- function(a) sapply(seq_len(n), function(k) approx(steps, as.numeric(seq_len(n) == k), a)$y)
    own <- function(x) tapply(x$score, factor(x$planned), mean)
  }
  f <- if (n >= 5) "score ~ 1 + B" else "score ~ 0 + factor(planned)"
  build <- function(random) lmer(as.formula(paste(c(f, beside, "(1 + age | taster)", random), collapse = " + ")), d, control = tight, REML = TRUE)
  fit <- build(random)
  beta <- fixef(fit); V <- vcovAdj(fit); V0 <- vcov(fit)
  pad <- function(r) c(r, rep(0, length(beta) - length(r)))
  infer <- function(L) {
    if (all(L == 0)) return(c(0, 0, 0))
    se <- sqrt(as.numeric(L %*% V %*% L)); m <- sum(L * beta)
    h <- qt(0.975, Lb_ddf(L, V0, V)) * se
    c(m, m - h, m + h)
  }
  ages <- sort(unique(c(seq(steps[1], steps[n], by = 0.02), steps)))
  at <- function(a) infer(pad(row(a)))
  show(panel, "", window(at, ages, limit))
  show(panel, "limit_up", window(at, ages, limit + 1))
  show(panel, "limit_down", window(at, ages, limit - 1))
  show(panel, "one_point", window(function(a) infer(pad(row(a)) - pad(row(steps[1]))), ages, -1))
  each <- sapply(split(d, d$taster), own); k <- ncol(each)
  show(panel, "own_curves", window(function(a) { y <- row(a) %*% each; h <- qt(0.975, k - 1) * sd(y) / sqrt(k); c(mean(y), mean(y) - h, mean(y) + h) }, ages, limit))
  u <- ranef(fit)$taster; mid <- mean(range(steps))
  show(panel, "line", setNames(sum(pad(row(mid)) * beta) + u[, 1] + mid * u[, 2], rownames(u)))
  for (a in c(steps[1], mean(range(steps)), steps[n])) { v <- at(a); show(panel, "curve", setNames(c(a, v), c("age", "mean", "lower", "upper"))) }
}
cat("panel,variant,statistic,value\n")
answer("sour", demo("sour-evening", "sour"), NULL, "(1 | batch)")
answer("stirred", demo("stirred-evening", "stirred"), NULL, "(1 | batch)")
answer("highball", demo("stirred-evening", "highball"), NULL, "(1 | batch)")
answer("evenings", invented("evenings"), "evening", "(1 | batch)")
answer("batches", invented("batches"), "batch", NULL)
answer("joined", invented("joined"), NULL, NULL)
answer("low", invented("low"), NULL, "(1 | evening)", limit = 3, sign = -1)
