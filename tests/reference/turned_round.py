"""The reverse question by search: the forward rule is tried step by step, in exact fractions.

Run: python3 turned_round.py > turned_round.csv
"""

import csv
import sys
from fractions import Fraction as F
from math import pi
from statistics import mean, stdev

rows = []


def row(name, quantity, value):
    shown = value if isinstance(value, str) else f"{float(value):.12g}"
    rows.append((name, quantity, shown))


def curtain(t, d):
    """ISO 13855:2010, 6.2, from memory: t in ms, answer in mm."""
    if d > 40:
        return F(16, 10) * t + 850
    added = max(8 * (d - 14), 0)
    fast = max(2 * t + added, 100)
    return fast if fast <= 500 else max(F(16, 10) * t + added, 500)


def longest(distance, rule):
    """Largest time, in whole hundredths of a ms, whose distance is no more than the one there is."""
    low, high = 0, 10_000_00
    while high - low > 1:
        middle = (low + high) // 2
        if rule(F(middle, 100)) <= distance:
            low = middle
        else:
            high = middle
    return F(low, 100)


for s, d in [(600, 30), (499, 30), (500, 30), (501, 30), (100, 14), (1200, 50), (850, 14)]:
    row(f"curtain d {d} at {s} mm", "T ms", longest(s, lambda t: curtain(t, d)))
row("parallel 2010 H 300 at 1500 mm", "T ms", longest(1500, lambda t: F(16, 10) * t + max(1200 - F(4, 10) * 300, 850)))
row("parallel 2024 at 1500 mm", "T ms", longest(1500, lambda t: F(16, 10) * t + 1200))
row("two-hand 2010 at 600 mm", "T ms", longest(600, lambda t: F(16, 10) * t + 250))
row("two-hand 2024 at 600 mm", "T ms", longest(600, lambda t: F(16, 10) * t + 550))
row("guard, 0.1 s to open, C 120 at 680 mm", "T ms", longest(680, lambda t: F(16, 10) * max(t - 100, 0) + 120))


def ramps(left, start, down, tol, step, fails):
    """Longest ramp, then the delay, by trying every setting."""
    best = None
    for ramp in range(step, 5000, step):
        for delay in range(step, 5000, step):
            if (start + ramp) > delay * (1 - tol):
                continue
            latest = delay * (1 + tol) + down if fails else start + ramp
            if latest > left:
                break
            if best is None or ramp > best[0]:
                best = (ramp, delay)
            # the shortest delay that covers the ramp; on a failing ramp the longest that still fits
            elif ramp == best[0] and fails:
                best = (ramp, delay)
            if not fails:
                break
    return best


for left, start, down, step, fails in [(900, 10, 420, 10, True), (900, 10, 420, 10, False), (900, 10, 420, 100, True), (905, 5, 0, 1, True)]:
    ramp, delay = ramps(left, start, down, F(1, 100), step, fails)
    name = f"left {left} start {start} run-down {down} step {step} {'fails' if fails else 'works'}"
    row(name, "ramp ms", ramp)
    row(name, "delay ms", delay)
    row(name, "fails ms", delay * F(101, 100) + down)


def delays(start, ramp, tol_ramp, settle, tol, step, low=0):
    need = start + ramp * (1 + tol_ramp) + settle
    delay = 0
    while delay < low or delay * (1 - tol) < need:
        delay += step
    return delay, need


for case in [(10, 480, F(2, 100), 20, F(1, 100), 10), (10, 480, F(2, 100), 20, F(1, 100), 1), (10, 480, 0, 5, F(1, 100), 5), (10, 480, 0, F("5.01"), F(1, 100), 5), (10, 480, 0, F("4.99"), F(1, 100), 5)]:
    delay, need = delays(*case)
    row("best delay " + " ".join(str(part) for part in case), "delay ms", delay)
    row("best delay " + " ".join(str(part) for part in case), "works ms", need)

# largest inertia: a machine of that inertia is decelerated step by step until it stands
omega = 1450 * 2 * pi / 60
t_ramp = (0.9 * 0.99 - 0.010) * 0.9
row("largest inertia", "ramp s", t_ramp)
row("largest inertia", "J kg·m²", 40 * t_ramp / omega)
row("largest inertia, motor 0.02, i 5, eta 0.9", "J_load kg·m²", (40 * t_ramp / omega - 0.02) * 25 / 0.9)

stops = [312, 318, 305, 309, 321, 315, 311, 307, 319, 313]
row("stops", "mean ms", mean(stops))
row("stops", "s ms", stdev(stops))
row("stops", "mean + 3 s ms", mean(stops) + 3 * stdev(stops))
skewed = [300] * 29 + [350]
row("thirty stops, one late", "mean + 3 s ms", mean(skewed) + 3 * stdev(skewed))
late = [300] * 10 + [360]
row("eleven stops, one late", "mean + 3 s ms", mean(late) + 3 * stdev(late))
row("eleven stops, one late", "s over mean", stdev(late) / mean(late))
t = mean(stops) + 3 * stdev(stops)
row("compare", "S mm", 1.6 * (t + 25) + 850)
row("compare", "deviation", t / 330 - 1)
row("compare", "spare ms", (1450 - (1.6 * (t + 25) + 850)) / 1.6)

out = csv.writer(sys.stdout, lineterminator="\n")
out.writerow(("question", "quantity", "value"))
out.writerows(rows)
