# Writes isoreg.csv: invented status rows and the isotonic share that base R gives for each.
# Run in this folder: Rscript isoreg.R
set.seed(20310304)
n <- 60
time <- c(sample(seq(1, 15, by = 2), 30, TRUE), round(runif(30, 0.5, 16), 2))
over <- as.integer(rweibull(n, 2, 8) <= time)
s <- isoreg(time, over)          # ties in time are joined: sorted by time, then over first
o <- if (s$isOrd) seq_len(n) else s$ord
write.csv(data.frame(time = time[o], over = over[o], share = sprintf("%.17g", s$yf)), "isoreg.csv", row.names = FALSE, quote = FALSE)
