# Prime windows of the demonstration evenings by a second route: lme4 (lmer), pbkrtest (vcovAdj, Lb_ddf), splines (ns).
# Rscript testdata/answer/window/window.R from the repository's root writes testdata/answer/window/window.csv.
suppressPackageStartupMessages({library(lme4); library(pbkrtest); library(splines)})
out <- NULL
session <- function(dir) {
  d <- read.csv(file.path("datasets", dir, "tastes.csv")); p <- read.csv(file.path("datasets", dir, "pours.csv"))
  for (v in setdiff(names(p), "pour")) if (!v %in% names(d)) d[[v]] <- p[[v]][match(d$pour, p$pour)]
  if (is.null(d$age_min)) { # clock times, past midnight too
    clock <- function(x) sapply(strsplit(x, ":"), function(v) sum(as.numeric(v) * c(60, 1, 1 / 60)))
    d$age_min <- (clock(d$tasted_at) - clock(d$made_at)) %% 1440
  }
  d$age <- d$age_min
  d
}
steps <- function(d) { # planned age where there is one, else neighbours within half a minute
  if (!is.null(d$planned_age_min) && all(!is.na(d$planned_age_min))) return(tapply(d$age, d$planned_age_min, mean))
  a <- sort(d$age); g <- cumsum(c(TRUE, diff(a) > 0.5 + 1e-9)); tapply(a, g, mean)
}
window <- function(dir, style, limit = 7) {
  d <- session(dir); d <- d[d$style == style & !is.na(d$liking), ]
  d$liking <- as.numeric(d$liking); d <- d[!is.na(d$liking) & d$liking >= 0 & d$liking <= 10, ]
  s <- as.numeric(steps(d)); kn <- quantile(s, c(1, 2) / 3, type = 7); b <- range(s)
  form <- liking ~ ns(age, knots = kn, Boundary.knots = b) + (age | taster) + (1 | batch)
  environment(form) <- environment()
  m <- lmer(form, d, control = lmerControl(optimizer = "bobyqa", optCtrl = list(maxfun = 1e5, rhoend = 1e-10)))
  V <- vcovAdj(m)
  at <- function(a, shift = 0) { l <- c(1, ns(a, knots = kn, Boundary.knots = b)); e <- sum(l * fixef(m)); se <- sqrt(as.numeric(t(l) %*% V %*% l))
    df <- get_Lb_ddf(m, l); t <- qt(.975, df); c(e, e - t * se, e + t * se) }
  cross <- function(k, lo, hi, lim = limit) tryCatch(uniroot(function(a) at(a)[k] - lim, c(lo, hi), tol = 1e-9)$root, error = function(e) NA)
  first <- function(k, lim = limit) { g <- seq(b[1], b[2], .1); v <- sapply(g, function(a) at(a)[k]); i <- which(v[-length(v)] >= lim & v[-1] < lim)[1]; if (is.na(i)) NA else cross(k, g[i], g[i + 1], lim) }
  r <- data.frame(session = dir, style = style, statistic = c("to", "to_lower", "to_upper", "to_limit_up", "to_limit_down", "fresh", "fresh_lower", "fresh_upper"),
    value = c(first(1), first(2), first(3), first(1, 8), first(1, 6), at(b[1])))
  out <<- rbind(out, r)
}
window("sour-evening", "sour"); window("stirred-evening", "stirred"); window("stirred-evening", "highball")
out$value <- signif(out$value, 10)
write.csv(out, "testdata/answer/window/window.csv", row.names = FALSE, quote = FALSE)
print(out); cat(R.version.string, as.character(packageVersion("lme4")), as.character(packageVersion("pbkrtest")), "\n")
