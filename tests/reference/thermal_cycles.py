"""Warming and cooling over repeated cycles by marching the differential equation until nothing changes.

    python3 thermal_cycles.py > thermal_cycles.csv
"""
import math
import platform
import numpy as np
import scipy
from scipy.integrate import solve_ivp, quad
from scipy.optimize import brentq

print(f"# tests/reference/thermal_cycles.py with python {platform.python_version()}, numpy {np.__version__}, scipy {scipy.__version__}")


def show(name, value):
    print(f"{name},{float(value):.12g}")


def piece(x, P, R, tau, t):
    """Rise after a time, from tau·dx/dt = P·R − x."""
    return solve_ivp(lambda s, y: [(P * R - y[0]) / tau], [0, t], [x], method="DOP853", rtol=1e-13, atol=1e-13).y[0][-1]


def repeat(parts, R, tau, start=0.0, shock=0.0):
    """Rises at the ends of the parts, first cycle and after very many (map of one cycle iterated)."""
    def cycle(x):
        ends = []
        for P, t in parts:
            x = piece(x, P, R, tau, t)
            ends.append(x)
        return ends
    first = cycle(start)
    # one cycle is a straight-line map; two runs of the differential equation give its slope
    a, b = cycle(0.0)[-1], cycle(100.0)[-1]
    slope = (b - a) / 100
    x = 0.0
    for _ in range(200000):
        step = a + slope * x
        if step == x:
            break
        x = step
    return first, cycle(x), x


first, ends, x = repeat([(1800, 0.5), (0, 5), (900, 0.5), (0, 6)], 0.8, 300)
show("pulse.d_first", max(first)); show("pulse.d_peak", max(ends + [x])); show("pulse.x_0", x)
first, ends, x = repeat([(200, 60), (0, 240)], 0.8, 300)
show("pulse.pause.d_first", max(first)); show("pulse.pause.d_peak", max(ends + [x]))

# motor
loss = lambda T: 220 * (0.3 + 0.7 * (T / 7) ** 2)
parts = [(loss(12), 0.5), (loss(4), 2), (loss(10) + 40 / 0.3, 0.3), (loss(0), 1.2)]
first, ends, x = repeat(parts, 80 / 220, 1800)
show("motor.d_peak", max(ends + [x])); show("motor.P_mean", sum(P * t for P, t in parts) / 4.0)
parts = [(loss(9), 1200), (loss(0), 600)]
first, ends, x = repeat(parts, 80 / 220, 1800)
show("motor.long.d_peak", max(ends + [x])); show("motor.long.x_0", x)

# brake: a jump of E/C at each stop, cooling between; simulated stop after stop
def jumps(E, C, hA, T, count):
    x = 0.0
    for _ in range(count):
        x = (x + E / C) * math.exp(-hA / C * T)
    return x + E / C
show("heating.d_peak", jumps(12000, 3.5 * 452, 25 * 0.16, 60, 5000))
show("heating.d_one", 12000 / (3.5 * 452))
show("stops.t_least", brentq(lambda T: jumps(12000, 1600, 4.0, T, 20000) - 120, 5, 200, xtol=1e-12))
cool = solve_ivp(lambda s, y: [-4.0 / 1600 * y[0]], [0, 1e4], [120], rtol=1e-13, atol=1e-13, method="DOP853",
                 events=lambda s, y: y[0] - 60)
show("stops.t_pause_s", cool.t_events[0][0])

# duty: S3 and S2 by the losses at which the hottest point reaches the rated rise
def hottest(P, on, off):
    _, ends, x = repeat([(P, on)] + ([(0, off)] if off else []), 1.0, 1800)
    return max(ends + [x])
show("duty.S3.losses", brentq(lambda P: hottest(P, 150, 450) - 1, 1, 20, xtol=1e-12))
show("duty.S2.losses", 1 / piece(0, 1, 1, 1800, 1800))

# effective values by integrating the square of the curve in time
def step(values, times):
    edges = np.cumsum([0] + times)
    return lambda t: values[min(int(np.searchsorted(edges, t, side="right")) - 1, len(values) - 1)], edges
curve, edges = step([12, 4, -10, 0], [0.5, 2, 0.3, 1.2])
square = sum(quad(lambda t: curve((a + b) / 2) ** 2, a, b)[0] for a, b in zip(edges, edges[1:]))
show("rms.T", math.sqrt(square / edges[-1]))
speed, edges = step([725, 1450, 725, 0], [0.5, 2, 0.3, 1.2])
show("rms.n_mean", sum(quad(lambda t: speed((a + b) / 2), a, b)[0] for a, b in zip(edges, edges[1:])) / edges[-1])
# equal heat: constant power with full cooling all the time gives the same heat over heat given off
show("equivalent.P_eq", brentq(lambda P: P ** 2 * (20 + 40 + 0.4 * 30) - (2.2 ** 2 * 20 + 1.1 ** 2 * 40), 0.1, 10, xtol=1e-15))
