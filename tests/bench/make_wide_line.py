"""Makes a product line of any length, and its sheet, for measuring `standstill range`.

    pip install xlsxwriter==3.3.1
    python tests/bench/make_wide_line.py 100000 FOLDER
    standstill range FOLDER/line.xlsx
"""

import pathlib
import random
import sys

import xlsxwriter

# name, kind, unit, least and largest value
INPUTS = [
    ("J_1", "inertia", "kg·m²", 1, 2),
    ("J_2", "inertia", "kg·m²", 1, 3),
    ("n_0", "speed of rotation", "r/min", 100, 3000),
    ("n_1", "speed of rotation", "r/min", 100, 900),
    ("T_1", "torque", "N·m", 10, 90),
    ("T_2", "torque", "N·m", 10, 40),
    ("t_1", "time", "ms", 10, 40),
    ("t_2", "time", "ms", 10, 40),
    ("i", "ratio", "", 1, 9),
    ("eta", "efficiency", "%", 50, 99),
    ("r", "radius", "mm", 50, 300),
    ("t_c", "time", "s", 5, 60),
]
WORKS = """works
  J_a    = J_1 + J_2 / i
  T_a    = T_1 + T_2 * eta
  t_stop = J_a * n_0 / T_a
  t_all  = t_stop + t_1 + t_2
  E      = 1/2 * J_a * n_0^2
  P      = E / t_c
  v      = r * n_1
  s      = v * t_all rounded up to 5 mm
  a      = T_a / J_a
  phi    = n_0^2 / (2 * a)

holds
  t_stop < t_c   "it stops within the cycle"     else "raise the torque"
  P < 10 kW      "the resistor takes the mean"   else "lengthen the cycle"

gives
  t_stop in s, t_all in ms, E in J, P in W, v in m/s
  s in mm, a in rad/s², phi in r, J_a in kg·m², T_a in N·m
"""


def sheet():
    lines = ["sheet wide", 'title "Ten results of twelve inputs"', 'source "none, for measuring"', "", "takes"]
    for name, kind, unit, *_ in INPUTS:
        one = f"1 {unit}" if unit else "1"
        within = f" in {unit}" if unit and unit != "%" else ""
        lines.append(f'  {name} : {kind}{within} above 0{one[1:]} like {one} "{kind}"')
    return "\n".join(lines) + "\n\n" + WORKS


def main():
    rows, folder = int(sys.argv[1]), pathlib.Path(sys.argv[2])
    folder.joinpath("wide.sheet").write_text(sheet(), encoding="utf-8")
    random.seed(1)
    book = xlsxwriter.Workbook(folder / "line.xlsx", {"constant_memory": True})
    tab = book.add_worksheet("Line")
    tab.write(0, 0, "sheet wide")
    tab.write_row(2, 0, ["variant"] + [f"{name} / ({unit})" if unit else name for name, _, unit, *_ in INPUTS])
    for row in range(rows):
        tab.write(3 + row, 0, f"V{row}")
        for column, (*_, low, high) in enumerate(INPUTS, 1):
            tab.write(3 + row, column, round(random.uniform(low, high), 3))
    book.close()


if __name__ == "__main__":
    main()
