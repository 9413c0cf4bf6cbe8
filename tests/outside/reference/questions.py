"""Figures of a committee's questions by SciPy, statsmodels and NumPy: writes questions.json, which tests/outside reads.

Observed ÷ expected: limits of a Poisson count over the expected number; the rate ratio within strata: binomials convolved. Likely totals: hypergeometric tails, mid-P, total by total.
Delays: quantiles by the inverse of their distribution. Concentration: the largest parts added up. Nothing random is in it.
"""

import json
import sys
from fractions import Fraction

import numpy as np
from scipy import optimize, stats
from statsmodels.stats.rates import confint_poisson

SIDE = 0.025
# A probability this close to it counts as equal: some are.
NEAR = 1e-9


class Invented:
    """The same invented numbers on every machine, 0 to 1."""

    def __init__(self, seed):
        self.seed = seed

    def below(self, most):
        self.seed = (16807 * self.seed) % 2147483647
        return int(self.seed / 2147483647 * most)


def standardized(strata):
    """Strata are (events, exposure, earlier events, earlier exposure)."""
    known = [row for row in strata if row[3] > 0]
    observed = sum(row[0] for row in known)
    expected = float(sum(Fraction(row[2] * row[1], row[3]) for row in known))
    row = {"strata": strata, "observed": observed, "expected": expected, "ratio": None, "low": None, "high": None}
    if expected > 0:
        low, high = confint_poisson(observed, expected, method="exact-c")
        # The lower limit by the quantile of chi-square; that of statsmodels is not a number for 0.
        by_quantile = stats.chi2.ppf(SIDE, 2 * observed) / 2 / expected if observed else 0.0
        assert observed == 0 or abs(by_quantile - low) <= 1e-9 * low
        row |= {"ratio": observed / expected, "low": by_quantile, "high": float(high)}
    now = sum(stratum[1] for stratum in known)
    row["standard_error_factor"] = float(np.sqrt(1 + sum(one[1] ** 2 / one[3] for one in known) / now)) if now else None
    return row | {"within": within(known)}


def within(strata):
    """The rate ratio within strata: given its total, the events now of each are binomial; their sum by convolution."""
    observed, total = sum(row[0] for row in strata), sum(row[0] + row[2] for row in strata)

    def law(log):
        chances = np.ones(1)
        for events, exposure, earlier, earlier_exposure in strata:
            share = 1 / (1 + earlier_exposure / (np.exp(log) * exposure))
            chances = np.convolve(chances, stats.binom.pmf(np.arange(events + earlier + 1), events + earlier, share))
        return chances

    def root(of):
        return float(np.exp(optimize.brentq(of, -14, 14, xtol=1e-14, rtol=1e-14)))

    if total == 0:
        return {"ratio": None, "low": None, "high": None}
    mean = lambda log: law(log) @ np.arange(total + 1) - observed
    return {
        "ratio": 0.0 if observed == 0 else None if observed == total else root(mean),
        "low": 0.0 if observed == 0 else root(lambda log: law(log)[observed:].sum() - SIDE),
        "high": None if observed == total else root(lambda log: law(log)[: observed + 1].sum() - SIDE),
    }


def all_standardized():
    invented = Invented(7)

    def stratum():
        return [invented.below(9), 200 + invented.below(9000), invented.below(14), 500 + invented.below(30000)]

    rows = [standardized([stratum() for _ in range(4)]) for _ in range(25)]
    rows.append(standardized([[4, 1000, 10, 5000], [1, 9000, 2, 20000]]))
    rows.append(standardized([[0, 1000, 10, 5000], [0, 9000, 2, 20000]]))
    rows.append(standardized([[3, 1000, 0, 5000], [1, 9000, 0, 0]]))
    rows.append(standardized([[3, 1000, 0, 0], [1, 9000, 5, 40000]]))
    rows.append(standardized([[120, 40000, 300, 90000]]))
    return rows


def likely(so_far, part, whole):
    """The smallest and the largest total that neither tail rejects; None where there is none up to 1,000 more."""
    low = high = None
    for total in range(so_far, so_far + 1001):
        law = stats.hypergeom(whole + total, total, so_far + part)
        half = law.pmf(so_far) / 2
        if low is None and law.sf(so_far - 1) - half > SIDE + NEAR:
            low = total
        if part > 0 and law.cdf(so_far) - half <= SIDE + NEAR:
            high = max(total - 1, so_far)
            break
    return {"so_far": so_far, "part": part, "whole": whole, "low": low, "high": high}


def all_likely():
    earlier = [(0, 5), (5, 5), (3, 6), (1, 12), (20, 20), (10, 20), (37, 40), (60, 90), (2, 30)]
    return [likely(so_far, part, whole) for part, whole in earlier for so_far in (0, 1, 2, 3, 7, 15)]


def quantiles():
    invented = Invented(11)
    rows = []
    for n in (1, 2, 3, 4, 5, 7, 10, 11, 20, 39):
        delays = [invented.below(6) + invented.below(7) * invented.below(9) for _ in range(n)]
        at = lambda share: int(np.quantile(delays, share, method="inverted_cdf"))
        row = {"delays": delays, "median": at(0.5), "upper_quartile": at(0.75), "ninetieth": at(0.9), "longest": max(delays)}
        rows.append(row)
    return rows


def concentration():
    invented = Invented(13)
    rows = []
    for n in (1, 2, 5, 12, 40, 80):
        parts = [max(0, invented.below(25) - 12) * (1 + invented.below(4)) for _ in range(n)]
        parts[0] += 1
        ordered = np.sort(parts)[::-1]
        summed = np.cumsum(ordered)
        for share in (0.5, 0.8):
            holders = int(np.argmax(summed >= share * summed[-1])) + 1
            held = float(summed[holders - 1] / summed[-1])
            rows.append({"parts": parts, "at_least": share, "holders": holders, "share": held})
    return rows


def main():
    figures = {
        "standardized": all_standardized(),
        "likely": all_likely(),
        "quantiles": quantiles(),
        "concentration": concentration(),
    }
    lists = [
        f'  "{name}": [\n    ' + ",\n    ".join(json.dumps(row, allow_nan=False) for row in rows) + "\n  ]"
        for name, rows in figures.items()
    ]
    with open(sys.argv[1], "w", encoding="utf-8") as file:
        file.write("{\n" + ",\n".join(lists) + "\n}\n")


main()
