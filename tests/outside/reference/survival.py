"""Checks survival.json, written by R, against other libraries and a second method.

    python survival.py survival.json

lifelines: freedom, also with delayed entry; the incidence where no two ends fall on one day (it moves ties apart at
random); the log-rank test without delayed entry. statsmodels: the incidence without delayed entry; the log-rank test with
it; the hazard ratios by Efron's ties, to the six digits to which its search converges. Here: the standard error of the incidence as the derivative by each patient's weight, taken by a complex step. The
versions are those of requirements.txt.

A spell is at risk on day t if from <= t <= to. Both libraries have somebody at risk if entry < t, so entry = from - 0.5; to
keep times positive, which both expect, every time is moved by one day.
"""

import json
import math
import sys

import numpy as np
from lifelines import AalenJohansenFitter, KaplanMeierFitter
from lifelines.statistics import multivariate_logrank_test
from scipy.stats import chi2
from statsmodels.duration.hazard_regression import PHReg
from statsmodels.duration.survfunc import CumIncidenceRight, survdiff

ENDS = ["infection", "death", "transplant", "recovery"]
NEAR = 1e-10
checks = 0


def same(ours, theirs, what):
    """Checks that the two are equal to 1e-10. An empty comparison fails."""
    global checks
    ours, theirs = np.asarray(ours, dtype=float), np.asarray(theirs, dtype=float)
    assert ours.shape == theirs.shape and ours.size > 0, f"{what}: {ours.shape} and {theirs.shape}"
    worst = np.max(np.abs(ours - theirs) - NEAR * np.abs(theirs))
    assert worst <= 1e-15, f"{what}: {ours} and {theirs}"
    checks += ours.size


class Set:
    """The columns of one set."""

    def __init__(self, read):
        self.name = read["name"]
        self.freedom = read["freedom"]
        self.incidence = read["incidence"]
        self.starts = np.array([start for start, _, _ in read["spells"]], dtype=float)
        self.to = np.array([to for _, to, _ in read["spells"]], dtype=float)
        self.end = np.array([end for _, _, end in read["spells"]])
        self.is_infected = self.end == "infection"
        self.status = np.array([ENDS.index(end) + 1 if end in ENDS else 0 for end in self.end])

    def is_late(self):
        return bool(np.any(self.starts > 0))

    def is_refused(self):
        """lifelines refuses a curve that is 0 before the last patient has left."""
        return 0 in column(self.freedom, 4)[:-1]


def column(table, at):
    return [row[at] for row in table]


def check_freedom(one):
    entry = one.starts + 0.5 if one.is_late() else None
    fit = KaplanMeierFitter().fit(one.to + 1, one.is_infected, entry=entry)
    found = fit.survival_function_at_times(np.array(column(one.freedom, 0)) + 1).to_numpy()
    same(column(one.freedom, 4), found, f"{one.name}: freedom")


def check_incidence_without_ties(one):
    for end, curve in one.incidence.items():
        fit = AalenJohansenFitter(calculate_variance=False)
        entry = one.starts + 0.5 if one.is_late() else None
        fit.fit(one.to + 1, one.status, event_of_interest=ENDS.index(end) + 1, entry=entry)
        found = np.atleast_1d(fit.predict(np.array(column(curve, 0)) + 1))
        same(column(curve, 2), found, f"{one.name}: incidence of {end}")


def check_incidence_without_entry(one):
    fit = CumIncidenceRight(one.to + 1, one.status)
    for end, curve in one.incidence.items():
        at = np.searchsorted(fit.times, np.array(column(curve, 0)) + 1)
        same(column(curve, 2), fit.cinc[ENDS.index(end)][at], f"{one.name}: incidence of {end}")


def check_jackknife(one):
    """Aalen–Johansen once more, with weights: that of patient i is 1 + a step along the imaginary axis."""
    step = 1e-30
    for end, curve in one.incidence.items():
        weights = np.ones((len(one.to), len(one.to)), dtype=complex) + 1j * step * np.eye(len(one.to))
        free, met = np.ones(len(one.to), dtype=complex), np.zeros(len(one.to), dtype=complex)
        values, errors = [], []
        for day in column(curve, 0):
            is_at_risk = (one.starts <= day) & (day <= one.to)
            at_risk = weights[:, is_at_risk].sum(axis=1)
            ended = weights[:, (one.to == day) & (one.status > 0)].sum(axis=1)
            met = met + free * weights[:, (one.to == day) & (one.end == end)].sum(axis=1) / at_risk
            free = free * (at_risk - ended) / at_risk
            values.append(met[0].real)
            errors.append(math.sqrt(np.sum((met.imag / step) ** 2)))
        same(column(curve, 2), values, f"{one.name}: incidence of {end}")
        same(column(curve, 3), errors, f"{one.name}: standard error of the incidence of {end}")


def check_log_rank(test, sets):
    groups = [sets[name] for name in test["sets"]]
    group = np.repeat(np.arange(len(groups)), [len(one.to) for one in groups])
    starts, to = (np.concatenate([getattr(one, key) for one in groups]) for key in ["starts", "to"])
    is_infected = np.concatenate([one.is_infected for one in groups])
    what = f"log-rank of {test['sets']}"
    found = survdiff(to + 1, is_infected.astype(float), group, entry=starts + 0.5)
    same(test["chi_square"], found[0], what)
    # far out p is small: the tolerance is relative, 1e-10, with the tail by SciPy
    same(test["p"] / chi2.sf(found[0], test["df"]), 1, what)
    if not np.any(starts > 0):
        found = multivariate_logrank_test(to + 1, group, is_infected)
        same(test["chi_square"], found.test_statistic, what)


def check_hazard(test, sets):
    """The limits are those of the logarithm, 1.959964 standard errors away."""
    groups = [sets[name] for name in test["sets"]]
    group = np.repeat(np.arange(len(groups)), [len(one.to) for one in groups])
    starts, to = (np.concatenate([getattr(one, key) for one in groups]) for key in ["starts", "to"])
    is_infected = np.concatenate([one.is_infected for one in groups])
    is_of = np.array([group == other for other in range(1, len(groups))], dtype=float).T
    if None in test["hazard_ratio"][1:]:
        return
    found = PHReg(to + 1, is_of, status=is_infected.astype(float), entry=starts + 0.5, ties="efron").fit(disp=False)
    for name, logs in [("ratio", found.params), ("low", found.params - 1.959963984540054 * found.bse),
                       ("high", found.params + 1.959963984540054 * found.bse)]:
        ours = np.log(np.array(test[f"hazard_{name}"][1:]))
        assert np.max(np.abs(ours - logs)) < 1e-6, f"hazard {name} of {test['sets']}: {ours} and {logs}"


def main(path):
    with open(path, encoding="utf-8") as file:
        read = json.load(file)
    sets = {one["name"]: Set(one) for one in read["sets"]}
    for one in sets.values():
        check_jackknife(one)
        if not one.is_late() and one.incidence:
            check_incidence_without_entry(one)
        if not one.is_refused():
            check_freedom(one)
            if len(set(one.to)) == len(one.to):
                check_incidence_without_ties(one)
    for test in read["log_rank"]:
        check_log_rank(test, sets)
        check_hazard(test, sets)
    print(f"{path}: {checks} figures agree")


main(*sys.argv[1:])
