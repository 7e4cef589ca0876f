"""Inertia of bodies by adding up density times distance squared, not by closed formulas.

Run: python3 bodies.py > bodies.csv
Route: scipy.integrate.quad / dblquad over the body; densities and sizes in SI.
"""

import csv
import sys
from math import cos, pi, sin, sqrt

from scipy.integrate import dblquad, quad, solve_ivp

EPS = dict(epsabs=0, epsrel=1e-13)


def shells(inner, outer, height):
    """Volume and integral of r² over a body of revolution, by cylindrical shells of height(r)."""
    volume = quad(lambda r: 2 * pi * r * height(r), inner, outer, **EPS)[0]
    second = quad(lambda r: 2 * pi * r**3 * height(r), inner, outer, **EPS)[0]
    return volume, second


def slices(radius, length):
    """The same for a body of revolution cut into discs of radius(z); a disc's r² adds up to π·R⁴/2."""
    volume = quad(lambda z: pi * radius(z) ** 2, 0, length, **EPS)[0]
    second = quad(lambda z: pi * radius(z) ** 4 / 2, 0, length, **EPS)[0]
    return volume, second


def across(inner, outer, length):
    """Integral of y² + z² over a tube, z along the tube: the axis crosses it at its centre."""
    y2 = quad(lambda r: pi * r**3, inner, outer, **EPS)[0] * length
    z2 = pi * (outer**2 - inner**2) * quad(lambda z: z**2, -length / 2, length / 2, **EPS)[0]
    return y2 + z2


rows = []


def row(name, quantity, value):
    rows.append((name, quantity, f"{value:.12g}"))


v, q = shells(0, 0.2, lambda r: 0.05)
row("steel disc 400 x 50 mm", "m kg", 7850 * v)
row("steel disc 400 x 50 mm", "J kg·m²", 7850 * q)
row("steel disc 400 x 50 mm", "J_across kg·m²", 7850 * across(0, 0.2, 0.05))

v, q = shells(0.13, 0.15, lambda r: 0.8)
row("steel tube 300/260 x 800 mm", "m kg", 7850 * v)
row("steel tube 300/260 x 800 mm", "J kg·m²", 7850 * q)
row("steel tube 300/260 x 800 mm", "J_across kg·m²", 7850 * across(0.13, 0.15, 0.8))

v, q = shells(0.29, 0.31, lambda r: 0.08)
row("steel ring, middle 600, wall 20, width 80 mm", "m kg", 7850 * v)
row("steel ring, middle 600, wall 20, width 80 mm", "J full kg·m²", 7850 * q)

# disc with bore 80, six holes of 90 on 300 mm: the hole is added up in polar coordinates about its own
# centre, with the distance to the shaft by the law of cosines
v0, q0 = shells(0.04, 0.25, lambda r: 0.04)
vh = 0.04 * pi * 0.045**2
qh = 0.04 * dblquad(lambda s, f: s * (s**2 + 0.15**2 + 2 * s * 0.15 * cos(f)), 0, 2 * pi, 0, 0.045, epsabs=0, epsrel=1e-12)[0]
row("flywheel 500/80 x 40 mm, 6 holes 90 on 300 mm", "m kg", 7850 * (v0 - 6 * vh))
row("flywheel 500/80 x 40 mm, 6 holes 90 on 300 mm", "J kg·m²", 7850 * (q0 - 6 * qh))

area = dblquad(lambda y, x: x**2 + y**2, -0.3, 0.3, -0.2, 0.2, epsabs=0, epsrel=1e-12)[0]
row("steel plate 600 x 400 x 30 mm", "m kg", 7850 * 0.6 * 0.4 * 0.03)
row("steel plate 600 x 400 x 30 mm", "J kg·m²", 7850 * 0.03 * area)

line = 7850 * pi * 0.015**2
row("steel rod 900 mm, 30 mm thick", "m kg", line * 0.9)
row("steel rod 900 mm, 30 mm thick", "J centre kg·m²", line * quad(lambda x: x**2, -0.45, 0.45, **EPS)[0])
row("steel rod 900 mm, 30 mm thick", "J end kg·m²", line * quad(lambda x: x**2, 0, 0.9, **EPS)[0])

v, q = slices(lambda z: sqrt(max(0.15**2 - (z - 0.15) ** 2, 0)), 0.3)
row("steel ball 300 mm", "m kg", 7850 * v)
row("steel ball 300 mm", "J kg·m²", 7850 * q)
# shell: rings of a spherical surface of radius R, wall t thin
surface = quad(lambda f: 2 * pi * 0.4**2 * sin(f), 0, pi, **EPS)[0]
second = quad(lambda f: 2 * pi * 0.4**4 * sin(f) ** 3, 0, pi, **EPS)[0]
row("steel shell 800 mm, wall 5 mm", "m kg", 7850 * 0.005 * surface)
row("steel shell 800 mm, wall 5 mm", "J kg·m²", 7850 * 0.005 * second)

v, q = slices(lambda z: 0.12 * (1 - z / 0.18), 0.18)
row("steel cone 240 x 180 mm", "m kg", 7850 * v)
row("steel cone 240 x 180 mm", "J kg·m²", 7850 * q)
v, q = slices(lambda z: 0.12 + (0.05 - 0.12) * z / 0.18, 0.18)
row("steel cut cone 240/100 x 180 mm", "m kg", 7850 * v)
row("steel cut cone 240/100 x 180 mm", "J kg·m²", 7850 * q)

# roll of web 1000/120 mm, 1200 mm wide, 0.25 mm thick: turn by turn, the same web drawn off
v, q = shells(0.06, 0.5, lambda r: 1.2)
row("roll 1000/120 x 1200 mm, 900 kg/m³", "m kg", 900 * v)
row("roll 1000/120 x 1200 mm, 900 kg/m³", "J kg·m²", 900 * q)
row("roll 1000/120 x 1200 mm, 900 kg/m³", "length m", v / 1.2 / 0.00025)
row("roll 1000/120 x 1200 mm, 900 kg/m³", "n at 5 m/s, r/min", 5 / 0.5 * 60 / (2 * pi))
row("roll 1000/120 x 1200 mm, 900 kg/m³", "E J", 0.5 * 900 * q * (5 / 0.5) ** 2)
# drawing off 2000 m: from the outside inward, r dr = -t/(2 pi) dL

down = solve_ivp(lambda s, r: [-0.00025 / (2 * pi * r[0])], (0, 2000), [0.5], rtol=1e-12, atol=1e-14, method="DOP853")
radius = down.y[0, -1]
v, q = shells(0.06, radius, lambda r: 1.2)
row("the roll after 2000 m", "d mm", 2000 * radius)
row("the roll after 2000 m", "m kg", 900 * v)
row("the roll after 2000 m", "J kg·m²", 900 * q)

out = csv.writer(sys.stdout, lineterminator="\n")
out.writerow(("body", "quantity", "value"))
out.writerows(rows)
