# A ratio within matched sets as R gives it: writes matched.json, which tests/outside reads.
#
#     Rscript matched.R matched.json
#
# Rate ratios: a Poisson fit with an effect for each set and the exposure as offset, which gives the conditional estimate.
# Odds ratios: `survival::clogit`, exact, a row for each window. Limits: `binom.test` if all sets have the same
# exposures, since the total is then a single binomial.

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

num <- function(x) ifelse(is.na(x) | is.infinite(x), "null", sprintf("%.17g", x))
row_of <- function(inside, all, window, others) {
  sprintf('{"inside": %d, "all": %d, "window": %s, "others": %s}', inside, all, num(window), num(others))
}

rates <- function(seed, n, ratio) {
  u <- matrix(invented(seed, 4 * n), ncol = 4)
  window <- 5 + floor(26 * u[, 1])
  others <- 40 + floor(320 * u[, 2])
  all <- 1 + floor(6 * u[, 3])
  inside <- qbinom(u[, 4], all, window * ratio / (window * ratio + others))
  data <- data.frame(set = factor(rep(seq_len(n), 2)), y = c(inside, all - inside), t = c(window, others),
                     x = rep(c(1, 0), each = n))
  fit <- glm(y ~ x + set + offset(log(t)), family = poisson, data = data, control = list(epsilon = 1e-14, maxit = 200))
  sprintf('{"sets": [%s], "ratio": %s}', paste(row_of(inside, all, window, others), collapse = ", "),
          num(exp(unname(coef(fit)["x"]))))
}

odds <- function(seed, n, ratio) {
  u <- matrix(invented(seed, 14 * n), ncol = 14)
  base <- 0.05 + 0.4 * u[, 1]
  sets <- character(n)
  data <- NULL
  for (i in seq_len(n)) {
    windows <- 4 + floor(9 * u[i, 2])
    odds <- base[i] / (1 - base[i])
    exposed <- c(u[i, 3] < odds * ratio / (1 + odds * ratio), u[i, 3 + seq_len(windows - 1)] < base[i])
    sets[i] <- row_of(as.integer(exposed[1]), 1L, sum(exposed), windows - sum(exposed))
    data <- rbind(data, data.frame(set = i, case = c(1, rep(0, windows - 1)), x = as.numeric(exposed)))
  }
  fit <- clogit(case ~ x + strata(set), data = data, method = "exact", control = coxph.control(eps = 1e-13, iter.max = 100))
  sprintf('{"sets": [%s], "ratio": %s}', paste(sets, collapse = ", "), num(exp(unname(coef(fit)["x"]))))
}

single <- function(inside, all, window, others) {
  test <- binom.test(inside, all, window / (window + others))
  ratio <- function(share) share / (1 - share) * others / window
  estimate <- if (inside == all) NA else ratio(inside / all)
  lower <- pbinom(inside, all, window / (window + others))
  upper <- pbinom(inside - 1, all, window / (window + others), lower.tail = FALSE)
  sprintf('{"sets": [%s], "ratio": %s, "low": %s, "high": %s, "p": %s}', row_of(inside, all, window, others),
          num(estimate), num(ratio(test$conf.int[1])), if (inside == all) "null" else num(ratio(test$conf.int[2])),
          num(min(1, 2 * min(lower, upper))))
}

cases <- list(
  rates = c(rates(1, 5, 1), rates(2, 20, 3), rates(3, 60, 0.5), rates(4, 120, 6)),
  odds = c(odds(11, 12, 2), odds(12, 40, 3), odds(13, 90, 1)),
  single = c(single(4L, 10L, 30, 330), single(0L, 3L, 30, 330), single(7L, 7L, 30, 200), single(40L, 90L, 30, 330),
             single(1L, 30L, 30, 330))
)
lists <- vapply(names(cases), function(name) sprintf('  "%s": [\n    %s\n  ]', name, paste(cases[[name]], collapse = ",\n    ")), "")
writeLines(c("{", paste(lists, collapse = ",\n"), "}"), commandArgs(trailingOnly = TRUE)[1])
