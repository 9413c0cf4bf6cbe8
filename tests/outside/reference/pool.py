"""Rates of several programs by SciPy: funnel limits, and the gamma–Poisson fit by a direct maximization.

Writes pool.json to the file named by its argument. Nothing random is in it.
"""

import json
import sys

import numpy as np
from scipy import optimize, special, stats

OUTER = 0.001
SIDE = 0.025


# Funnel: the count, continued between whole ones by the incomplete gamma function, whose tail is given.


def funnel(rate, exposure):
    mean = rate * exposure

    def fewest(side):
        if stats.poisson.cdf(0, mean) > side:
            return None
        return optimize.brentq(lambda n: special.gammaincc(n + 1, mean) - side, 0, mean, xtol=1e-13) / exposure

    def most(side):
        return optimize.brentq(lambda n: special.gammainc(n, mean) - side, 1e-9, 2 * mean + 100, xtol=1e-13) / exposure

    # Each whole count beyond has as small a tail, by the discrete distribution; the next one inside has a larger one.
    for side in (SIDE, OUTER):
        count = int(np.ceil(most(side) * exposure))
        assert stats.poisson.sf(count - 1, mean) <= side < stats.poisson.sf(count - 2, mean)
        low = fewest(side)
        if low is not None:
            count = int(np.floor(low * exposure))
            assert stats.poisson.cdf(count, mean) <= side < stats.poisson.cdf(count + 1, mean)
    return {
        "rate": rate,
        "exposure": exposure,
        "low_95": fewest(SIDE),
        "high_95": most(SIDE),
        "low_998": fewest(OUTER),
        "high_998": most(OUTER),
        "fewest": int(stats.poisson.ppf(OUTER, mean)),
        "most": int(stats.poisson.isf(OUTER, mean)),
    }


# Gamma–Poisson: the counts are negative binomial.


def log_likelihood(mean, spread, events, exposure):
    expected = exposure * mean
    if spread < 1e-7:
        return stats.poisson.logpmf(events, expected).sum()
    shape = 1 / spread**2
    return stats.nbinom.logpmf(events, shape, shape / (shape + expected)).sum()


def fit(events, exposure):
    """Mean and spread together, from several starting points, then once more from the best."""
    start = events.sum() / exposure.sum()

    def minus(point):
        return -log_likelihood(np.exp(point[0]), abs(point[1]), events, exposure)

    runs = [
        optimize.minimize(minus, [np.log(start), spread], method="Nelder-Mead", options={"xatol": 1e-11, "fatol": 1e-14, "maxiter": 20000})
        for spread in (0.1, 0.8)
    ]
    best = min(runs, key=lambda run: run.fun)
    best = optimize.minimize(minus, best.x, method="Nelder-Mead", options={"xatol": 1e-12, "fatol": 1e-15, "maxiter": 20000})
    mean, spread = float(np.exp(best.x[0])), float(abs(best.x[1]))
    return (start, 0.0) if spread < 1e-4 else (mean, spread)


def profile(spread, events, exposure):
    found = optimize.minimize_scalar(
        lambda mean: -log_likelihood(np.exp(mean), spread, events, exposure),
        bracket=(np.log(events.sum() / exposure.sum()) - 1, np.log(events.sum() / exposure.sum()) + 1),
        options={"xtol": 1e-12},
    )
    return -found.fun


def profile_limits(spread, events, exposure):
    least = profile(spread, events, exposure) - stats.chi2.ppf(0.95, 1) / 2

    def above(place):
        return profile(place, events, exposure) - least

    low = 0.0 if above(0.0) >= 0 else optimize.brentq(above, 1e-6, spread, xtol=1e-10)
    high = optimize.brentq(above, max(spread, 1e-6), 5.0, xtol=1e-10) if above(5.0) < 0 else None
    return low, high


def weighted_limits(events, exposure):
    """Each program's limits over mean and spread by their likelihood: Gauss-Legendre over spreads, trapezoid over means."""
    nodes, weights = special.roots_legendre(32)
    spread = (nodes + 1)[:, None]
    logarithm = np.log(events.sum() / exposure.sum()) + np.linspace(-14, 14, 601)
    mean = np.exp(logarithm)[None, :]
    shape = 1 / spread**2
    chance = sum(stats.nbinom.logpmf(n, shape, shape / (shape + size * mean)) for n, size in zip(events, exposure))
    chance = weights[:, None] * np.exp(chance - chance.max())
    chance /= chance.sum()

    def limit(side, n, size):
        def below(rate):
            return (chance * special.gammainc(shape + n, (shape / mean + size) * np.exp(rate))).sum() - side

        return float(np.exp(optimize.brentq(below, np.log(1e-12), np.log(1e3 * events.sum() / exposure.sum()), xtol=1e-7)))

    return [[limit(side, n, size) for side in (SIDE, 1 - SIDE)] for n, size in zip(events, exposure)]


def gamma_poisson(events, exposure, with_limits):
    events, exposure = np.array(events), np.array(exposure, dtype=float)
    mean, spread = fit(events, exposure)
    low, high = profile_limits(spread, events, exposure)
    if spread > 0:
        shape = 1 / spread**2
        # The closed form of the gamma that a gamma becomes after Poisson counts.
        shrunken = (shape + events) / (shape / mean + exposure)
        programs = stats.gamma.ppf([SIDE, 1 - SIDE], shape, scale=mean / shape)
    else:
        shrunken, programs = np.full(len(events), mean), np.array([mean, mean])
    return {
        "events": events.tolist(),
        "exposure": exposure.tolist(),
        "mean": mean,
        "spread": spread,
        "low": low,
        "high": high,
        "programs": programs.tolist(),
        "shrunken": shrunken.tolist(),
        "limits": weighted_limits(events, exposure) if with_limits else None,
    }


CASES = [
    ([2, 4, 3], [10, 10, 10], False),
    ([1, 2, 3, 18], [10, 10, 10, 10], True),
    ([0, 3, 9, 4, 12, 1], [4.38, 11.2, 18.9, 25.55, 21.0, 2.1], True),
    ([0, 1], [3.0, 4.0], False),
    ([5, 40], [60.0, 60.0], True),
    ([3, 7, 2, 15, 22, 0, 9, 4, 31, 6, 8, 12], [14, 21, 9, 30, 33, 6, 40, 12, 41, 25, 17, 52], False),
    ([900, 1100, 700], [2000, 2100, 1900], False),
]


def rounded(value):
    """Rounds the result of a search or a sum to the digits that are equal on every machine."""
    if isinstance(value, float):
        return float(f"{value:.6g}")
    if isinstance(value, list):
        return [rounded(one) for one in value]
    return {name: rounded(one) for name, one in value.items()} if isinstance(value, dict) else value


def main():
    figures = {
        "funnel": [
            funnel(rate, exposure)
            for rate in (0.05, 0.3, 2.5)
            for exposure in (0.5, 3.0, 10.0, 25.55, 120.0, 900.0)
        ],
        "gamma_poisson": rounded([gamma_poisson(*case) for case in CASES]),
    }
    with open(sys.argv[1], "w", encoding="utf-8") as out:
        json.dump(figures, out, indent=1)
        out.write("\n")


main()
