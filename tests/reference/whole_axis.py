"""The example axis by routes of its own: the motion integrated in time, heat added up stop by stop.

    python3 whole_axis.py > whole_axis.csv

Nothing here is taken from a sheet. Values in SI unless the name says otherwise.
"""

import math
import platform
import statistics

import numpy as np
import scipy
from scipy.integrate import solve_ivp

print(f"# tests/reference/whole_axis.py with python {platform.python_version()}, numpy {np.__version__}, scipy {scipy.__version__}")


def out(name, value):
    print(f"{name},{float(value):.12g}")


J = 0.0018 + 0.0003 + 0.2 / 25
w_0 = 1450 * 2 * math.pi / 60
T_0, T_b, t_resp, t_build = 1.6, 15.0, 0.060, 0.040


def torque(t):
    return T_b * min(max((t - t_resp) / t_build, 0.0), 1.0)


# speed, angle, heat in the brake; piece by piece, so that no step crosses a corner
state, begin, t_stop = [w_0, 0.0, 0.0], 0.0, None
stand = lambda t, y: y[0]
stand.terminal, stand.direction = True, -1
for end in (t_resp, t_resp + t_build, 10.0):
    done = solve_ivp(
        lambda t, y: [-(T_0 + torque(t)) / J, y[0], torque(t) * y[0]],
        (begin, end), state, method="DOP853", rtol=1e-12, atol=1e-13, events=stand,
    )
    state, begin = done.y[:, -1], end
    if done.t_events[0].size:
        t_stop, state = done.t_events[0][0], done.y_events[0][0]
        break
out("braked.t", t_stop)
out("braked.phi_load_deg", math.degrees(state[1] / 5))
heat = J * w_0**2 / 2  # all of it: a stronger brake leaves nothing to friction
assert heat > state[2]
out("braked.E_b", heat)

# a body that takes up the heat at once at each stop and cools in between, until it repeats itself
# steel, 452 J/(kg·K): OpenStax College Physics, table 14.1
m, c, h, A, air = 1.5, 452.0, 10.0, 0.05, 40.0
decay, rise = math.exp(-h * A / (m * c) * 600.0), heat / (m * c)
above = 0.0
for _ in range(2000):
    above = above * decay + rise
out("heat.T_peak_degC", air + above)

T, t = (6.0, 2.0, -3.0, 0.0), (0.4, 3.0, 0.3, 2.3)
out("duty.T_rms", math.sqrt(sum(a * a * b for a, b in zip(T, t)) / sum(t)))

stops = [338, 341, 336, 340, 342, 339, 335, 341, 337, 340]
going_on = max(max(stops), statistics.mean(stops) + 3 * statistics.stdev(stops))
out("measured.t_ms", math.ceil(going_on))
T_chain = 14 + 20 + 10 + math.ceil(going_on)
near = 2000 * T_chain / 1000
S = near if near <= 500 else max(1600 * T_chain / 1000, 500)
out("measured.S_mm", 5 * math.ceil(S / 5))
out("release.t", J * w_0 / T_0)
