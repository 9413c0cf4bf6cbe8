"""The counts of the audit by independent libraries: SciPy and statsmodels, spot checks with 40 digits by mpmath.

Writes counts.json to the file named by its argument. Nothing random is in it.
"""

import json
import math
import sys

import mpmath
import numpy as np
import statsmodels.api as sm
from scipy import optimize, special, stats
from statsmodels.stats.proportion import proportion_confint

SIDE = 0.025


def solved(tail, low, high):
    """Returns the point at which an increasing tail is SIDE, to the last digit."""
    return optimize.brentq(lambda place: tail(place) - SIDE, low, high, xtol=1e-300, rtol=8.9e-16, maxiter=2000)


def close(one, other, tolerance=2e-12):
    assert abs(one - other) <= tolerance * abs(other), (one, other)


# Rates: Garwood by the quantiles of chi-square, mid-P by a root of the tails.


def rate(events):
    high = stats.chi2.isf(SIDE, 2 * events + 2) / 2
    low = stats.chi2.ppf(SIDE, 2 * events) / 2 if events else 0.0

    def lower_tail(mean):
        return special.pdtrc(events, mean) + stats.poisson.pmf(events, mean) / 2

    def upper_tail(mean):
        fewer = special.pdtr(events - 1, mean) if events else 0.0
        return fewer + stats.poisson.pmf(events, mean) / 2

    mid_low = solved(lower_tail, 1e-9, events + 1) if events else 0.0
    mid_high = solved(upper_tail, events, 2 * events + 20)
    return {"events": events, "low": low, "high": high, "mid_p_low": mid_low, "mid_p_high": mid_high}


def spot_check_rate(events, row):
    """The tails at the limits with 40 digits."""
    mpmath.mp.dps = 40

    def at_most(count, mean):
        return mpmath.gammainc(count + 1, mean, mpmath.inf, regularized=True) if count >= 0 else mpmath.mpf(0)

    def solve(tail, near):
        return float(mpmath.findroot(lambda mean: tail(mean) - mpmath.mpf("0.025"), (near * 0.9999, near * 1.0001)))

    close(row["high"], solve(lambda mean: at_most(events, mean), row["high"]))
    close(row["mid_p_high"], solve(lambda mean: (at_most(events, mean) + at_most(events - 1, mean)) / 2, row["mid_p_high"]))
    if events:
        close(row["low"], solve(lambda mean: 1 - at_most(events - 1, mean), row["low"]))
        lower = lambda mean: 1 - (at_most(events, mean) + at_most(events - 1, mean)) / 2
        close(row["mid_p_low"], solve(lower, row["mid_p_low"]))


def rates():
    spread = [250, 300, 400, 500, 750, 1000, 1500, 2000, 2500, 3000, 4000, 5000, 20000, 100000]
    rows = [rate(events) for events in [*range(201), *spread]]
    for row in rows:
        if row["events"] in (0, 1, 2, 10, 99, 200, 1000, 5000):
            spot_check_rate(row["events"], row)
    return rows


# Ratios: Clopper and Pearson by the quantiles of beta, mid-P by a root of the binomial tails.


def odds_below(part, rest, mid):
    """The odds at which `part` or more of both has a probability of SIDE."""
    if part == 0:
        return 0.0
    whole = part + rest

    def tail(share):
        seen = stats.binom.pmf(part, whole, share)
        return stats.binom.sf(part, whole, share) + (seen / 2 if mid else seen)

    share = solved(tail, 1e-12, 1.0) if mid else special.betaincinv(part, rest + 1, SIDE)
    return share / (1 - share)


def p_of(part, rest, share, mid):
    whole = part + rest
    seen = stats.binom.pmf(part, whole, share) / (2 if mid else 1)
    upper = stats.binom.sf(part, whole, share) + seen
    lower = (stats.binom.cdf(part - 1, whole, share) if part else 0.0) + seen
    return min(1.0, 2 * min(upper, lower))


def smallest_detectable(exposure, before, exposure_before):
    """The sum of the probabilities of all pairs of counts, by brute force."""
    if before == 0:
        return None
    share = exposure / (exposure + exposure_before)
    same = before * exposure / exposure_before
    counts = np.arange(0, int(before + 9 * math.sqrt(before) + 25))
    chances = stats.poisson.pmf(counts, before)

    def power(ratio):
        most = int(ratio * same + 9 * math.sqrt(ratio * same) + 25)
        now = np.arange(0, most)[:, None]
        p = 2 * stats.binom.sf(now - 1, now + counts, share)
        is_shown = (p < 0.05) & (now / exposure > counts / exposure_before)
        joint = stats.poisson.pmf(now, ratio * same) * chances
        # Beyond the last count now, every likely count before has been shown.
        return (joint * is_shown).sum() + stats.poisson.sf(most - 1, ratio * same)

    upper = 2.0
    while power(upper) < 0.8:
        upper *= 2
        if upper > 1024:
            return None
    root = optimize.brentq(lambda ratio: power(ratio) - 0.8, 1.0, upper, xtol=1e-13, rtol=8.9e-16)
    return root if root <= 1000 else None


def detectable_fall(exposure, before, exposure_before):
    """The largest ratio below 1 with 80 % power, by the sum over all pairs of counts; None if there is none."""
    if before == 0:
        return None
    same = before * exposure / exposure_before
    share = exposure / (exposure + exposure_before)
    counts = np.arange(0, int(before + 9 * math.sqrt(before) + 25))
    chances = stats.poisson.pmf(counts, before)

    def power(ratio):
        most = int(ratio * same + 9 * math.sqrt(ratio * same) + 25)
        now = np.arange(0, most)[:, None]
        p = 2 * stats.binom.cdf(now, now + counts, share)
        is_shown = (p < 0.05) & (now / exposure < counts / exposure_before)
        return (stats.poisson.pmf(now, ratio * same) * chances * is_shown).sum()

    if power(0.0) < 0.8:
        return None
    return optimize.brentq(lambda ratio: power(ratio) - 0.8, 0.0, 1.0, xtol=1e-13, rtol=8.9e-16)


def ratio(events, exposure, before, exposure_before, detectable):
    scale = exposure_before / exposure
    row = {"events": events, "exposure": exposure, "events_before": before, "exposure_before": exposure_before}
    row["rate_ratio"] = events / before * scale if before else None
    for name, mid in (("", False), ("mid_p_", True)):
        none = events + before == 0
        turned = odds_below(before, events, mid)
        row[name + "low"] = None if none else odds_below(events, before, mid) * scale
        row[name + "high"] = None if none or turned == 0 else scale / turned
    share = exposure / (exposure + exposure_before)
    row["p"] = p_of(events, before, share, False)
    row["mid_p"] = p_of(events, before, share, True)
    if detectable:
        row["smallest_detectable"] = smallest_detectable(exposure, before, exposure_before)
        row["detectable_fall"] = detectable_fall(exposure, before, exposure_before)
    return row


def ratios():
    rows = [ratio(17, 100025.0, 3, 122268.0, True)]
    counts = (0, 1, 2, 5, 12, 40)
    for exposure, exposure_before in ((10000.0, 10000.0), (3650.0, 14610.0)):
        for events in counts:
            rows += [ratio(events, exposure, before, exposure_before, events == 5) for before in counts]
    rows += [ratio(300, 91250.0, 250, 109500.0, True), ratio(5000, 2e5, 4000, 1.9e5, False)]
    rows += [ratio(3, 1.0, 7, 1000.0, False), ratio(900, 3e6, 1, 1.0, False), ratio(0, 365.0, 900, 36500.0, False)]
    rows += [ratio(60000, 1.5e6, 40000, 1.1e6, False)]
    return rows


# Proportions.


def wilson():
    parts = [(81, 263), (15, 148), (0, 20), (1, 29), (7, 11), (1, 1), (0, 1), (29, 29), (28, 29), (1, 100000), (4567, 9999)]
    rows = []
    for part, whole in parts:
        low, high = proportion_confint(part, whole, alpha=0.05, method="wilson")
        rows.append({"part": part, "whole": whole, "low": max(float(low), 0.0), "high": float(high)})
    return rows


def clustered():
    """The design effect from the cluster-robust variance of a mean, and Wilson limits on the whole divided by it."""
    several = [
        [(10, 12), (3, 12), (12, 12), (7, 15)],
        [(30, 30), (28, 30), (5, 25), (31, 31), (0, 4)],
        [(1, 2), (1, 2), (1, 2)],
        [(9, 10), (0, 10)],
        [(29, 30)] * 5 + [(11, 30)],
        [(25, 30), (24, 31), (0, 0), (28, 28)],
    ]
    rows = []
    for patients in several:
        seen = [(n, so) for n, (part, whole) in enumerate(patients) for so in [1.0] * part + [0.0] * (whole - part)]
        groups = np.array([n for n, _ in seen])
        values = np.array([so for _, so in seen])
        fit = sm.OLS(values, np.ones(len(values))).fit()
        robust = fit.get_robustcov_results("cluster", groups=groups, use_correction=False)
        clusters = len(set(groups))
        variance = float(robust.cov_params()[0, 0]) * clusters / (clusters - 1)
        share = float(values.mean())
        effect = max(1.0, variance / (share * (1 - share) / len(values)))
        low, high = proportion_confint(values.sum() / effect, len(values) / effect, alpha=0.05, method="wilson")
        row = {"patients": patients, "design_effect": effect, "clustered_low": float(low), "clustered_high": float(high)}
        rows.append(row)
    return rows


def tables():
    """Two proportions compared as published; the audit does not compare proportions."""
    chi_square = stats.chi2_contingency([[38, 46 - 38], [65, 88 - 65]], correction=False)
    fisher = stats.fisher_exact([[4, 64 - 4], [10, 24 - 10]], alternative="two-sided")
    return {"showering_chi_square_p": float(chi_square.pvalue), "infected_fisher_p": float(fisher.pvalue)}


# Charts.


def p_chart():
    defects = [12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22, 8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12, 7, 13, 9, 6]
    center = float(np.mean(np.array(defects) / 50))
    reach = 3 * math.sqrt(center * (1 - center) / 50)
    return {"defects": defects, "center": center, "low": center - reach, "high": center + reach}


def quantiles():
    means = [0.0, 0.001, 0.0013, 0.0014, 0.05, 0.3, 0.5, 1.0, 2.0, 3.3, 6.0, 6.6, 6.7, 10.0, 20.0, 55.5, 100.0, 1234.5, 1e5]
    side = 0.00135
    rows = []
    for mean in means:
        least = int(stats.poisson.ppf(side, mean)) if mean else 0
        most = int(stats.poisson.isf(side, mean)) if mean else 0
        rows.append({"mean": mean, "least": least, "most": most})
    return rows


def gaps():
    law = stats.expon(scale=1234.5)
    return {"mean": 1234.5, "center": law.median(), "low": law.ppf(0.00135), "high": law.isf(0.00135)}


def run_length(mean, reference, threshold, start, per_event):
    """Brook and Evans 1972: a Markov chain on a grid of 1/per_event events, each state the middle of its cell."""
    cell = 1 / per_event
    states = np.arange(math.ceil(threshold * per_event - 1e-9)) * cell
    rest = np.eye(len(states))
    for count in range(int(mean + 12 * math.sqrt(mean) + 40)):
        arrived = np.maximum(0.0, states + count - reference)
        column = np.floor(arrived * per_event + 0.5).astype(int)
        inside = np.flatnonzero(arrived < threshold - 1e-12)
        inside = inside[column[inside] < len(states)]
        np.subtract.at(rest, (inside, column[inside]), stats.poisson.pmf(count, mean))
    months = np.linalg.solve(rest, np.ones(len(states)))
    return float(months[int(round(start * per_event))])


def walked(mean, reference, threshold):
    """Every value of the sum since it was last 0, as (events, months), with its chance, month after month.

    Neither a grid nor a renewal: what is left after each month is added up until it falls by the same factor each month.
    """
    reach = int(mean + 12 * math.sqrt(mean) + 40)
    chances = stats.poisson.pmf(np.arange(reach), mean)
    under_way = {0: np.array([1.0])}
    first = {0: 0}
    months, left, factor = 0.0, 1.0, 0.0
    for _ in range(20000):
        months += left
        arrived, arrived_first = {}, {}
        at_zero = 0.0
        for age, row in under_way.items():
            spread = np.convolve(row, chances)
            events = np.arange(first[age], first[age] + len(spread))
            value = events - (age + 1) * reference
            at_zero += spread[value <= 0].sum()
            inside = (value > 0) & (value < threshold)
            if inside.any() and spread[inside].sum() > 1e-30:
                arrived[age + 1], arrived_first[age + 1] = spread[inside], int(events[inside][0])
        arrived[0], arrived_first[0] = np.array([at_zero]), 0
        under_way, first = arrived, arrived_first
        remaining = sum(row.sum() for row in under_way.values())
        if abs(remaining / left - factor) < 1e-15:
            return months + remaining / (1 - remaining / left)
        left, factor = remaining, remaining / left
    raise AssertionError("the factor does not settle")


def run_lengths():
    """The published rows and a few more; the grid contains every value that the sum can take."""
    rows = []
    for mean, reference, threshold, start, per_event in (
        (0.25, 0.25, 10.0, 0.0, 4),
        (0.25, 0.25, 10.0, 5.0, 4),
        (0.5, 0.72, 4.22, 0.0, 50),
        (1.0, 1.44, 4.70, 0.0, 50),
        (2.0, 2.88, 5.26, 0.0, 50),
        (0.1, 0.125, 2.0, 0.0, 8),
        (0.1, 0.125, 2.0, 1.875, 8),
        (3.7, 5.0, 4.5, 1.25, 4),
        (20.0, 29.0, 6.5, 0.0, 2),
        (6.0, 4.5, 9.0, 0.5, 4),
    ):
        months = run_length(mean, reference, threshold, start, per_event)
        rows.append({"mean": mean, "reference": reference, "threshold": threshold, "start": start, "months": months})
    return rows


def thresholds():
    """The smallest multiple of 0.001 with a run of 100 months, by the walk."""
    rows = []
    ln2 = math.log(2)
    for expected in (0.05, 0.1, 0.3, 0.5, 1.0, 2.0, 3.7, 8.0, 20.0):
        months = lambda steps, ratio: walked(ratio * expected, expected / ln2, steps / 1000 / ln2)
        short, enough = 0, 4606
        while enough - short > 1:
            middle = (short + enough) // 2
            short, enough = (short, middle) if months(middle, 1) >= 100 else (middle, enough)
        row = {"expected": expected, "threshold": enough / 1000, "in_control": months(enough, 1), "delay": months(enough, 2)}
        rows.append(row | {"short": months(enough - 1, 1)})
    return rows


def plain(value):
    """Converts numbers of the libraries to plain ones."""
    if isinstance(value, dict):
        return {name: plain(part) for name, part in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(part) for part in value]
    return value.item() if isinstance(value, np.generic) else value


def lines(figures):
    """Writes one row per line, for readable diffs."""
    parts = []
    for name, value in figures.items():
        if isinstance(value, list):
            rows = ",\n    ".join(json.dumps(row, allow_nan=False) for row in value)
            parts.append(f'  "{name}": [\n    {rows}\n  ]')
        else:
            parts.append(f'  "{name}": {json.dumps(value, allow_nan=False)}')
    return "{\n" + ",\n".join(parts) + "\n}\n"


def main():
    figures = {
        "rates": rates(),
        "ratios": ratios(),
        "wilson": wilson(),
        "clustered": clustered(),
        "tables": tables(),
        "p_chart": p_chart(),
        "quantiles": quantiles(),
        "gaps": gaps(),
        "run_lengths": run_lengths(),
        "thresholds": thresholds(),
    }
    with open(sys.argv[1], "w", encoding="utf-8") as file:
        file.write(lines(plain(figures)))


main()
