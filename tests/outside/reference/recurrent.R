# The mean cumulative count as R gives it: writes recurrent.json, which tests/outside reads.
#
#     Rscript recurrent.R recurrent.json
#
# By `survival`: the proportion still under support (Kaplan-Meier) before each day × the increase of the cumulative hazard of
# infections (Nelson-Aalen), both with the influence of each patient, from which the standard error follows by the rule of a
# product. `recurrentMarginal` of R `mets` 1.3.2 (Ghosh & Lin 2000) was run for comparison: without ties the counts were the same and
# its standard errors, by the published formula, 0 to 7 % smaller over 15 patients. It counts tied infections one after another, each
# over the patients less one, so it is no reference here.
#
# A patient is at risk on day t if from <= t <= to; R's (start, stop] is at risk if start < t <= stop. So start = from - 1.

suppressPackageStartupMessages(library(survival))

# The same invented numbers on every machine. Between 0 and 1.
invented <- function(seed, n) {
  out <- numeric(n)
  for (i in seq_len(n)) {
    seed <- (16807 * seed) %% 2147483647
    out[i] <- seed / 2147483647
  }
  out
}

patient <- function(from, to, end, onsets = numeric(0)) list(from = from, to = to, end = end, onsets = sort(unique(onsets)))

# `n` patients; `late` is the proportion that enters later; each patient has an own infection rate.
program <- function(seed, n, late, latest, mean_days, per_day) {
  u <- matrix(invented(seed, 12 * n), ncol = 12)
  lapply(seq_len(n), function(i) {
    from <- if (u[i, 1] < late) floor(u[i, 2] * latest) else 0
    to <- from + floor(-log(u[i, 3]) * mean_days)
    end <- c("death", "transplant", "recovery", "censored", "censored")[1 + floor(5 * u[i, 4])]
    rate <- per_day * -log(u[i, 5])
    onsets <- from + floor(cumsum(-log(u[i, 6:12]) / rate))
    patient(from, to, end, onsets[onsets <= to])
  })
}

SETS <- list(
  "four patients" = list(patient(0, 100, "censored", c(10, 40)), patient(0, 100, "censored"), patient(0, 20, "death"),
                         patient(0, 100, "censored", 40)),
  "ties" = list(patient(0, 20, "death", 20), patient(0, 20, "censored", c(5, 20)), patient(5, 30, "transplant", c(5, 20, 30)),
                patient(20, 40, "censored", 20), patient(0, 30, "recovery"), patient(3, 40, "censored", c(30, 40)),
                patient(0, 20, "transplant", 5)),
  "nobody left, then others" = list(patient(0, 3, "death", 2), patient(0, 5, "death", c(1, 4)), patient(6, 15, "censored", 8),
                                    patient(6, 20, "censored", c(9, 12)), patient(6, 25, "death")),
  "small program" = program(2027, 15, 0.3, 120, 300, 0.004),
  "program joined late" = program(77, 80, 0.45, 500, 420, 0.003)
)

# A row for each interval between two infections.
stretches <- function(set) do.call(rbind, lapply(seq_along(set), function(i) {
  one <- set[[i]]
  stops <- sort(unique(c(one$onsets, one$to)))
  last <- seq_along(stops) == length(stops)
  data.frame(id = i, start = c(one$from - 1, head(stops, -1)), stop = stops, infected = as.numeric(stops %in% one$onsets),
             ended = as.numeric(last & one$end != "censored"))
}))

step_at <- function(times, values, first, day) {
  at <- findInterval(day, times)
  if (is.matrix(values)) cbind(first, values)[, at + 1] else c(first, values)[at + 1]
}

mean_count <- function(set) {
  rows <- stretches(set)
  infections <- survfit(Surv(start, stop, infected) ~ 1, data = rows, id = id, influence = 3)
  support <- survfit(Surv(start, stop, ended) ~ 1, data = rows, id = id, influence = 3)
  days <- sort(unique(rows$stop[rows$infected == 1]))
  at <- match(days, infections$time)
  value <- 0
  influence <- numeric(length(set))
  out <- lapply(seq_along(days), function(n) {
    increase <- infections$n.event[at[n]] / infections$n.risk[at[n]]
    before <- if (at[n] == 1) 0 else infections$influence.chaz[, at[n] - 1]
    of_increase <- infections$influence.chaz[, at[n]] - before
    under <- step_at(support$time, support$surv, 1, days[n] - 1)
    of_under <- step_at(support$time, support$influence.surv, 0, days[n] - 1)
    value <<- value + under * increase
    influence <<- influence + of_under * increase + under * of_increase
    std_error <- sqrt(sum(influence^2))
    width <- exp(qnorm(0.975) * std_error / value)
    alike <- std_error < 1e-10
    c(day = days[n], at_risk = infections$n.risk[at[n]], events = infections$n.event[at[n]], value = value,
      std_error = if (alike) NA else std_error, low = if (alike) NA else value / width, high = if (alike) NA else value * width)
  })
  do.call(rbind, out)
}

num <- function(x) ifelse(is.na(x), "null", sprintf("%.17g", x))
list_of <- function(items) paste0("[", paste(items, collapse = ", "), "]")
of_set <- function(name) {
  set <- SETS[[name]]
  steps <- mean_count(set)
  patients <- vapply(set, function(one) sprintf('[%d, %d, "%s", %s]', one$from, one$to, one$end, list_of(sprintf("%d", one$onsets))), "")
  rows <- apply(steps, 1, function(row) list_of(num(row)))
  paste0('  {"name": "', name, '",\n   "patients": ', list_of(patients), ',\n   "steps": [\n    ', paste(rows, collapse = ",\n    "), "\n  ]}")
}

out <- commandArgs(trailingOnly = TRUE)
stopifnot(length(out) == 1)
writeLines(paste0('{"columns": ["day", "at_risk", "events", "value", "std_error", "low", "high"],\n "sets": [\n',
                  paste(vapply(names(SETS), of_set, ""), collapse = ",\n"), "\n]}"), out)
