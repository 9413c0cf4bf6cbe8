"""The lower-sided alarm: run lengths by a matrix over every value of a grid, and by following every value and its chance.

Writes lower.json to the file named by its argument. Neither uses the walk of the program.
"""

import json
import math
import sys

import numpy as np
from scipy import stats

# A sum equal to the threshold but for rounding is an alarm: months without an infection add up to it exactly.
TIE = 1e-9


def on_a_grid(mean, reference, threshold, per_event):
    """Brook and Evans 1972 for S = max(0, S + reference - X), on a grid that contains every value."""
    cells = math.ceil(threshold * per_event - TIE)
    step = round(reference * per_event)
    rest = np.eye(cells)
    for state in range(cells):
        for count in range(int(mean + 12 * math.sqrt(mean) + 40)):
            arrived = max(0, state + step - count * per_event)
            if arrived < cells:
                rest[state, arrived] -= stats.poisson.pmf(count, mean)
    return float(np.linalg.solve(rest, np.ones(cells))[0])


def walked(expected, ratio, threshold):
    """Every value of S = max(0, S + E/2 - X ln 2) since it was last 0, as (events, months), with its chance, month after month.

    Neither a grid nor a renewal: what is left after each month is added up until it falls by the same factor each month.
    """
    ln2, mean = math.log(2), ratio * expected
    chances = stats.poisson.pmf(np.arange(int(mean + 12 * math.sqrt(mean) + 40)), mean)
    under_way, first = {0: np.array([1.0])}, {0: 0}
    months, left, factor, settled = 0.0, 1.0, 0.0, 0
    for _ in range(20000):
        months += left
        arrived, arrived_first = {}, {}
        at_zero = 0.0
        for age, row in under_way.items():
            spread = np.convolve(row, chances)
            events = np.arange(first[age], first[age] + len(spread))
            value = (age + 1) * expected / 2 - events * ln2
            at_zero += spread[value <= 0].sum()
            inside = (value > 0) & (value < threshold - TIE)
            if inside.any() and spread[inside].sum() > 1e-30:
                arrived[age + 1], arrived_first[age + 1] = spread[inside], int(events[inside][0])
        arrived[0], arrived_first[0] = np.array([at_zero]), 0
        under_way, first = arrived, arrived_first
        remaining = sum(row.sum() for row in under_way.values())
        # in the first months no sum has reached the threshold
        settled = settled + 1 if remaining < 1 and abs(remaining / left - factor) < 1e-14 else 0
        if settled == 20:
            return months + remaining / (1 - remaining / left)
        left, factor = remaining, remaining / left
    raise AssertionError("the factor does not settle")


def thresholds():
    """The smallest multiple of 0.001 with a run of 100 months at the old rate, by the walk."""
    rows = []
    for expected in (0.5, 0.85, 1.0, 1.3, 2.0, 3.7, 8.0, 20.0):
        months = lambda steps, ratio: walked(expected, ratio, steps / 1000)
        short, enough = 0, 4606
        while enough - short > 1:
            middle = (short + enough) // 2
            short, enough = (short, middle) if months(middle, 1) >= 100 else (middle, enough)
        row = {"expected": expected, "threshold": enough / 1000, "in_control": months(enough, 1), "delay": months(enough, 0.5)}
        rows.append(row | {"short": months(enough - 1, 1)})
    return rows


def run_lengths():
    rows = []
    for mean, reference, threshold, per_event in (
        (1.0, 0.72, 3.5, 50),
        (0.5, 0.72, 3.5, 50),
        (2.0, 1.44, 4.0, 25),
        (0.3, 0.25, 2.25, 4),
        (6.0, 4.5, 5.0, 2),
        (1.0, 0.8, 0.8, 5),
        (3.0, 2.0, 7.0, 1),
    ):
        months = on_a_grid(mean, reference, threshold, per_event)
        rows.append({"mean": mean, "reference": reference, "threshold": threshold, "months": months})
    return rows


def main():
    lists = {"run_lengths": run_lengths(), "thresholds": thresholds()}
    each = (f' "{name}": [\n  ' + ",\n  ".join(map(json.dumps, rows)) + "\n ]" for name, rows in lists.items())
    with open(sys.argv[1], "w", encoding="utf-8") as file:
        file.write("{\n" + ",\n".join(each) + "\n}\n")


main()
