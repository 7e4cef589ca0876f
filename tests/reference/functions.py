"""Values of functions to 45 digits, for tests/reference/functions.rs.

    python3 functions.py > functions.csv
"""

import random

import mpmath
from mpmath import mp, mpf

mp.dps = 700
random.seed(20261125)

print(f"# mpmath {mpmath.__version__} at {mp.dps} digits, arguments exact decimals; written by functions.py")
print("function,x,y,value")


def row(name, x, value, y=""):
    if isinstance(value, mpmath.mpc) or not mpmath.isfinite(value) or (value != 0 and not mpf(10) ** -200 <= abs(value) < mpf(10) ** 200):
        return
    print(f"{name},{x},{y},{mp.nstr(value, 45, min_fixed=0, max_fixed=0)}")


def digits(n):
    return str(random.randrange(1, 10)) + "".join(random.choice("0123456789") for _ in range(n - 1))


def number(low, high, n=None):
    """A decimal with n digits whose first digit stands at a power of ten from low to high."""
    n = n or random.choice([1, 2, 3, 6, 15, 17, 28])
    d = digits(n)
    return f"{d}e{random.randint(low, high) - n + 1}"


def signed(text):
    return random.choice(["", "-"]) + text


for _ in range(60):
    x = signed(number(-4, 2))
    row("exponential", x, mp.exp(mpf(x)))
for x in ["460.5", "-460.5", "1e-100", "-1e-30", "1e-27", "2.302585092994045684017991454"]:
    row("exponential", x, mp.exp(mpf(x)))

logs = [number(-200, 199) for _ in range(40)] + [number(-2, 3) for _ in range(40)]
logs += ["1.0000000000000000000000000001".replace("0001", "001"), "0.9999999999999999999999999999", "1.05", "0.95", "1.0500001",
         "0.9499999", "2.718281828459045235360287471", "9.999999999999999999999999999", "1e-200", "9.9e199", "1.001", "0.999", "10", "1e100"]
for x in logs:
    row("logarithm", x, mp.log(mpf(x)))
    row("decimal_logarithm", x, mp.log10(mpf(x)))

angles = [signed(number(-3, 1)) for _ in range(60)] + [number(-200, -5) for _ in range(10)] + [number(2, 199) for _ in range(40)]
for k in [1, 2, 3, 7, 50, 1000, 123457, 10 ** 9 + 7]:
    for n in [5, 12, 20, 28]:
        angles.append(mp.nstr(k * mp.pi, n))
        angles.append(mp.nstr(k * mp.pi / 2, n))
        angles.append("-" + mp.nstr(k * mp.pi / 4, n))
angles += ["0.785398163397448309615660845", "0.785398163397448309615660846", "0.05", "0.01", "0.1", "1e199"]
for x in angles:
    row("sine", x, mp.sin(mpf(x)))
    row("cosine", x, mp.cos(mpf(x)))
    row("tangent", x, mp.tan(mpf(x)))

ratios = [signed(number(-6, -1)) for _ in range(40)] + [number(-199, -20) for _ in range(10)]
ratios += ["1", "-1", "0.9999999999999999999999999999", "-0.9999999999999999999999999999", "0.5", "-0.5", "0.99999", "0.7071067811865475244008443621", "1e-27"]
for x in ratios:
    row("arc_sine", x, mp.asin(mpf(x)))
    row("arc_cosine", x, mp.acos(mpf(x)))
for x in ratios + [signed(number(-3, 3)) for _ in range(40)] + [number(10, 199) for _ in range(10)] + ["0.05", "0.0499999", "1.0000001"]:
    row("arc_tangent", x, mp.atan(mpf(x)))

roots = [number(-200, 199) for _ in range(40)] + [number(-3, 3) for _ in range(20)]
for x in roots:
    row("power", x, mp.sqrt(mpf(x)), "1/2")
    row("power", x, mp.cbrt(mpf(x)), "1/3")
    row("power", "-" + x, -mp.cbrt(mpf(x)), "1/3")
    for p, q in [(3, 2), (2, 3), (-1, 2), (-2, 1), (3, 1), (4, 5), (17, 6), (-7, 3)]:
        row("power", x, mpf(x) ** (mpf(p) / q), f"{p}/{q}")
for x in [number(-1, 1) for _ in range(20)]:
    for p in [20, 63, 100, 137, -50, 200]:
        row("power", x, mpf(x) ** p, f"{p}/1")
for x in ["1.000001", "0.9999", "1.0000000001"]:
    for p in [1000, 100000, 12345678, -999999]:
        row("power", x, mpf(x) ** p, f"{p}/1")

for _ in range(120):
    x, y = number(-20, 20), signed(number(-3, 1))
    row("raised", x, mpf(x) ** mpf(y), y)
for x, y in [("2", "0.5"), ("2", "3.2"), ("0.16", "6.5"), ("1.0000001", "1e8"), ("10", "199.5"), ("0.5", "-300.25"), ("2", "10")]:
    row("raised", x, mpf(x) ** mpf(y), y)
