"""Stops with a brake, followed in time by simulate.py.

    python3 braked_in_time.py > braked_in_time.csv
"""

import platform
from math import pi

import numpy
import scipy

from simulate import Both, Brake, Ramp, Shaft, fed_back, follow

RPM, TURN, G = pi / 30, 2 * pi, 9.80665
print(f"# tests/reference/braked_in_time.py with python {platform.python_version()}, numpy {numpy.__version__}, scipy {scipy.__version__}")


def out(name, value):
    print(f"{name},{value:.12g}")


def course(name, found):
    out(f"{name}.t_s", found.t)
    out(f"{name}.ahead_r", found.ahead / TURN)
    out(f"{name}.back_r", found.back / TURN)
    out(f"{name}.peak_rpm", found.peak / RPM)
    out(f"{name}.heat_J", found.heat)


grip = Brake(15, 0.06, 0.04)
course("category_0", follow(Shaft(0.0101, 0, T_load=-2), 1450 * RPM, Brake(15, 0.05, 0)))
course("category_0_slow", follow(Shaft(0.0101, 0, T_load=-5), 1450 * RPM, Brake(15, 0.2, 0)))
course("grip", follow(Shaft(0.0101, 1.6, T_load=-3), 1450 * RPM, grip))
course("up", follow(Shaft(0.0101, 0.6, T_load=5), 300 * RPM, grip))

late_grip = Brake(15, 0.07, 0.04)
course("two_drives.both", follow(Shaft(0.025, 1.2, T_load=-5), 1450 * RPM, Both(late_grip, late_grip)))
course("two_drives.one", follow(Shaft(0.025, 1.2, T_load=-5), 1450 * RPM, late_grip))

late = 0.36 * 1.02
for name, shaft, slow in (("hanging", Shaft(0.0101, 0.6, T_load=-5), 0.315), ("safe_stop", Shaft(0.0101, 1.6, T_load=-5), 0.3248)):
    end = Brake(15, late + 0.06, 0.04)
    course(f"{name}.slip", follow(shaft, 0, grip))
    works, fails, lost = follow(shaft, 1450 * RPM, end, Ramp(1450 * RPM, 0.02, slow), late), follow(shaft, 1450 * RPM, grip), follow(shaft, 1450 * RPM, end)
    course(f"{name}.works", works)
    course(f"{name}.fails", fails)
    course(f"{name}.lost", lost)
    out(f"{name}.t_fails_s", late + fails.t)
    out(f"{name}.phi_fails_r", 1450 / 60 * late + fails.path / TURN)
    out(f"{name}.phi_works_load_r", works.path / TURN / 5)
    out(f"{name}.phi_fails_load_r", max(1450 * RPM * late + fails.path, lost.path) / TURN / 5)

lead = 0.02 / TURN
drop = follow(Shaft(0.0022 + 80 * lead**2, 400 * lead, T_load=-80 * G * lead), 0, Brake(2.2, 0.06, 0.04))
out("drop.s_mm", drop.ahead * lead * 1000)
out("drop.t_ms", drop.t * 1000)
out("drop.held", 2.2 / (80 * G * lead))
out("held", 9 / (80 * G * lead))
for name, shaft in (("rounded", Shaft(0.0101, 1.6)), ("rounded_driven", Shaft(0.0101, T_load=-10))):
    energy, power = fed_back(shaft, Ramp(1450 * RPM, 0, 0.3, 0.5))
    out(f"{name}.E_J", energy)
    out(f"{name}.P_W", power)
