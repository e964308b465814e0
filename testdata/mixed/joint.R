# Tests of several fixed effects at once in unbalanced panels, and Kenward-Roger at variances of 0.
# Rscript joint.R > joint.csv   (R 4.2.2, lme4 1.1-31, lmerTest 3.1-3, pbkrtest 0.5.2), in this folder
suppressMessages(library(lmerTest))
tight <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-12, maxfun = 1e5), check.conv.singular = "ignore")
say <- function(id, method, t) cat(sprintf("%s,%s,%.15g,%.15g,%.15g,%.15g\n", id, method, t$NumDF, t$DenDF, t$`F value`, t$`Pr(>F)`))
both <- function(id, m, L) for (ddf in c("Satterthwaite", "Kenward-Roger")) say(id, ddf, suppressMessages(contest(m, L, ddf = ddf)))
cat("case,method,num,den,F,p\n")
d <- read.csv("sim_crossed.csv", colClasses = c(taster = "factor", drink = "factor", style = "factor"))
d <- d[seq_len(nrow(d)) %% 7 != 3 & !(d$taster == "2" & d$time > 10) & !(d$drink == "1" & d$taster %in% c("3", "4", "5")), ]
m <- lmer(score ~ style * time + (1 + time | taster) + (1 | drink), d, control = tight)
E <- diag(6)
both("crossed_style", m, E[2:3, ]); both("crossed_slopes", m, E[5:6, ]); both("crossed_all", m, E[2:6, ])
both("crossed_at_20", m, rbind(c(0, 1, 0, 0, 20, 0), c(0, 0, 1, 0, 0, 20)))
e <- read.csv("ergostool.csv", colClasses = c(Type = "factor", Subject = "factor"))
e <- e[!(seq_len(nrow(e)) %in% c(1, 6, 7, 12, 17, 30)), ]
m <- lmer(effort ~ Type + (1 | Subject), e, control = tight)
both("ergostool_type", m, diag(4)[2:4, ]); both("ergostool_pairs", m, rbind(c(0, 1, -1, 0), c(0, 0, 1, -1)))
# singular: everything that follows has a variance of 0 at the optimum
y <- read.csv("dyestuff2.csv", colClasses = c(Batch = "factor"))
m <- lmer(Yield ~ 1 + (1 | Batch), y, control = tight)
say("dyestuff2_mean", "Kenward-Roger", suppressMessages(contest(m, 1, ddf = "Kenward-Roger")))
