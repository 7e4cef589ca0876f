"""Screws, threads and conveyors, worked with 20 digits in mpmath.

Run: python3 drives.py > drives.csv
"""

import csv
import sys

from mpmath import atan, mp, mpf, pi, tan

mp.dps = 20
rows = []


def row(name, quantity, value):
    rows.append((name, quantity, mp.nstr(value, 15)))


table, screw = 400 * (mpf("0.01") / (2 * pi)) ** 2, 7850 * pi * mpf("0.032") ** 4 * mpf("1.5") / 32
row("screw 32 x 1500 mm, lead 10 mm, table 400 kg", "J_mass kg·m²", table)
row("screw 32 x 1500 mm, lead 10 mm, table 400 kg", "J_screw kg·m²", screw)
row("screw 32 x 1500 mm, lead 10 mm, table 400 kg", "J kg·m²", table + screw)
for lead, diameter, mu in [("0.010", "0.032", "0.1"), ("0.010", "0.032", "0.05"), ("0.004", "0.032", "0.15")]:
    slope = mpf(lead) / (pi * mpf(diameter))
    angle, friction = atan(slope), atan(mpf(mu))
    name = f"square thread, lead {lead} m, middle {diameter} m, mu {mu}"
    row(name, "forward", slope / tan(angle + friction))
    row(name, "backward", tan(angle - friction) / slope)
r = mpf("0.164")
row("conveyor, drum 320, belt 8, 42 m of 6 kg/m, 240 kg", "J_move kg·m²", (6 * 42 + 240) * r**2)
row("conveyor, drum 320, belt 8, 2 drums 0.3, 80 rollers 0.002 of 60 mm", "J_turn kg·m²", 2 * mpf("0.3") + 80 * mpf("0.002") * (r / mpf("0.03")) ** 2)

out = csv.writer(sys.stdout, lineterminator="\n")
out.writerow(("drive", "quantity", "value"))
out.writerows(rows)
