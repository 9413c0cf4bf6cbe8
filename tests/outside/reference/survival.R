# Time to a first infection as R's `survival` gives it: writes survival.json, which tests/outside reads.
#
#     Rscript survival.R survival.json
#
# Made with R 4.2.2 and survival 3.5-3 (Debian 12: r-base-core, r-cran-survival). No other package is needed: the writer
# below prints JSON with 17 significant digits. The spells are in the file, so that other readers use the same ones.
#
# A spell is at risk on day t if from <= t <= to; R's (start, stop] is at risk if start < t <= stop. So start = from - 1.
# A limit is null if the curve is 0 or 1, and a standard error of freedom if the curve is 0.

suppressPackageStartupMessages(library(survival))
stopifnot(packageVersion("survival") == "3.5.3")

ENDS <- c("infection", "death", "transplant", "recovery")
LIMITS <- "log-log"
NEAR <- 1e-12

# ---- the spells -------------------------------------------------------------------------------------------------

spells <- function(from, to, end) data.frame(from = from, to = to, end = end)

# Weeks in remission; Freireich 1963, Gehan 1965, as in Cox & Oakes 1984.
remission <- function(weeks, is_censored) spells(0, weeks, ifelse(is_censored == 1, "censored", "infection"))
treated <- remission(c(6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35),
                     c(0, 0, 0, 1, 0, 1,  0,  1,  1,  0,  0,  1,  1,  1,  0,  0,  1,  1,  1,  1,  1))
placebo <- remission(c(1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23), rep(0, 21))

# The same invented numbers on every machine: whole numbers below 2^53 and one rounding down. Between 0 and 1.
invented <- function(seed, n) {
  out <- numeric(n)
  for (i in seq_len(n)) {
    seed <- (16807 * seed) %% 2147483647
    out[i] <- seed / 2147483647
  }
  out
}

# `n` patients; `late` is the proportion that enters later, `mean_days` the mean stay, `weights` the frequency of each end.
program <- function(seed, n, late, latest, mean_days, weights) {
  u <- matrix(invented(seed, 4 * n), ncol = 4)
  from <- ifelse(u[, 1] < late, floor(u[, 2] * latest), 0)
  cut <- findInterval(u[, 4], cumsum(weights) / sum(weights)) + 1
  spells(from, from + floor(-log(u[, 3]) * mean_days), c(ENDS, "censored")[cut])
}

SETS <- list(
  "treated" = treated,
  "placebo" = placebo,
  "one infected" = spells(0, 12, "infection"),
  "one censored" = spells(3, 12, "censored"),
  "all censored" = spells(c(0, 0, 5, 9), c(10, 20, 20, 30), "censored"),
  "all infected on one day" = spells(c(0, 0, 3, 7), 7, "infection"),
  "on the day of the implant" = spells(0, c(0, 0, 0, 1, 2), c("infection", "censored", "death", "infection", "censored")),
  "entered on the day of an end" = spells(c(0, 0, 0, 0, 10, 10, 20), c(10, 10, 20, 30, 10, 20, 30),
                                          c("infection", "censored", "infection", "censored", "death", "recovery", "infection")),
  "all ends on one day" = spells(0, c(5, 5, 5, 5, 5, 5, 8, 8, 9),
                                 c("infection", "death", "transplant", "recovery", "censored", "infection", "death", "infection", "censored")),
  "half over a stretch" = spells(0, c(10, 20, 30, 40), "infection"),
  "half to the end" = spells(0, c(10, 20, 30, 40), c("infection", "infection", "censored", "censored")),
  "half of thirds" = spells(0, c(4, 9, 14, 21, 28, 35), c("infection", "infection", "infection", "censored", "infection", "censored")),
  "half, less by rounding" = spells(0, 10 * (1:12), "infection"),
  "half, more by rounding" = spells(0, 10 * (1:24), "infection"),
  "nobody left, then others" = spells(c(0, 0, 10, 10, 12), c(3, 5, 15, 20, 25), c("infection", "infection", "infection", "death", "infection")),
  "heavy ties" = spells(c(0, 0, 0, 1, 1, 2), c(rep(c(2, 3, 4), each = 24)),
                        rep(c("infection", "infection", "censored", "death", "infection", "transplant", "censored", "recovery"), 9)),
  "no two on one day" = spells(c(0, 0, 0, 12, 0, 33, 0, 0, 90, 0, 0, 101), c(9, 17, 26, 41, 58, 63, 88, 97, 120, 133, 151, 170),
                               c("infection", "censored", "death", "infection", "transplant", "infection", "censored", "recovery",
                                 "infection", "death", "infection", "censored")),
  "small program" = program(2027, 25, 0.3, 120, 260, c(4, 2, 2, 1, 3)),
  "program" = program(1848, 200, 0, 0, 420, c(4, 2, 2, 1, 3)),
  "program joined late" = program(77, 200, 0.45, 500, 420, c(4, 2, 2, 1, 3)),
  # months rather than days, so that ties are heavy: one end seldom, one often, few censored
  "older patients by months" = program(1384, 400, 0.1, 24, 50, c(3, 20, 0.2, 0, 7))
)

# ---- the figures ------------------------------------------------------------------------------------------------

at_end <- function(values, share) ifelse(share < NEAR | share > 1 - NEAR, NA, values)

freedom <- function(set) {
  fit <- survfit(Surv(from - 1, to, end == "infection") ~ 1, data = set, conf.type = LIMITS)
  if (all(set$from == 0)) {
    plain <- survfit(Surv(to, end == "infection") ~ 1, data = set, conf.type = LIMITS)
    stopifnot(all.equal(c(plain$surv, plain$std.err), c(fit$surv, fit$std.err), tolerance = 1e-14))
  }
  # survfit has the standard error of the logarithm
  steps <- list(day = fit$time, at_risk = fit$n.risk, events = fit$n.event, censored = fit$n.censor, survival = fit$surv,
                std_error = ifelse(fit$surv == 0, NA, fit$std.err * fit$surv),
                low = at_end(fit$lower, fit$surv), high = at_end(fit$upper, fit$surv))
  median <- unname(summary(fit)$table[c("median", "0.95LCL", "0.95UCL")])
  list(steps = steps, median = list(value = median[1], low = median[2], high = median[3]))
}

incidence <- function(set) {
  set$id <- seq_len(nrow(set))
  if (all(set$end == "censored")) return(NULL)
  # the censoring comes first
  set$status <- factor(set$end, c("censored", ENDS))
  # if a curve is 1 but for rounding, its limits are not numbers, and R warns; they are left out below
  fit <- suppressWarnings(survfit(Surv(from - 1, to, status) ~ 1, data = set, id = id, conf.type = LIMITS))
  is_end <- rowSums(fit$n.event) > 0
  of_end <- function(end) {
    at <- match(end, fit$states)
    value <- fit$pstate[is_end, at]
    list(value = value, std_error = fit$std.err[is_end, at],
         low = at_end(fit$lower[is_end, at], value), high = at_end(fit$upper[is_end, at], value))
  }
  met <- ENDS[ENDS %in% set$end]
  list(day = fit$time[is_end], at_risk = fit$n.risk[is_end, 1], ends = setNames(lapply(met, of_end), met))
}

# survdiff has no delayed entry, but it has strata: each day with an infection is one, with a row for each patient at
# risk on it. Over the strata it adds up the observed and expected counts and the variance, day by day, as the test is defined.
log_rank <- function(sets) {
  all <- do.call(rbind, SETS[sets])
  all$group <- factor(rep(sets, vapply(SETS[sets], nrow, 0)), levels = sets)
  is_infected <- all$end == "infection"
  of_day <- function(day) {
    at_risk <- all$from <= day & day <= all$to
    data.frame(day = day, group = all$group, infected = is_infected & all$to == day)[at_risk, ]
  }
  days <- do.call(rbind, lapply(sort(unique(all$to[is_infected])), of_day))
  test <- survdiff(Surv(rep(1, nrow(days)), infected) ~ group + strata(day), data = days)
  expected <- rowSums(test$exp)
  if (all(all$from == 0)) {
    plain <- survdiff(Surv(to, is_infected) ~ group, data = all)
    stopifnot(all.equal(plain$chisq, test$chisq, tolerance = 1e-12),
              all.equal(as.vector(plain$exp), as.vector(expected), tolerance = 1e-12))
  }
  list(sets = sets, expected = expected, chi_square = test$chisq, df = length(sets) - 1,
       p = pchisq(test$chisq, length(sets) - 1, lower.tail = FALSE))
}

# The first set is the reference. A ratio is null if the likelihood has no maximum; R stops far out and warns.
hazard_ratios <- function(sets) {
  all <- do.call(rbind, SETS[sets])
  all$group <- factor(rep(sets, vapply(SETS[sets], nrow, 0)), levels = sets)
  fit <- suppressWarnings(coxph(Surv(from - 1, to, end == "infection") ~ group, data = all, ties = "efron",
                                control = coxph.control(eps = 1e-13, toler.chol = 1e-14, iter.max = 100)))
  found <- summary(fit, conf.int = 0.95)$conf.int
  found[abs(coef(fit)) > 15, ] <- NA
  list(ratio = c(NA, found[, "exp(coef)"]), low = c(NA, found[, "lower .95"]), high = c(NA, found[, "upper .95"]))
}

COMPARED <- list(
  c("treated", "placebo"),
  c("program", "small program"),
  c("program", "program joined late"),
  c("heavy ties", "all ends on one day"),
  c("heavy ties", "placebo"),
  c("heavy ties", "program"),
  c("all infected on one day", "treated"),
  c("treated", "heavy ties", "placebo"),
  c("program", "program joined late", "small program", "older patients by months")
)

# ---- the file ---------------------------------------------------------------------------------------------------

number <- function(x) ifelse(is.na(x), "null", sprintf("%.17g", x))
text <- function(x) paste0('"', x, '"')
object <- function(...) {
  members <- list(...)
  paste0("{", paste(text(names(members)), unlist(members), sep = ": ", collapse = ", "), "}")
}
lines <- function(items, indent) {
  if (length(items) == 0) return("[]")
  paste0("[\n", paste0(indent, "  ", items, collapse = ",\n"), "\n", indent, "]")
}
# A row for each element of the columns.
rows <- function(columns) do.call(paste, c(lapply(unname(columns), number), sep = ", "))
table <- function(columns, indent) lines(if (length(columns[[1]]) > 0) paste0("[", rows(columns), "]"), indent)

of_set <- function(name) {
  set <- SETS[[name]]
  curve <- freedom(set)
  ends <- incidence(set)
  of_end <- function(end) paste0(text(end), ": ", table(c(ends[c("day", "at_risk")], ends$ends[[end]]), "      "))
  curves <- if (!is.null(ends)) paste0("\n      ", paste(vapply(names(ends$ends), of_end, ""), collapse = ",\n      "), "\n    ")
  paste0("{\n    ", paste(
    paste0('"name": ', text(name)),
    paste0('"spells": ', lines(paste0("[", number(set$from), ", ", number(set$to), ", ", text(set$end), "]"), "    ")),
    paste0('"freedom": ', table(curve$steps, "    ")),
    paste0('"median": [', rows(curve$median), "]"),
    paste0('"incidence": {', curves, "}"),
    sep = ",\n    "), "\n  }")
}

of_test <- function(sets) {
  test <- log_rank(sets)
  hazard <- hazard_ratios(sets)
  of <- function(values) paste0("[", paste(number(values), collapse = ", "), "]")
  object(sets = paste0("[", paste(text(test$sets), collapse = ", "), "]"),
         expected = paste0("[", paste(number(test$expected), collapse = ", "), "]"),
         chi_square = number(test$chi_square), df = number(test$df), p = number(test$p),
         hazard_ratio = of(hazard$ratio), hazard_low = of(hazard$low), hazard_high = of(hazard$high))
}

out <- commandArgs(trailingOnly = TRUE)
stopifnot(length(out) == 1)
writeLines(paste0("{\n",
  '"made_by": ', text(paste0("R ", R.version$major, ".", R.version$minor, ", survival ", packageDescription("survival")$Version)), ",\n",
  '"columns": {"spells": ["from", "to", "end"], "median": ["value", "low", "high"],\n',
  '  "freedom": ["day", "at_risk", "events", "censored", "survival", "std_error", "low", "high"],\n',
  '  "incidence": ["day", "at_risk", "value", "std_error", "low", "high"]},\n',
  '"sets": ', lines(vapply(names(SETS), of_set, ""), ""), ",\n",
  '"log_rank": ', lines(vapply(COMPARED, of_test, ""), ""), "\n}"), out)
