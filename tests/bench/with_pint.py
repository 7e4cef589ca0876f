"""What people write today: a units library with a reader of workbooks, on the rows of one sheet.

    pip install pint==0.25.3 openpyxl==3.1.5 numpy
    python tests/bench/with_pint.py STANDSTILL FOLDER

The formulas of `ramp-stop` over one workbook, read and written: with pint row by row, with pint on numpy
columns, and by `standstill range`. Prints one line of JSON: seconds of each.
"""

import json
import pathlib
import random
import subprocess
import sys
import time

import numpy
import openpyxl
import pint

ROWS = 5_000
INPUTS = [
    ("n_0", "r/min", "rpm", 300, 3000),
    ("J", "kg·m²", "kg*m**2/rad**2", 0.001, 0.1),
    ("t_dead", "ms", "ms", 1, 50),
    ("t_ramp", "s", "s", 0.1, 5),
    ("T_0", "N·m", "N*m/rad", 0.1, 3),
    ("T_max", "N·m", "N*m/rad", 5, 50),
]
RESULTS = [("t_stop", "s", "s"), ("phi_stop", "r", "turn"), ("a_mean", "rad/s²", "rad/s**2"),
           ("T_peak", "N·m", "N*m/rad"), ("margin", "N·m", "N*m/rad"), ("P_peak", "kW", "kW"), ("t_least", "s", "s")]
UNITS = pint.UnitRegistry()


def make(path):
    chance = random.Random(7)
    book = openpyxl.Workbook(write_only=True)
    tab = book.create_sheet("Line")
    tab.append(["sheet ramp-stop"])
    tab.append([])
    tab.append([f"{name} / ({unit})" for name, unit, *_ in INPUTS] + [f"{name} / ({unit})" for name, unit, _ in RESULTS])
    for _ in range(ROWS):
        tab.append([float(f"{chance.uniform(low, high):.4g}") for *_, low, high in INPUTS])
    book.save(path)


def formulas(n_0, J, t_dead, t_ramp, T_0, T_max, greatest):
    t_stop = t_dead + t_ramp
    phi_stop = n_0 * (t_dead + t_ramp / 2)
    a_mean = n_0 / t_ramp
    T_peak = J * a_mean - T_0
    margin = T_max - T_peak
    P_peak = greatest(T_peak, 0 * T_peak) * n_0
    t_least = J * n_0 / (T_max + T_0)
    return t_stop, phi_stop, a_mean, T_peak, margin, P_peak, t_least


def read(path):
    rows = openpyxl.load_workbook(path)["Line"].iter_rows(min_row=4, max_col=len(INPUTS), values_only=True)
    return list(rows)


def write(path, to, rows):
    book = openpyxl.load_workbook(path)
    tab = book["Line"]
    for at, row in enumerate(rows, 4):
        for column, value in enumerate(row, len(INPUTS) + 1):
            tab.cell(at, column, float(value))
    book.save(to)


def row_by_row(path, to):
    results = []
    for row in read(path):
        quantities = [UNITS.Quantity(value, unit) for value, (_, _, unit, *_) in zip(row, INPUTS)]
        found = formulas(*quantities, max)
        results.append([one.to(unit).magnitude for one, (*_, unit) in zip(found, RESULTS)])
    write(path, to, results)


def by_columns(path, to):
    columns = numpy.array(read(path), dtype=float).T
    quantities = [UNITS.Quantity(column, unit) for column, (_, _, unit, *_) in zip(columns, INPUTS)]
    found = formulas(*quantities, numpy.maximum)
    results = [one.to(unit).magnitude for one, (*_, unit) in zip(found, RESULTS)]
    write(path, to, zip(*results))


def calculation_row_by_row(rows):
    for row in rows:
        quantities = [UNITS.Quantity(value, unit) for value, (_, _, unit, *_) in zip(row, INPUTS)]
        [one.to(unit).magnitude for one, (*_, unit) in zip(formulas(*quantities, max), RESULTS)]


def seconds(work, *words):
    start = time.perf_counter()
    work(*words)
    return time.perf_counter() - start


def main():
    program, folder = sys.argv[1], pathlib.Path(sys.argv[2])
    path = folder / "pint.xlsx"
    make(path)

    def ours():
        done = subprocess.run([program, "range", path, "-o", folder / "ours.xlsx", "--force"], capture_output=True)
        assert done.returncode < 2, done.stderr.decode()

    times = {"row by row": [], "by columns": [], "ours": []}
    for _ in range(3):
        times["row by row"].append(seconds(row_by_row, path, folder / "rows.xlsx"))
        times["by columns"].append(seconds(by_columns, path, folder / "columns.xlsx"))
        times["ours"].append(seconds(ours))
    medians = {name: sorted(found)[1] for name, found in times.items()}
    theirs = openpyxl.load_workbook(folder / "columns.xlsx")["Line"]
    mine = openpyxl.load_workbook(folder / "ours.xlsx")["Line"]
    for row in range(4, ROWS + 4, 97):
        for column in range(len(INPUTS) + 1, len(INPUTS) + len(RESULTS) + 1):
            one, other = theirs.cell(row, column).value, mine.cell(row, column).value
            assert abs(one - other) <= 1e-9 * max(abs(one), 1e-6), (row, column, one, other)
    print(json.dumps({"rows": ROWS, **medians}))


main()
