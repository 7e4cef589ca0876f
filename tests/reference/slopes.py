"""Derivatives by autograd 1.9.1 (reverse mode over numpy).

Each line: the expression as a sheet writes it; x, y; value; derivative by x; by y. Integrals and roots are
written here in closed form, so that nothing of the way to them is shared.

    python3 slopes.py > slopes.csv
"""

import random
import sys
import autograd.numpy as np
from autograd import grad

EXPRESSIONS = [
    ("x * y + x / y", lambda x, y: x * y + x / y),
    ("x^2.5 * y", lambda x, y: x**2.5 * y),
    ("sqrt(x^2 + y^2)", lambda x, y: np.sqrt(x**2 + y**2)),
    ("cbrt(x) / y", lambda x, y: x ** (1 / 3) / y),
    ("exp(-x / y)", lambda x, y: np.exp(-x / y)),
    ("ln(x + y) * log10(x)", lambda x, y: np.log(x + y) * np.log10(x)),
    ("sin(x * 1 rad) * cos(y * 1 rad)", lambda x, y: np.sin(x) * np.cos(y)),
    ("tan(x / 9 * 1 rad) - y", lambda x, y: np.tan(x / 9) - y),
    ("max(x, y) * min(x, 2 * y)", lambda x, y: np.maximum(x, y) * np.minimum(x, 2 * y)),
    ("abs(x - y)^3", lambda x, y: np.abs(x - y) ** 3),
    ("x^y", lambda x, y: x**y),
    # ∫ 1/(y + w) dw from 0 to x
    ("integral of 1 / (y + w) for w from 0 to x", lambda x, y: np.log((y + x) / y)),
    # ∫ w/(y + w²) dw from 0 to x
    ("integral of w / (y + w^2) for w from 0 to x", lambda x, y: np.log((y + x**2) / y) / 2),
    # the root of w² + x·w − y
    ("root of w^2 + x * w - y for w from 0 to 100", lambda x, y: (-x + np.sqrt(x**2 + 4 * y)) / 2),
    # the root of exp(w) − x·y
    ("root of exp(w) - x * y for w from -5 to 9", lambda x, y: np.log(x * y)),
]


def main():
    random.seed(9)
    out = sys.stdout
    out.write("expression;x;y;value;by_x;by_y\n")
    for text, function in EXPRESSIONS:
        for _ in range(8):
            x, y = round(random.uniform(0.5, 6), 3), round(random.uniform(0.5, 6), 3)
            by_x, by_y = grad(function, 0)(x, y), grad(function, 1)(x, y)
            out.write(f"{text};{x};{y};{float(function(x, y))!r};{float(by_x)!r};{float(by_y)!r}\n")


main()
