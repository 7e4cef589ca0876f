"""Fills forms in by hand with openpyxl 3.1.5, as a person would type, and gives them to `fill`.

    cargo build
    python tests/workbooks/form_by_openpyxl.py target/debug/standstill

The figures are worked by hand beside each form.
"""

import math
import pathlib
import subprocess
import sys
import tempfile

import openpyxl

# sheet, words for `form`, what is typed (name: value, unit), what must come out (tab, name: value)
FORMS = [
    # J·ω/T = 2 kg·m² · 50π rad/s / 4 N·m
    ("run-down", [], {"J": (2, None), "n_0": (25, "r/s"), "T_0": (4, None)}, {("run-down", "t_stop"): 25 * math.pi}),
    # 0.35/25 + 0.0018 kg·m² in the sheet that is used, 1/2·J·ω²·0.95 in the sheet itself
    ("brake-resistor", ["--uses"],
     {"J_load": (0.35, None), "i": (5, None), "J_m": (18, "kg·cm²"), "n_0": (1450, None), "t_ramp": (500, "ms"),
      "t_cycle": (12, None), "U_chop": (780, None), "I_max": (10, None), "R_min": (0, None), "eta": (95, None)},
     {("brake-resistor uses", "J_ref"): 0.0158,
      ("brake-resistor", "E"): 0.5 * 0.0158 * (1450 * math.pi / 30) ** 2 * 0.95 / 1000}),
]


def rows(tab):
    """Row of each name in the first column; the last of that name."""
    return {tab.cell(row, 1).value: row for row in range(1, tab.max_row + 1) if tab.cell(row, 1).value}


def first_rows(tab):
    found = {}
    for row in range(1, tab.max_row + 1):
        found.setdefault(tab.cell(row, 1).value, row)
    return found


def main():
    binary = str(pathlib.Path(sys.argv[1]).resolve())
    wrong = []
    for sheet, words, typed, wanted in FORMS:
        with tempfile.TemporaryDirectory() as folder:
            path = pathlib.Path(folder) / "form.xlsx"
            subprocess.run([binary, "form", sheet, *words, "-o", path.name], cwd=folder, check=True, capture_output=True)
            book = openpyxl.load_workbook(path)
            tab = book[sheet]
            inputs = first_rows(tab)
            for name, (value, unit) in typed.items():
                tab.cell(inputs[name], 2).value = value
                if unit:
                    tab.cell(inputs[name], 3).value = unit
            book.save(path)
            done = subprocess.run([binary, "fill", path.name], cwd=folder, capture_output=True, text=True)
            if done.returncode != 0:
                wrong.append(f"{sheet}: exit code {done.returncode}: {done.stderr}")
                continue
            book = openpyxl.load_workbook(path, data_only=True)
            for (name_of_tab, name), value in wanted.items():
                tab = book[name_of_tab]
                found = tab.cell(rows(tab)[name], 2).value
                if not isinstance(found, (int, float)) or abs(found / value - 1) > 1e-12:
                    wrong.append(f"{sheet} {name}: {found}, not {value}")
            print(f"{sheet} {' '.join(words)}: filled in by hand and calculated")
    for line in wrong:
        print("WRONG", line)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
