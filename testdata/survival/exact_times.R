# Writes exact_times_rows.csv and exact_times.csv: invented rows with many ties, and what survival and cmprsk make of them.
# Rscript exact_times.R, with R 4.2.2, survival 3.5.3, cmprsk 2.2.11; seed 20310306.
library(survival)
library(cmprsk)
set.seed(20310306)
rows <- out <- NULL
say <- function(set, what, key, value) {
  out <<- rbind(out, data.frame(set = set, what = what, key = key, value = format(value, digits = 16, trim = TRUE)))
}
for (set in 1:6) {
  n <- c(12, 20, 30, 40, 60, 80)[set]
  d <- data.frame(set = set, time = if (set == 6) round(rexp(n, 0.1), 3) else ceiling(rexp(n, 0.2)), cause = sample(0:2, n, TRUE),
                  group = rep(0:2, length.out = n), stratum = sample(0:1, n, TRUE), weight = sample(0:4, n, TRUE))
  rows <- rbind(rows, d)
  for (type in c("plain", "log", "log-log", "logit")) {
    f <- survfit(Surv(time, cause > 0) ~ 1, d, conf.type = type)
    q <- quantile(f, 1:9 / 10)
    for (end in c("quantile", "lower", "upper")) say(set, paste(type, end), 1:9, q[[end]])
  }
  w <- survfit(Surv(time, cause > 0) ~ 1, d, weights = weight, subset = weight > 0, robust = FALSE, conf.type = "log-log")
  w <- summary(w, censored = TRUE)
  say(set, "weighted surv", w$time, w$surv)
  say(set, "weighted se", w$time, w$std.err)
  say(set, "weighted se of the hazard", w$time, w$std.chaz)
  say(set, "weighted lower", w$time, w$lower)
  for (rho in c(0, 0.5, 1, -1)) {
    p <- survdiff(Surv(time, cause > 0) ~ group, d, rho = rho)
    s <- survdiff(Surv(time, cause > 0) ~ group + strata(stratum), d, rho = rho)
    say(set, "log-rank", rho, p$chisq)
    say(set, "log-rank in strata", rho, s$chisq)
    for (k in 1:2) {
      g <- cuminc(d$time, d$cause, d$group, rho = rho, cencode = 0)
      say(set, paste("gray", k), rho, g$Tests[k, "stat"])
      g <- cuminc(d$time, d$cause, d$group, d$stratum, rho = rho, cencode = 0)
      say(set, paste("gray in strata", k), rho, g$Tests[k, "stat"])
    }
  }
  m <- survfit(Surv(time, factor(cause, 0:2, c("none", "a", "b"))) ~ 1, d, conf.type = "log-log")
  m <- summary(m, censored = TRUE)
  a <- timepoints(cuminc(d$time, d$cause, cencode = 0), m$time)
  for (k in 1:2) {
    say(set, paste("incidence", k), m$time, m$pstate[, k + 1])
    say(set, paste("jackknife se", k), m$time, m$std.err[, k + 1])
    say(set, paste("lower", k), m$time, m$lower[, k + 1])
    say(set, paste("upper", k), m$time, m$upper[, k + 1])
    say(set, paste("aalen se", k), m$time, sqrt(a$var[k, ]))
  }
}
write.csv(rows, "exact_times_rows.csv", row.names = FALSE, quote = FALSE)
write.csv(out, "exact_times.csv", row.names = FALSE, quote = FALSE)
