"""The DC link during a stop, integrated in time; networks of resistors by their node equations.

    python3 link_energy.py > link_energy.csv
"""
import math
import platform
import numpy as np
import scipy
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

print(f"# tests/reference/link_energy.py with python {platform.python_version()}, numpy {np.__version__}, scipy {scipy.__version__}")
RPM = 2 * math.pi / 60


def show(name, value):
    print(f"{name},{float(value):.13g}")


def link(J, n0, ramp, T0, eta, P0, C, U0):
    """Highest voltage of the link, and when, on a straight ramp; the link is charged by the net power."""
    w0 = n0 * RPM
    T = J * w0 / ramp - T0
    power = lambda t: T * w0 * (1 - t / ramp) * eta - P0
    top = lambda t, y: power(t)
    top.terminal = True
    top.direction = -1
    sol = solve_ivp(lambda t, y: [power(t) / (C * y[0])], [0, ramp], [U0], method="DOP853", rtol=1e-13, atol=1e-11, events=top)
    return sol.y[0][-1], sol.t[-1], T * w0 * eta


U, t, P = link(0.0101, 1450, 0.4, 1.6, 0.9, 40, 470e-6, 565)
show("link.U_2", U); show("link.t_fill", t); show("link.P_peak", P)
show("link.E", 0.5 * 470e-6 * (U ** 2 - 565 ** 2))
show("link.n_fill", 1450 * (1 - t / 0.4))
show("link.t_least", brentq(lambda r: link(0.0101, 1450, r, 1.6, 0.9, 40, 470e-6, 565)[0] - 780, 0.1, 0.75, xtol=1e-13))
show("link.no_friction.t_least", brentq(lambda r: link(0.0101, 1450, r, 0, 0.9, 40, 470e-6, 565)[0] - 780, 0.1, 2.0, xtol=1e-13))
show("link.E_link", 0.5 * 470e-6 * (780 ** 2 - 565 ** 2))
show("link.t_zero", brentq(lambda r: (0.0101 * 1450 * RPM / r - 1.6) * 1450 * RPM * 0.9 - 40, 0.1, 2.0, xtol=1e-13))

# resistors: node equations, currents and powers
def parallel(Rs, U):
    i = U / np.array(Rs)
    return U / i.sum(), i.sum(), U * i
R, I, P = parallel([82, 82, 100], 780)
show("network.R", R); show("network.I", I); show("network.P_on", P.sum()); show("network.load", max(P * 0.05 / 400))
scale = 1 / max(P * 0.05 / 400)
show("network.P_all", P.sum() * 0.05 * scale)

# shared link: account by account, a common stop when the giving of running has just filled what it can
room = 0.5 * 1410e-6 * (780 ** 2 - 565 ** 2)
left = max(room - (650 + 120), 0)
show("shared.E_room", room)
show("shared.E_res_stop", 350 + 700 + 130 - left)
show("shared.P_res_stop", (350 + 700 + 130 - left) * 20 / 3600)

# return to the mains: a year hour by hour
stops = 40 * 4000
returned = sum([30000 * 0.95 * 40] * 4000) - 25 * 6000 * 3600
show("return.E_back_kWh", returned / 3.6e6)
show("return.E_year_kWh", stops * 30000 / 3.6e6)
money = returned / 3.6e6 * 0.25
show("return.years", (900 - 150) / money)
show("return.price_even", brentq(lambda p: p * returned / 3.6e6 * 10 - 750, 1e-6, 10, xtol=1e-15))
show("return.P_even", brentq(lambda P: 0.25 * (P * 4000 * 0.95 - 25 * 6000) / 1000 * 10 - 750, 1, 1e5, xtol=1e-11))
