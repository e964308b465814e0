# Likelihood of replies about log-normal own limits, written afresh for R 4.2: maximum, quantiles, shares and their profile limits.
# Run in this folder: Rscript replies.R > replies.csv
#
# P(no at age a) = s + (1 - 2 s) pnorm((log a - m)/tau), m ~ N(mu, sigma^2). "sharp" holds tau at 0 and s at 0 and takes the two
# replies about the first no. The integral over m is cut at every log age and a few tau about it and at steps of sigma, 12
# Gauss-Legendre nodes a piece. Limits: where 2 (max - profile) = n log(1 + t^2/(n-1)), found by uniroot; the profile is the
# best of several optim runs. One in ten and shares take sigma sqrt(n/(n-1)).

legendre <- function(k) { # Golub & Welsch 1969, Math. Comp. 23, 221
  i <- seq_len(k - 1); b <- i / sqrt(4 * i^2 - 1); J <- matrix(0, k, k)
  J[cbind(i, i + 1)] <- b; J[cbind(i + 1, i)] <- b
  e <- eigen(J, symmetric = TRUE)
  list(x = e$values, w = 2 * e$vectors[1, ]^2)
}
GL <- legendre(12)

one <- function(age, no, mu, sigma, tau, s) { # likelihood of one taster
  if (tau == 0) { # exact: own limit below a means no
    cut <- sort(unique(log(age))); edge <- c(-Inf, cut, Inf); total <- 0
    for (c in seq_len(length(edge) - 1)) {
      limit <- edge[c + 1] # any limit of this cell: ages from its upper end on are past it
      p <- ifelse(log(age) >= limit, 1 - s, s)
      total <- total + diff(pnorm(edge[c + 0:1], mu, sigma)) * prod(ifelse(no, p, 1 - p))
    }
    return(total)
  }
  la <- log(age)
  edge <- c(outer(la, tau * c(-6, -3, -1.5, 0, 1.5, 3, 6), "+"), mu + sigma * seq(-9, 9, 1))
  edge <- sort(unique(edge[abs(edge - mu) <= 9 * sigma]))
  half <- diff(edge) / 2; mid <- edge[-1] - half
  m <- c(outer(GL$x, half) + rep(mid, each = 12)); w <- c(outer(GL$w, half))
  f <- dnorm(m, mu, sigma)
  for (j in seq_along(la)) { p <- s + (1 - 2 * s) * pnorm((la[j] - m) / tau); f <- f * if (no[j]) p else 1 - p }
  sum(w * f)
}

loglik <- function(d, mu, sigma, tau, s) sum(vapply(d, function(x) log(max(one(x$age, x$no, mu, sigma, tau, s), 1e-300)), 0))

# best value over (spread, tau) of the likelihood with mu = centre(sigma)
inner <- function(d, centre, s, sharp, sigma_fixed = NULL) {
  try_tau <- function(tau_of, starts) {
    best <- -Inf; arg <- NULL
    for (st in starts) {
      f <- function(v) { sg <- exp(v[1]); if (sg < 1e-4 || sg > 50) return(1e10); tau <- tau_of(v); if (tau > 20) return(1e10); -loglik(d, centre(sg), sg, tau, s) }
      r <- if (length(st) == 1) optim(st, f, method = "Brent", lower = log(1e-4), upper = log(50)) else optim(st, f, control = list(reltol = 1e-12, maxit = 2000))
      if (-r$value > best) { best <- -r$value; arg <- c(sigma = exp(r$par[1]), tau = tau_of(r$par)) }
    }
    list(value = best, arg = arg)
  }
  zero <- try_tau(function(v) 0, list(log(.3)))
  if (sharp) return(zero)
  some <- try_tau(function(v) exp(v[2]), list(log(c(.3, .2)), log(c(.02, .4)), log(c(.8, .05))))
  if (some$value > zero$value) some else zero
}

profile_at <- function(d, z, k, s, sharp) function(q) inner(d, function(sg) q - z * k * sg, s, sharp)

analyse <- function(name, mode, ages, words, s, sharp, first_no) {
  d <- lapply(words, function(w) {
    ch <- strsplit(w, "")[[1]]; keep <- ch != "."; x <- list(age = ages[seq_along(ch)][keep], no = ch[keep] == "n")
    if (first_no) { # the two replies about the first no after an acceptance
      i <- which(x$no & cumsum(!x$no) > 0)[1]; x <- list(age = x$age[c(i - 1, i)], no = x$no[c(i - 1, i)])
    }
    x
  })
  n <- length(d); k <- sqrt(n / (n - 1)); t2 <- qt(.975, n - 1)^2; cut <- n * log(1 + t2 / (n - 1))
  out <- function(stat, age, value) cat(name, mode, paste(ages, collapse = " "), paste(words, collapse = " "), stat, age, sprintf("%.7g", value), sep = ","); line <- function(...) { out(...); cat("\n") }
  half <- profile_at(d, 0, k, s, sharp)
  top <- optimize(function(q) half(q)$value, log(range(ages)), maximum = TRUE, tol = 1e-7)
  fit <- half(top$maximum)
  line("loglik", "", fit$value); line("sigma", "", fit$arg[["sigma"]]); line("tau", "", fit$arg[["tau"]])
  ends <- function(prof, at, step, dir) {
    drop <- function(q) 2 * (fit$value - prof(q)$value) - cut
    b <- at; repeat { b <- b + dir * step; if (drop(b) > 0) break; if (abs(b - at) > 30 * step) return(dir * Inf) }
    uniroot(drop, sort(c(b - dir * step, b)), tol = 1e-7)$root
  }
  quant <- function(stat, z) {
    at <- top$maximum + z * k * fit$arg[["sigma"]]; prof <- profile_at(d, z, k, s, sharp)
    line(stat, "", exp(at)); line(paste0(stat, "_lower"), "", exp(ends(prof, at, .15, -1))); line(paste0(stat, "_upper"), "", exp(ends(prof, at, .15, 1)))
  }
  quant("q50", 0)
  if (n >= 6) quant("q25", qnorm(.25))
  if (n >= 8) quant("q10", qnorm(.1))
  for (a in ages) {
    if (fit$arg[["sigma"]] < 1e-3) break
    zz <- (log(a) - top$maximum) / (k * fit$arg[["sigma"]])
    prof <- function(u) inner(d, function(sg) log(a) - u * k * sg, s, sharp)
    line("share", a, pnorm(-zz)); line("share_lower", a, pnorm(-ends(prof, zz, .25, 1))); line("share_upper", a, pnorm(-ends(prof, zz, .25, -1)))
    if (!sharp) line("of_replies", a, 1 - (s + (1 - 2 * s) * pnorm((log(a) - top$maximum) / sqrt((k * fit$arg[["sigma"]])^2 + fit$arg[["tau"]]^2))))
  }
}

cat("case,mode,ages,words,statistic,age,value\n")
by2 <- function(n) 2 * seq_len(n)
twelve <- c("ynn", "yynn", "yynn", "yynn", "yyynn", "yyynn", "yyynn", "yyynn", "yyyynn", "yyyynn", "yyyyynn", "yyyyyynn")
nine <- c("yynynn", "ynn", "yyynn", "yynn", "yyyynynn", "yyynn", "nyynn", "yyyyynn", "yynn")
analyse("clean", "sip_through", by2(8), twelve, .02, FALSE, FALSE)
analyse("wavering", "sip_through", by2(8), nine, .02, FALSE, FALSE)
analyse("wavering without slips", "sip_through", by2(8), nine, 0, FALSE, FALSE)
analyse("wavering with 5 % slips", "sip_through", by2(8), nine, .05, FALSE, FALSE)
analyse("stopped at the first no", "sip_through", by2(5), c("yn", "yyn", "yyn", "yyyn", "yyn", "yyyn", "yyn", "yyyyn"), 0, TRUE, TRUE)
analyse("beside", "side_by_side", c(4, 7, 11, 15), c("yyyn", "yynn", "ynnn", "ynyn", "yyyn", "yynn"), .02, FALSE, FALSE)
