"""Compares two JSON files number by number, to a relative 1e-9; everything else has to be equal.

The second file is the committed one. Says every place that differs and fails, or says how many numbers agree.
"""

import json
import math
import sys

RELATIVE = 1e-9
# A number this close to 0 counts as 0: the rounding error of a difference of two equal numbers.
ABSOLUTE = 1e-12


def is_number(value):
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def differences(new, committed, place):
    """Yields each difference below a place, and `None` for each number that is equal."""
    if is_number(new) and is_number(committed):
        if math.isclose(new, committed, rel_tol=RELATIVE, abs_tol=ABSOLUTE):
            yield None
        else:
            yield f"{place}: {new!r}, committed is {committed!r}"
    elif isinstance(new, dict) and isinstance(committed, dict):
        for name in [*new, *(name for name in committed if name not in new)]:
            if name not in new or name not in committed:
                yield f"{place}.{name}: only in the {'new' if name in new else 'committed'} file"
            else:
                yield from differences(new[name], committed[name], f"{place}.{name}")
    elif isinstance(new, list) and isinstance(committed, list):
        if len(new) != len(committed):
            yield f"{place}: {len(new)} rows, committed are {len(committed)}"
        for index, (one, other) in enumerate(zip(new, committed)):
            yield from differences(one, other, f"{place}[{index}]")
    elif new != committed or type(new) is not type(committed):
        yield f"{place}: {new!r}, committed is {committed!r}"


def read(path):
    with open(path, encoding="utf-8") as file:
        return json.load(file)


def main():
    new, committed = sys.argv[1:]
    found = list(differences(read(new), read(committed), "$"))
    faults = [fault for fault in found if fault is not None]
    if faults:
        shown = "\n  ".join(faults[:20])
        more = f"\n  and {len(faults) - 20} more" if len(faults) > 20 else ""
        sys.exit(f"{committed} is not what the libraries compute; {len(faults)} differ:\n  {shown}{more}")
    if not found:
        sys.exit(f"{committed} holds no number")
    print(f"{committed}: {len(found)} numbers as the libraries compute them")


main()
