"""Heat, links and resistors: random sets, stepped through stop after stop and cycle after cycle."""

from math import exp, floor

from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from drawn import G, Case, ms, some
from simulated_loads import part


def settled(cycle, most=4000):
    """The highest rise of a cycle run over and over from cold; `cycle` maps a rise to (highest, last)."""
    rise = highest = 0.0
    for _ in range(most):
        highest, last = cycle(rise)
        if abs(last - rise) <= 1e-13 * abs(last):
            break
        rise = last
    return highest


def warmed(rise, power, resistance, tau, time):
    """A body of one time constant, from `rise`, heated with `power` for `time`; its cooling may differ by part of a cycle."""
    return power * resistance + (rise - power * resistance) * exp(-time / tau)


def brake_heating(r):
    m, h, A, E = some(r, 0.1, 100, 0), some(r, 5, 100, 0), some(r, 0.01, 2, 0), some(r, 10, 1e5, 0)
    stuff, c_own = r.choice((("steel", 452), ("aluminium", 900), ("copper", 387), ("own", 130.0))), r.choice((1, 1, 2, 10))
    z, tau, one = some(r, 0.5, 3000, 0), m * stuff[1] / (h * A), E / (m * stuff[1])
    top = settled(lambda rise: (rise + one, (rise + one) * exp(-3600 / z / tau)), 200000)
    return Case(
        {"E / J": E, "z / 1/h": z, "n_close": c_own, "m / kg": m, "stuff": stuff[0], "c_own / (J/(kg·K))": 130,
         "h / (W/(m²·K))": h, "A / m²": A, "T_air / °C": 40, "T_max / °C": 1e6},
        {"d_peak / K": (top * (1 - 1e-9) + (c_own - 1) * one, "above"), "T_one / °C": (40 + c_own * one, "above")},
    )


def stops_per_hour(r):
    C, h, A, E, most = some(r, 100, 1e5, 0), some(r, 5, 100, 0), some(r, 0.01, 2, 0), 0.0, some(r, 20, 300, 0)
    E = ms(C * most * some(r, 0.02, 0.98, 0))
    one, tau, again = E / C, C / (h * A), round(most * (0.1 + 0.8 * r.random()), 2)
    top = lambda cycle: settled(lambda rise: (rise + one, (rise + one) * exp(-cycle / tau)), 20000)
    cycle = brentq(lambda t: top(t) - most, tau * one / most / 2, 60 * tau, xtol=1e-9 * tau)
    return Case(
        {"E / J": E, "C_b / J/K": C, "h / (W/(m²·K))": h, "A / m²": A, "d_max / K": most, "d_again / K": again, "t_work / s": 1e-6, "z_want / 1/h": 1},
        {"z_max / 1/s": (1 / cycle * (1 + 1e-6), "below"), "t_pause / s": (brentq(lambda t: most * exp(-t / tau) - again, 0, 60 * tau, xtol=1e-9 * tau), "equal")},
    )


def duty_type(r):
    kind, on, rest, tau, beta = r.choice(("S1", "S2", "S3")), some(r, 1, 5000, 0), some(r, 1, 5000), some(r, 1, 100, 0), round(0.05 + 0.95 * part(r), 3)
    if kind == "S1":
        losses = 1.0
    elif kind == "S2":
        losses = 1 / warmed(0.0, 1.0, 1.0, tau * 60, on)
    else:
        # rated losses warm to 1; at rest it cools with beta of what it cools with when running
        losses = 1 / settled(lambda rise: ((top := warmed(rise, 1.0, 1.0, tau * 60, on)), warmed(top, 0.0, 1.0, tau * 60 / beta, rest)), 200000)
    return Case(
        {"type": kind, "t_start / s": 0, "t_load / s": on, "t_brake / s": 0, "t_rest / s": rest, "tau / min": tau, "beta": beta, "P_n / kW": 1.5},
        {"P_perm / kW": (1.5 * losses**0.5 * (1 + 1e-9), "below")},
    )


def cycle_of(r, most):
    parts = r.randint(2, 6)
    return [some(r, 1, most, 0.3) for _ in range(parts)], [some(r, 0.1, 600, 0) for _ in range(parts)]


def resistor_pulse(r):
    (P, t), R, tau = cycle_of(r, 5000), some(r, 0.01, 5, 0), some(r, 1, 2000, 0)

    def cycle(rise):
        highest = rise
        for power, time in zip(P, t):
            rise = warmed(rise, power, R, tau, time)
            highest = max(highest, rise)
        return highest, rise

    return Case(
        {"P_k / W": P, "t_k / s": t, "R_th / K/W": R, "tau / s": tau, "T_air / °C": 40, "dT_max / K": 1e9},
        {"d_peak / K": (settled(cycle, 200000) * (1 - 1e-8), "above"), "d_first / K": (cycle(0.0)[0], "equal")},
    )


def resistor_network(r):
    wired, count, tol, U = r.choice(("in-series", "in-parallel")), r.randint(1, 4), round(10 * part(r), 2), some(r, 100, 1000, 0)
    R, P, duty = [some(r, 1, 200, 0) for _ in range(count)], [some(r, 10, 5000, 0) for _ in range(count)], round(1 + 99 * part(r), 2)

    def loaded(real):
        """Current of the chopper, and the mean power over the permitted one of what is loaded most."""
        if wired == "in-series":
            I = U / sum(real)
            return I, max(I * I * one * duty / 100 / most for one, most in zip(real, P))
        return sum(U / one for one in real), max(U * U / one * duty / 100 / most for one, most in zip(real, P))

    # each is any within the tolerance, its ends too
    tried = [loaded([one * (1 + tol / 100 * r.choice((-1, 1, 2 * part(r) - 1))) for one in R]) for _ in range(60)]
    return Case(
        {"wired": wired, "R_k / Ω": R, "P_k / W": P, "tol_R / %": tol, "U / V": U, "duty / %": duty, "I_max / A": 1e6},
        {"I_most / A": (max(I for I, _ in tried), "above"), "load": (max(load for _, load in tried), "above")},
    )


def motor_thermal(r):
    (T, t), tau, v_0, T_n, P_n, d_n = cycle_of(r, 30), some(r, 1, 60, 0), round(90 * part(r), 1), some(r, 1, 30, 0), some(r, 10, 2000, 0), some(r, 20, 125, 0)
    E, cool = [some(r, 1, 500, 0.7) for _ in T], [round(0.2 + 0.8 * part(r), 3) for _ in T]
    T = [r.choice((-1, 1)) * x for x in T]

    def cycle(rise):
        highest = rise
        for torque, time, heat, beta in zip(T, t, E, cool):
            power = P_n * (v_0 / 100 + (1 - v_0 / 100) * (torque / T_n) ** 2) + heat / time
            rise = warmed(rise, power, d_n / P_n / beta, tau * 60 / beta, time)
            highest = max(highest, rise)
        return highest, rise

    return Case(
        {"T_k / N·m": T, "t_k / s": t, "E_k / J": E, "beta_k": cool, "T_n / N·m": T_n, "P_vn / W": P_n, "v_0 / %": v_0, "class": "155", "d_n / K": d_n,
         "tau / min": tau, "T_air / °C": 40},
        {"d_peak / K": (settled(cycle, 200000) * (1 - 1e-8), "above")},
    )


def link_discharge(r):
    C, R, U, low = some(r, 10, 1e5, 0), some(r, 0.1, 1000, 0), some(r, 100, 1500, 0), 60
    slow = R * 1e3 * C * 1e-6

    def safe(t, y):
        return y[0] - low

    safe.terminal = True
    found = solve_ivp(lambda t, y: [-y[0] / slow], (0, 20 * slow), [U], rtol=1e-11, atol=1e-9, events=safe)
    return Case(
        {"C / µF": C, "R / kΩ": R, "U_0 / V": U, "U_safe / V": low, "t_sign / min": 1e9},
        {"t_safe / s": (float(found.t[-1]) * (1 - 1e-8), "above")},
    )


def shared_link(r):
    """Each drive takes and gives in parts, cycle after cycle in every order; the link holds, the resistor burns, the mains help out."""
    drives = range(r.randint(2, 6))
    taken, given = ([[some(r, 1, 5000, 0.3) for _ in range(r.randint(1, 3))] for _ in drives] for _ in "tg")
    stops, C, z, t = [some(r, 1, 5000) for _ in drives], some(r, 50, 1e5, 0), some(r, 1, 500), some(r, 0.1, 100, 0)
    room, worst, stopped, drawn = C * 1e-6 * (780**2 - 565**2) / 2, 0.0, 0.0, 0.0
    parts = [part for drive in given for part in drive] + [-part for drive in taken for part in drive]
    for order in range(60):
        r.shuffle(parts)
        # after hours: filled where more is given than taken; cycles until the link begins one as it began the last
        held = room if sum(parts) > 0 else 0.0
        for _ in range(200):
            before, burnt, brought = held, 0.0, 0.0
            for bit in sorted(parts, reverse=True) if order == 0 else parts:
                held += bit
                burnt += max(held - room, 0)
                brought += max(-held, 0)
                held = min(max(held, 0), room)
                # a common stop at this moment
                stopped = max(stopped, sum(stops) - (room - held))
            if held == before:
                break
        worst, drawn = max(worst, burnt), max(drawn, brought)
    return Case(
        {"E_taken_k / J": [sum(drive) for drive in taken], "E_given_k / J": [sum(drive) for drive in given], "E_stop_k / J": stops, "t / s": t,
         "z / 1/h": z, "C / µF": C, "U_0 / V": 565, "U_chop / V": 780, "P_rated / W": 1e9},
        {"E_res / J": (worst, "equal"), "P_res / W": (worst / t, "equal"), "P_mains / W": (drawn / t, "equal"), "E_res_stop / J": (stopped, "equal"),
         "P_res_stop / W": (stopped * z / 3600, "equal")},
    )


def lowering(r):
    m, v, h, z, ramp = some(r, 1, 1e4, 0), some(r, 0.01, 10, 0), some(r, 0.1, 100, 0), some(r, 0.1, 500), some(r, 0.05, 20, 0)
    moves, eta = ms(m * (1 + r.random())), round(0.3 + 0.7 * part(r), 3)
    # lowered at v, then the ramp over the last v·t/2; step by step, with what is left of the height before it
    steps, fed, peak = 400, m * G * v * max(h / v - ramp / 2, 0), m * G * v
    for i in range(steps):
        speed = v * (1 - (i + 0.5) / steps)
        power = (m * G + moves * v / ramp) * speed
        fed, peak = fed + power * ramp / steps, max(peak, (m * G + moves * v / ramp) * v)
    if h < v * ramp / 2:
        fed = 0.0  # it never gets to v: less of everything
    return Case(
        {"m / kg": m, "v / m/s": v, "h / m": h, "z / 1/h": z, "m_move / kg": moves, "t_ramp / s": ramp, "eta / %": ms(eta * 100)},
        {"E / J": (fed * eta * (1 - 1e-9), "above"), "P_peak / W": (peak * eta, "above"), "P_mean / W": (fed * eta * z / 3600 * (1 - 1e-9), "above")},
    )


def resistor_catalogue(r):
    E, z, close, cycle = some(r, 1, 1e4, 0), some(r, 0.1, 3000), r.choice((1, 1, 2, 5)), some(r, 1, 600, 0)
    # as many evenly spread stops as any window of one cycle can hold
    spread = floor(cycle * z / 3600 * (1 - 1e-12)) + 1 if z else 0
    return Case(
        {"E / J": E, "P_peak / W": 100, "z / 1/h": z, "n_close": close, "t_cyc / s": cycle, "P_rated / W": 100, "P_duty / W": 1000, "duty_c / %": 6,
         "E_pulse / J": 1e9, "U_chop / V": 780, "R / Ω": 100, "tol_R / %": 10},
        {"E_cyc / J": (E * max(spread, close), "above"), "P_mean / W": (E * z / 3600, "above")},
    )


E24 = [10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91]  # IEC 60063


def resistor_window(r):
    E, P, t, U, tol = some(r, 1, 1e5), some(r, 2, 1e5, 0), some(r, 1, 1000, 0), some(r, 100, 1200, 0), round(10 * part(r), 1)
    right = max(value * 10.0**k for value in E24 for k in range(-3, 6) if value * 10.0**k * (1 + tol / 100) <= U * U / P * (1 + 1e-12))
    return Case(
        {"E / J": E, "P_peak / W": P, "t_cycle / s": t, "U_chop / V": U, "I_max / A": 1e9, "R_min / Ω": 0, "tol_R / %": tol},
        {"R / Ω": (right, "equal"), "P_mean / W": (E / t, "above"), "I_peak / A": (U / (right * (1 - tol / 100)), "above"),
         "t_on / s": (E / (U * U / (right * (1 + tol / 100))), "above")},
    )


SHEETS = {make.__name__.replace("_", "-"): make for make in (
    brake_heating, stops_per_hour, duty_type, resistor_pulse, resistor_network, motor_thermal, link_discharge, shared_link, lowering, resistor_catalogue, resistor_window)}
