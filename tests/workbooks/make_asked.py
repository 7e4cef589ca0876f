"""Makes the workbooks beside it that ask for sheets, with openpyxl 3.1.5. All data are invented.

    python make_asked.py asked
"""

import datetime
import pathlib
import sys

from openpyxl import Workbook
from openpyxl.workbook.defined_name import DefinedName

STAMP = datetime.datetime(2026, 11, 25, 6, 30)

RESISTOR = [
    ("sheet brake-resistor", None, None),
    ("name", "value", "unit"),
    ("J_load", 0.35, "kg·m²"),
    ("i", 5, None),
    ("J_m", 18, "kg·cm²"),
    ("n_0", 1450, "r/min"),
    ("t_ramp", 500, "ms"),
    ("t_cycle", 12, "s"),
    ("U_chop", 780, "V"),
    ("I_max", 10, "A"),
    ("R_min", 47, "Ω"),
    ("eta", 95, "%"),
    (None, None, None),
    ("results", None, None),
    ("E", None, "kJ"),
    ("P_peak", None, "kW"),
    ("P_mean", None, "W"),
    ("R", None, "Ω"),
    ("checks", None, None),
]


def book_with(rows, at=(2, 2), tab="Inputs"):
    book = Workbook()
    sheet = book.active
    sheet.title = tab
    for down, row in enumerate(rows):
        for across, value in enumerate(row):
            if value is not None:
                sheet.cell(at[0] + down, at[1] + across, value)
    return book


def changed(rows, **changes):
    out = []
    for name, value, unit in rows:
        if name in changes:
            value, unit = changes[name]
        out.append((name, value, unit))
    return out


def save(book, folder, name):
    book.properties.created = book.properties.modified = STAMP
    book.properties.creator = "machine office"
    book.save(folder / name)


def main():
    folder = pathlib.Path(sys.argv[1])
    folder.mkdir(exist_ok=True)
    save(book_with(RESISTOR), folder, "block.xlsx")

    five = changed(
        RESISTOR,
        n_0=(24.2, "Hz"),
        J_load=("0,35kgm2", None),
        t_cycle=(None, "s"),
        I_max=(10, "mm"),
        eta=(120, "%"),
    )
    save(book_with(five), folder, "five-mistakes.xlsx")

    odd = changed(
        RESISTOR,
        J_load=("=1/0", "kg·m²"),
        n_0=(datetime.date(2026, 11, 25), "r/min"),
        t_ramp=(True, "ms"),
        t_cycle=(12, None),
        U_chop=(780, "Volts"),
    )
    book = book_with(odd)
    save(book, folder, "odd-cells.xlsx")

    save(book_with([(n, v, u) for n, v, u in RESISTOR if n not in ("t_cycle", "I_max")]), folder, "rows-missing.xlsx")
    save(book_with(RESISTOR + [("P_maen", 3, "W")]), folder, "stranger.xlsx")

    headings = [
        ("sheet run-down", None, None),
        ("J / (kg·m²)", 2, None),
        ("n_0 in r/min", 1500, None),
        ("T_0 [N·m]", 4, None),
        ("b (N·m·s/rad)", 0, None),
        ("t_stop / s", None, None),
        ("phi_stop (r)", None, None),
    ]
    save(book_with(headings, at=(1, 1)), folder, "headings.xlsx")

    names = book_with([("inertia", 2, "kg·m²"), ("speed n / (r/min)", 1500, None), ("friction", 4, "N·m"), ("stop", None, "s"), ("words", None, None)], at=(3, 2), tab="Run-down")
    for row, name in enumerate(("J", "n_0", "T_0", "t_stop", "checks"), 3):
        names.defined_names[f"run_down.{name}"] = DefinedName(f"run_down.{name}", attr_text=f"'Run-down'!$C${row}")
    save(names, folder, "names.xlsx")
    names.defined_names["run_down.T_0"] = DefinedName("run_down.T_0", attr_text="'Gone'!$C$5")
    names.defined_names["run_down.n_0"] = DefinedName("run_down.n_0", attr_text="#REF!")
    save(names, folder, "broken-names.xlsx")

    series = [
        ("sheet measured-stops", None, None),
        ("t_k", 312, "ms"),
        (None, 318, None),
        (None, 305, None),
    ]
    values = [309, 315, 311, 320, 307, 313, 316]
    series += [(None, value, None) for value in values]
    save(book_with(series), folder, "series.xlsx")

    plain = Workbook()
    sheet = plain.active
    sheet.title = "Old sheet"
    for row, (words, value) in enumerate([("Load", 2), ("Speed", 1500), ("Friction", 4), ("Unit of friction", "N·m"), ("Stop", None)], 3):
        sheet.cell(row, 1, words)
        sheet.cell(row, 5, value)
    save(plain, folder, "plain.xlsx")

    results = book_with(RESISTOR)
    sheet = results.active
    sheet["C16"] = "=1+1"
    save(results, folder, "formula-in-result.xlsx")


if __name__ == "__main__":
    main()
