"""Enclosures by mpmath.iv (mpmath 1.3.0, 40 digits) of expressions over random intervals.

Each line: the expression as a sheet writes it; the ends of x and of y; the ends of the enclosure.

    python3 intervals.py > intervals.csv
"""

import random
import sys
from mpmath import iv, mp

mp.dps = 40
iv.dps = 40
EXPRESSIONS = [
    ("x + y", lambda x, y: x + y),
    ("x - y", lambda x, y: x - y),
    ("x * y", lambda x, y: x * y),
    ("x / (y + 11)", lambda x, y: x / (y + 11)),
    ("x^2 - y", lambda x, y: x**2 - y),
    ("x^3 + y", lambda x, y: x**3 + y),
    ("x^4 * y", lambda x, y: x**4 * y),
    ("1 / (x^2 + 1) + y", lambda x, y: 1 / (x**2 + 1) + y),
    ("sqrt(x^2 + 0.5) * y", lambda x, y: iv.sqrt(x**2 + iv.mpf("0.5")) * y),
    ("exp(x / 4) - y", lambda x, y: iv.exp(x / 4) - y),
    ("ln(x^2 + 0.25) + y", lambda x, y: iv.log(x**2 + iv.mpf("0.25")) + y),
    ("sin(x * 1 rad) * y", lambda x, y: iv.sin(x) * y),
    ("cos(x * 1 rad) + y", lambda x, y: iv.cos(x) + y),
    ("abs(x) - y", lambda x, y: abs_(x) - y),
    ("(x + y) * (x - y)", lambda x, y: (x + y) * (x - y)),
    ("x * exp(y / 5) / (x^2 + 2)", lambda x, y: x * iv.exp(y / 5) / (x**2 + 2)),
]


def abs_(x):
    low, high = x.a, x.b
    if low >= 0:
        return x
    if high <= 0:
        return -x
    return iv.mpf([0, max(-low, high)])


def main():
    random.seed(5)
    out = sys.stdout
    out.write("expression;x_low;x_high;y_low;y_high;low;high\n")
    for text, function in EXPRESSIONS:
        for width in [0.01, 0.5, 3.0, 0.125] * 4:
            ends = []
            for _ in range(2):
                low = round(random.uniform(-6, 5), 3)
                ends += [low, round(low + width * random.uniform(0.1, 1), 3)]
            x = iv.mpf([repr(ends[0]), repr(ends[1])])
            y = iv.mpf([repr(ends[2]), repr(ends[3])])
            found = function(x, y)
            low, high = mp.nstr(mp.mpf(found.a), 25), mp.nstr(mp.mpf(found.b), 25)
            out.write(";".join([text, *map(repr, ends), low, high]) + "\n")


main()
