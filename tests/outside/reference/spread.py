"""The spread of a rate between patients by statsmodels: writes spread.json to the file named by its argument.

The robust variance is that of a Poisson regression without covariates, clusters corrected by n / (n - 1); the same without
the correction is that of generalized estimating equations with independence, which has to agree.
"""

import json
import math
import sys

import numpy as np
import statsmodels.api as sm
from scipy import stats


def invented(seed, n):
    """The same invented numbers on every machine, between 0 and 1."""
    for _ in range(n):
        seed = 16807 * seed % 2147483647
        yield seed / 2147483647


def program(seed, n, per_day, shape):
    """`n` patients; the smaller the shape, the more infections gather in few of them."""
    patients = []
    for _ in range(n):
        days, own, many = list(invented(seed, 3))
        seed = int(many * 2147483647)
        days = int(30 + 330 * days)
        rate = per_day * stats.gamma.ppf(own, shape, scale=1 / shape)
        patients.append([int(stats.poisson.ppf(many, rate * days)), days])
    return patients


def spread(patients):
    events = np.array([one[0] for one in patients], dtype=float)
    exposure = np.array([one[1] for one in patients]) / 1000.0
    groups, ones = np.arange(len(patients)), np.ones(len(patients))
    family = sm.families.Poisson()
    near = {"start_params": [math.log(events.sum() / exposure.sum())], "tol": 1e-14}
    fit = sm.GLM(events, ones, family=family, exposure=exposure).fit(
        cov_type="cluster", cov_kwds={"groups": groups, "use_correction": True}, **near
    )
    variance = float(np.asarray(fit.cov_params())[0, 0])
    plain = float(np.asarray(sm.GLM(events, ones, family=family, exposure=exposure).fit(**near).cov_params())[0, 0])
    gee = sm.GEE(events, ones, groups=groups, family=family, exposure=exposure).fit(ctol=1e-12)
    of_gee = float(np.asarray(gee.cov_params())[0, 0]) * len(patients) / (len(patients) - 1)
    assert abs(of_gee / variance - 1) < 1e-8, (of_gee, variance)
    rate, width = math.exp(fit.params[0]), math.exp(stats.norm.ppf(0.975) * math.sqrt(variance))
    return {
        "patients": patients,
        "poisson_variance": plain,
        "robust_variance": variance,
        "variance_ratio": variance / plain,
        "robust_low": rate / width,
        "robust_high": rate * width,
    }


def main():
    several = [
        [[1, 300], [0, 300]],
        [[6, 365], [0, 365], [0, 365], [0, 365], [0, 200], [1, 90]],
        [[1, 365]] * 6 + [[0, 365]] * 6,
        program(11, 25, 0.002, 0.4),
        program(12, 80, 0.001, 1.5),
        program(13, 200, 0.0005, 50.0),
    ]
    rows = ",\n  ".join(json.dumps(spread(patients)) for patients in several)
    with open(sys.argv[1], "w", encoding="utf-8") as file:
        file.write('{"rows": [\n  ' + rows + "\n]}\n")


main()
