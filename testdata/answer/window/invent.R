# Four invented panels, for panels.R and the tests beside it. Rscript invent.R writes them here.
#   evenings: two evenings (fixed), three batches each (six: random), eight tasters, seven ages
#   batches:  two evenings with three batches and one (four: fixed), eight tasters, six ages
#   joined:   four ages, so one mean each, joined; good only from a while after the making
#   low:      staleness, low is better; five evenings (random), twenty tasters (4 degrees of freedom), six ages
set.seed(20310304)
half <- function(x) round(2 * x) / 2
invent <- function(name, tasters, ages, evenings, batches, course, sd, top = 10) {
  who <- setNames(lapply(seq_len(tasters), function(i) c(rnorm(1, 0, sd["taster"]), rnorm(1, 0, sd["slope"]))), LETTERS[seq_len(tasters)])
  out <- NULL
  for (e in seq_len(evenings)) {
    off <- if (evenings > 1) rnorm(1, 0, sd["evening"]) else 0
    own <- rnorm(batches[e], 0, sd["batch"])
    for (i in seq_len(tasters)) for (a in ages) {
      b <- (i + e) %% batches[e] + 1
      age <- round(a + runif(1, -0.2, 0.2), 2)
      y <- course(age) + who[[i]][1] + who[[i]][2] * age + off + own[b] + rnorm(1, 0, sd["repeat"])
      out <- rbind(out, data.frame(evening = paste0("e", e), batch = paste0("b", b), taster = names(who)[i], planned = a, age = age, score = min(top, max(0, half(y)))))
    }
  }
  write.csv(out, paste0(name, ".csv"), row.names = FALSE, quote = FALSE)
}
sd <- c(taster = 0.6, slope = 0.06, evening = 0.5, batch = 0.4, `repeat` = 0.5)
invent("evenings", 8, c(1, 3, 5, 7, 9, 11, 13), 2, c(3, 3), function(a) 8.6 - 0.1 * a - 0.02 * a^2, sd)
invent("batches", 8, c(1, 3, 5, 7, 9, 12), 2, c(3, 1), function(a) 8.8 - 0.3 * a, sd)
invent("joined", 10, c(1, 4, 8, 12), 1, 1, function(a) 6.2 + 0.55 * a - 0.05 * a^2, sd)
invent("low", 20, c(0.5, 2, 4, 6, 8, 11), 5, rep(1, 5), function(a) 1 + 0.04 * a + 0.035 * a^2, sd)
