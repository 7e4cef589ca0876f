"""Nodes and weights of the Gauss-Kronrod pairs 15-31 and 7-15, written as Rust tables.

Kronrod's nodes are the zeros of the Stieltjes polynomial E, which is orthogonal to P_n times every
lower power (A. S. Kronrod, "Nodes and Weights of Quadrature Formulas", 1965). Worked at 120 digits.

    python3 quadrature.py exact   > src/number/exact/nodes.rs
    python3 quadrature.py columns > src/number/columns/nodes.rs
"""

import sys

import mpmath
from mpmath import mp, mpf

mp.dps = 120


def legendre(n):
    """Coefficients of P_n, lowest power first."""
    before, now = [mpf(1)], [mpf(0), mpf(1)]
    if n == 0:
        return before
    for k in range(1, n):
        nxt = [mpf(0)] + [(2 * k + 1) * c / (k + 1) for c in now]
        for i, c in enumerate(before):
            nxt[i] -= k * c / (k + 1)
        before, now = now, nxt
    return now


def times(a, b):
    out = [mpf(0)] * (len(a) + len(b) - 1)
    for i, x in enumerate(a):
        for j, y in enumerate(b):
            out[i + j] += x * y
    return out


def over_interval(c):
    return sum(2 * x / (k + 1) for k, x in enumerate(c) if k % 2 == 0)


def zeros(c):
    return [r.real for r in mp.polyroots(c[::-1], maxsteps=2000, extraprec=2000)]


def weights(nodes):
    """Weights that integrate every power below the number of nodes exactly: integrals of Lagrange's polynomials."""
    out = []
    for i, xi in enumerate(nodes):
        p = [mpf(1)]
        for j, xj in enumerate(nodes):
            if i != j:
                p = times(p, [-xj / (xi - xj), 1 / (xi - xj)])
        out.append(over_interval(p))
    return out


def pair(n):
    p = legendre(n)
    basis = [legendre(k) for k in range(n + 2)]
    a = mp.matrix(n + 1, n + 1)
    b = mp.matrix(n + 1, 1)
    for k in range(n + 1):
        weight = times(p, basis[k])
        for j in range(n + 1):
            a[k, j] = over_interval(times(weight, basis[j]))
        b[k] = -over_interval(times(weight, basis[n + 1]))
    # the system splits by parity and one column is zero: least squares by pairs of equal parity
    parity = (n + 1) % 2
    unknown = [j for j in range(n + 1) if j % 2 == parity]
    rows = [k for k in range(n + 1) if any(abs(a[k, j]) > mpf(10) ** -80 for j in unknown)]
    rows = rows[-len(unknown):]
    s = mp.matrix(len(rows), len(unknown))
    t = mp.matrix(len(rows), 1)
    for r, k in enumerate(rows):
        t[r] = b[k]
        for c, j in enumerate(unknown):
            s[r, c] = a[k, j]
    solution = mp.lu_solve(s, t)
    stieltjes = list(basis[n + 1])
    for c, j in enumerate(unknown):
        for i, x in enumerate(basis[j]):
            stieltjes[i] += solution[c] * x
    gauss = zeros(p)
    every = sorted(gauss + zeros(stieltjes), reverse=True)
    kronrod_weights = weights(every)
    gauss_weights = weights(gauss)
    out = []
    for x, w in zip(every, kronrod_weights):
        if x < -mpf(10) ** -60:
            continue
        g = [gw for gx, gw in zip(gauss, gauss_weights) if abs(gx - x) < mpf(10) ** -50]
        out.append((abs(x), w, g[0] if g else mpf(0)))
    return out


def exact():
    print("//! Nodes and weights of the Gauss–Kronrod pair 15-31, in units of 1e-30.")
    print("//!")
    print(f"//! Written by `tests/reference/quadrature.py` with mpmath {mpmath.__version__} at 120 digits.")
    print()
    print("/// Node (its mirror image has the same weights), weight among 31, weight among 15 or zero.")
    print("pub(super) const PAIR: [(i128, i128, i128); 16] = [")
    for row in pair(15):
        print("    ({}, {}, {}),".format(*(f"{int(mp.nint(v * mpf(10) ** 30)):_}" for v in row)))
    print("];")


def columns():
    print("//! Nodes and weights of the Gauss–Kronrod pair 7-15.")
    print("//!")
    print(f"//! Written by `tests/reference/quadrature.py` with mpmath {mpmath.__version__} at 120 digits.")
    print()
    print("/// Node (its mirror image has the same weights), weight among 15, weight among 7 or zero.")
    print("pub(super) const PAIR: [(f64, f64, f64); 8] = [")
    for row in pair(7):
        print("    ({}, {}, {}),".format(*(repr(float(v)) for v in row)))
    print("];")


{"exact": exact, "columns": columns}[sys.argv[1]]()
