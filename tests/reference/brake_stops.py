"""Stops of a drive by integrating the equation of motion in time, piece by piece.

    python3 brake_stops.py > brake_stops.csv
"""
import math
import platform
import mpmath as mp
import scipy
from scipy.integrate import solve_ivp

print(f"# tests/reference/brake_stops.py with python {platform.python_version()}, scipy {scipy.__version__}, mpmath {mp.__version__}")
RPM = 2 * math.pi / 60
G = 9.80665


def show(name, value):
    print(f"{name},{float(value):.13g}")


def march(pieces, w0, accel):
    """Integrates dw/dt = accel(t, w) over pieces of time, the last one until w = 0.

    Returns time, angle, the speed at the end of each piece, and the highest speed.
    """
    t, w, phi, speeds, peak = 0.0, w0, 0.0, [], w0
    for length in pieces:
        still = lambda s, y: y[0]
        still.terminal = True
        still.direction = -1
        top = lambda s, y: accel(s, y[0])
        end = t + (length if length is not None else 1e4)
        sol = solve_ivp(lambda s, y: [accel(s, y[0]), y[0]], [t, end], [w, phi], method="DOP853",
                        rtol=1e-12, atol=1e-13, events=[still, top], max_step=max((end - t) / 20, 1e-4) if length else math.inf)
        t, w, phi = sol.t[-1], sol.y[0][-1], sol.y[1][-1]
        peak = max([peak, w] + [y[0] for y in sol.y_events[1]])
        speeds.append(w)
        if sol.status == 1:
            return t, phi, speeds, peak
    return t, phi, speeds, peak


def brake(J, w0, resp, build, free, full):
    def accel(t, w):
        on = 0 if t < resp else full if t >= resp + build else full * (t - resp) / build
        return -(free + on) / J
    return march([resp, build, None], w0, accel)


# mechanical brake, the load drives, full torque reached
J, w0 = 0.0101, 1450 * RPM
t, phi, speeds, peak = brake(J, w0, 0.06, 0.04, 1.6 - 3, 15)
show("brake.drives.t", t); show("brake.drives.phi_r", phi / (2 * math.pi))
show("brake.drives.n_1", speeds[0] / RPM); show("brake.drives.n_2", speeds[1] / RPM); show("brake.drives.n_peak", peak / RPM)
show("brake.drives.E_b", 0.5 * J * w0 ** 2 - (1.6 - 3) * phi)
# stands before full torque is reached
t, phi, speeds, peak = brake(0.002, 300 * RPM, 0.01, 0.2, 0.5, 12)
show("brake.early.t", t); show("brake.early.phi_r", phi / (2 * math.pi)); show("brake.early.n_1", speeds[0] / RPM)

# ramp cut short, then run-down with fan
def cut(J, w0, dead, ramp, at, T):
    t, phi, w = 0.0, 0.0, w0
    if at > dead:
        phi, t = w0 * dead, dead
        on = min(at - dead, ramp)
        w = w0 * (1 - on / ramp)
        phi += (w0 + w) / 2 * on
        t += on
    else:
        phi, t = w0 * at, at
    left = w
    if w > 0:
        more, angle, _, _ = march([None], w, lambda s, x: -T(x) / J)
        t, phi = t + more, phi + angle
    return t, phi, left


T = lambda w: 1.6 + 1e-5 * w * w
t, phi, left = cut(J, w0, 0.02, 0.5, 0.3, T)
show("cut.t", t); show("cut.phi_r", phi / (2 * math.pi)); show("cut.n_left", left / RPM)
t, phi, left = cut(J, w0, 1e9, 0.5, 0.3, T)
show("cut.fails.t", t); show("cut.fails.phi_r", phi / (2 * math.pi))

# jerk-limited stop: speed and travel by summing up the acceleration profile, triangle and trapezium
def jerk(v0, a, j):
    rise = min(a / j, math.sqrt(v0 / j))
    peak = j * rise
    hold = (v0 - peak * rise) / peak
    def acc(t):
        return -min(j * t, peak, max(0.0, j * (2 * rise + hold - t)))
    v, s, t = v0, 0.0, 0.0
    for length in (rise, hold, rise):
        if length > 1e-15:
            sol = solve_ivp(lambda u, y: [acc(u), y[0]], [t, t + length], [v, s], rtol=1e-12, atol=1e-14, method="DOP853")
            v, s, t = sol.y[0][-1], sol.y[1][-1], t + length
    assert abs(v) < 1e-9
    return t, s, peak


for name, args in {"jerk.long": (1.2, 4, 40), "jerk.short": (0.2, 4, 40)}.items():
    t, s, peak = jerk(*args)
    show(name + ".t", t); show(name + ".s_mm", s * 1000); show(name + ".a", peak)

# vertical axis: force balance in time
def drop(m, bal, fric, J, lead, v0, resp, build, T, with_it=0):
    r = lead / (2 * math.pi)
    mass = m + with_it + J / r ** 2
    def accel(t, v):
        on = 0 if t < resp else T / r if t >= resp + build else T / r * (t - resp) / build
        return (m * G - bal - fric - on) / mass
    return march([resp, build, None], v0, accel)


t, s, speeds, peak = drop(80, 0, 60, 0.0022, 0.020, 0.0, 0.06, 0.04, 9)
show("drop.t_ms", t * 1000); show("drop.s_mm", s * 1000); show("drop.v_peak", peak); show("drop.v_1", speeds[0])
t, s, speeds, peak = drop(80, 0, 60, 0.0022, 0.020, 0.0, 0.06, 0.04, 30)
show("drop.early.t_ms", t * 1000); show("drop.early.s_mm", s * 1000); show("drop.early.v_peak", peak)
t, s, speeds, peak = drop(80, 200, 0, 0.0022, 0.020, 0.3, 0.06, 0.04, 3)
show("drop.moving.t_ms", t * 1000); show("drop.moving.s_mm", s * 1000); show("drop.moving.v_peak", peak)
t, s, speeds, peak = drop(80, 700, 20, 0.004, 0.2, 1.0, 0.06, 0.04, 60, 71.38)
show("drop.counterweight.t_ms", t * 1000); show("drop.counterweight.s_mm", s * 1000); show("drop.counterweight.v_peak", peak)

# power failure: the speed in time until n_min, then friction
J, w0, wm = 0.3, 1450 * RPM, 150 * RPM
low = lambda s, y: y[0] - wm
low.terminal = True
sol = solve_ivp(lambda s, y: [-(180 / 0.85 / y[0] + 1.6) / J, y[0]], [0, 1e3], [w0, 0], method="DOP853", rtol=1e-12, atol=1e-12, events=low)
show("failure.t_carry", sol.t[-1])
rest, angle, _, _ = march([None], wm, lambda s, x: -1.6 / J)
show("failure.t_stop", sol.t[-1] + rest); show("failure.phi_r", (sol.y[1][-1] + angle) / (2 * math.pi))

# induction machine at slip s: rotor heat = torque × slip speed, integrated in time
ws, J, Tb, Tf = 1500 * RPM, 0.0101, 5.0, 1.6
def heat(field, w0):
    sol = solve_ivp(lambda s, y: [-(Tb + Tf) / J, Tb * (y[0] - field)], [0, J * w0 / (Tb + Tf)], [w0, 0], rtol=1e-12, atol=1e-12)
    return sol.y[1][-1]
show("loss.dc.E_slip", heat(0.0, ws)); show("loss.plugging.E_slip", heat(-ws, ws))
show("loss.t", J * ws / (Tb + Tf))
show("loss.dc.E_winding", 6 ** 2 * 3.2 * J * ws / (Tb + Tf))

# emergency and normal stop, ramp with driving load; work by power in time
J, w0 = 0.0101, 1450 * RPM
def ramp(t_ramp, free):
    T = J * w0 / t_ramp - free
    sol = solve_ivp(lambda s, y: [-(T + free) / J, y[0], T * y[0]], [0, t_ramp], [w0, 0, 0], rtol=1e-12, atol=1e-12)
    return T, sol.y[1][-1], sol.y[2][-1]
T, phi, work = ramp(0.6, 1.6)
show("emergency.T_n", T); show("emergency.phi_n_r", (phi + w0 * 0.03) / (2 * math.pi))
T, phi, work = ramp(0.3, 1.6)
show("emergency.T_e", T); show("emergency.phi_e_r", (phi + w0 * 0.05) / (2 * math.pi)); show("emergency.E_e", work)
t, phi, _, _ = march([None], w0, lambda s, x: -(15 - 2) / J)
show("emergency.cat0.t", t + 0.05); show("emergency.cat0.phi_r", (phi + w0 * 0.05) / (2 * math.pi)); show("emergency.cat0.E_e", 15 * phi)

# which is quickest
t, phi, _, _ = march([None], w0, lambda s, x: -1.6 / J)
show("quickest.run", t); show("quickest.run.phi_r", phi / (2 * math.pi))
t, phi, _, _ = march([None], w0, lambda s, x: -13.6 / J)
show("quickest.ramp", t + 0.02); show("quickest.ramp.phi_r", (phi + 0.02 * w0) / (2 * math.pi))
t, phi, _, _ = brake(J, w0, 0.06, 0.04, 1.6, 15)
show("quickest.brake_with_friction_all_along", t); show("quickest.brake_with_friction_all_along.phi_r", phi / (2 * math.pi))
