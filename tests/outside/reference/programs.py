"""Parquet tables of 20 simulated programs, read by DuckDB in one query: device-days and infections of 2025 are those that
`audit` says.

    python programs.py EXITSITE SIMULATE QUERY.sql
"""

import json
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import duckdb

PROGRAMS = 20
NOW = "2026-11-24T07:15"


def run(*arguments):
    ran = subprocess.run([str(argument) for argument in arguments], capture_output=True, text=True)
    if ran.returncode not in (0, 3):
        sys.exit(f"{arguments}: {ran.stderr}")
    return ran.stdout


def program(folder, exitsite, simulate, n):
    """Simulates a program and exports it into `tables/program=NAME`; what its audit says."""
    name, records = f"p{n:02}", folder / f"records-{n:02}"
    run(simulate, "--patients", 2 + n % 4, "--years", 2, "--seed", n, "--until", "2026-11-24", "--out", records)
    run(exitsite, "export", "parquet", folder / "tables" / f"program={name}", "--records", records, "--as-of", NOW)
    audit = json.loads(run(exitsite, "audit", "--year", 2025, "--json", "--records", records, "--as-of", NOW))
    return name, audit["census"]["device_days"], audit["infections"]["events"]


def main():
    exitsite, simulate, query = sys.argv[1:]
    with tempfile.TemporaryDirectory() as kept:
        folder = Path(kept)
        (folder / "tables").mkdir()
        with ThreadPoolExecutor(2) as pool:
            said = list(pool.map(lambda n: program(folder, exitsite, simulate, n), range(1, PROGRAMS + 1)))
        text = Path(query).read_text(encoding="utf-8").replace("TABLES", str(folder / "tables"))
        found = duckdb.sql(text).fetchall()
    found = [(name, int(days), int(events)) for name, days, events, *_ in found]
    if found != said:
        sys.exit(f"the query finds {found}, and `audit` says {said}")
    days, events = sum(one[1] for one in said), sum(one[2] for one in said)
    if days == 0 or events < 3:
        sys.exit(f"{days} device-days and {events} infections are too few to compare")
    print(f"{PROGRAMS} programs in one query: {days} device-days and {events} infections, as `audit` says")


main()
