"""A load on a rope below a trolley that is slowed evenly to rest, its swing followed in time without small angles."""

from math import asin, cos, pi, sin, sqrt

from scipy.integrate import solve_ivp

from drawn import G, Case, ms, some


def swing(v, a, L, s_0, phase):
    """The largest distance of the load to one side, from a swing of s_0 that is anywhere on its way when the stop begins."""
    widest, slow = asin(s_0 / L), sqrt(L / G)
    angle = widest * cos(phase)
    rate = (1 if sin(phase) > 0 else -1) * sqrt(max(0.0, 2 * G / L * (cos(angle) - cos(widest))))
    state, largest = (angle, rate), 0.0
    for pull, time in ((a, v / a), (0.0, 8 * slow)):
        course = solve_ivp(lambda _, y: (y[1], (pull * cos(y[0]) - G * sin(y[0])) / L), (0, time), state, rtol=1e-9, atol=1e-11, max_step=0.05 * slow)
        state, largest = course.y[:, -1], max(largest, max(abs(sin(one)) for one in course.y[0]))
    return largest * L


def crane_swing(r):
    v, L, a = some(r, 1, 300, 0), some(r, 1, 40, 0), some(r, 0.1, 5, 0)
    most = ms(a * (1 + r.random()))
    s_0 = ms(L * 0.2 * r.random()) if r.random() < 0.6 else 0.0
    # any deceleration within the two
    true = swing(v / 60, a + (most - a) * r.random(), L, s_0, 2 * pi * r.random())
    resp = some(r, 10, 1000)
    return Case(
        {"v / m/min": v, "t_resp / ms": resp, "a / m/s²": a, "a_most / m/s²": most, "L / m": L, "s_0 / mm": s_0 * 1e3, "s_room / mm": 1e6},
        {"s_swing / m": (true, "above"), "s_stop / m": (v / 60 * resp / 1e3 + (v / 60) ** 2 / (2 * a), "equal")},
    )


SHEETS = {"crane-swing": crane_swing}
