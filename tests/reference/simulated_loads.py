"""Loads, ramps and the reverse questions: random sets, and what comes of them by a route of its own.

Forces come from the change of potential energy, motions from Newton's law, settings from trying them step by step.
"""

from fractions import Fraction
from math import cos, inf, isfinite, pi, radians, sin

from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from drawn import G, RPM, Case, ms, signed, some
from simulate import Both, Brake, Ramp, Shaft, fed_back, follow


def part(r):
    """A share, its ends included."""
    return r.choice((0.0, 1.0, round(r.random(), 4), round(r.random(), 4)))


def slope(r):
    m, J, lead, v = some(r, 1, 1e4, 0), some(r, 1e-5, 1), some(r, 1, 200, 0), some(r, 0.01, 10, 0)
    alpha, moving, mu, rest, eta = round(90 * part(r), 2), r.choice(("upwards", "downwards")), some(r, 1e-3, 0.5), some(r, 1e-3, 0.5), part(r)
    F_0, F_bal = ms(m * G * part(r) / 5), ms(m * G * r.choice((0, part(r), 2)))
    k = lead / 1e3 / (2 * pi)
    # what the weight and its balance do over 1 m up the slope, and how hard it lies on it
    down = m * G * sin(radians(alpha)) - F_bal
    lies = m * G * cos(radians(alpha))
    helps = down if moving == "upwards" else -down
    course = follow(Shaft(J + m * k * k, (mu * lies + F_0) * k, T_load=helps * k), v / k)
    force = mu * lies + F_0 + helps
    return Case(
        {"m / kg": m, "alpha / °": alpha, "moving": moving, "mu": mu, "mu_rest": rest, "F_0 / N": F_0, "F_bal / N": F_bal, "J_rot / kg·m²": J,
         "lead / mm/r": lead, "eta_back / %": ms(eta * 100)},
        {"T_load / N·m": (min(force * k, force * k * eta), "below"), "T_hold / N·m": (max(abs(down) - rest * lies, 0) * k, "above"),
         "a_free / m/s²": ((v * v / 2 / (course.ahead * k), "equal") if isfinite(course.t) and not course.back and force > 0 else (inf, "below"))},
    )


def hoist(r):
    load, hook, balance = some(r, 1, 1e4), some(r, 1, 500), some(r, 1, 1e4)
    d, z, i, n = some(r, 20, 2000, 0), r.randint(1, 12), some(r, 0.5, 200, 0), some(r, 1, 6000, 0)
    eta = round(0.2 + 0.8 * r.random(), 3)
    back = ms(eta * part(r))
    way = d / 2000 / i / z  # of the hook for a radian of the motor
    # any load on the hook, raised or lowered: the energy that it gives up over that way, gear without loss
    gives = [way_up * (hook + load * x - balance) * G * way for x in (0, 1, *[r.random() for _ in range(8)]) for way_up in (-1, 1)]
    speed = n * RPM * way
    return Case(
        {"m_load / kg": load, "m_hook / kg": hook, "m_bal / kg": balance, "d / mm": d, "z": z, "i": i, "eta / %": ms(eta * 100),
         "eta_back / %": ms(back * 100), "n_0 / r/min": n},
        {"T_load / N·m": (min(gives), "below"), "T_hold / N·m": (max(gives), "above"),
         "J_load_ref / kg·m²": (2 * (load + hook + balance) * speed**2 / 2 / (n * RPM) ** 2, "above")},
    )


def conveyor_load(r):
    goods, belt, tilt = some(r, 1, 5000), some(r, 1, 2000, 0), round(60 * part(r) - 30, 2)
    f, grip, d, i, eta = some(r, 1e-3, 0.6), round(0.1 + 1.4 * r.random(), 3), some(r, 50, 1000, 0), some(r, 1, 100, 0), part(r)
    n, ramp, k = some(r, 10, 6000, 0), some(r, 0.05, 60, 0), d / 2000 / i
    force = f * (belt + goods) * G * cos(radians(tilt)) + goods * G * sin(radians(tilt))
    # goods ride on while friction and weight slow them as much as the belt slows
    holds = (grip * G * cos(radians(tilt)) * 1.0 + G * sin(radians(tilt)))
    return Case(
        {"m_goods / kg": goods, "m_belt / kg": belt, "delta / °": tilt, "f": f, "mu_goods": grip, "d / mm": d, "i": i, "eta / %": 92,
         "eta_back / %": ms(eta * 100), "n_0 / r/min": n, "t_ramp / s": ramp},
        {"T_load / N·m": (min(force * k, force * k * eta), "below"), "J_load_ref / kg·m²": ((belt + goods) * k * k, "above"),
         "t_least / s": (n * RPM * k / holds if holds > 0 else 0, "above")},
    )


def unbalance(r):
    m, e, phi = some(r, 0.01, 1000, 0), some(r, 1, 1000, 0), round(180 * part(r), 2)
    J = ms(m * e * e / 1e6 * r.choice((1.00001, 2, 10)))
    arm = m * G * e / 1e3
    T_0 = ms(arm * r.choice((0, r.random(), 2)))

    def over(speed):
        """Angle at which it stands for an instant, or π if it gets over."""
        def stands(t, y):
            return y[1]

        def top(t, y):
            return y[0] - pi

        stands.terminal = top.terminal = True
        stands.direction = -1
        found = solve_ivp(lambda t, y: [y[1], -arm / J * sin(y[0])], (0, 1e4 * (J / arm) ** 0.5), [0, speed], rtol=1e-10, atol=1e-12, events=(stands, top))
        return found.y[0][-1] - pi if found.t_events[0].size else found.y[1][-1]

    middle = (arm / J) ** 0.5
    needed = brentq(over, middle, 3 * middle, xtol=1e-9 * middle)
    return Case(
        {"m / kg": m, "e / mm": e, "phi / °": phi, "T_0 / N·m": T_0, "J / kg·m²": J, "i": 5},
        {"n_over / rad/s": (needed * (1 - 1e-5), "above"), "T_max / N·m": (arm, "above"), "E_half / J": (2 * m * G * e / 1e3, "above")},
    )


def square_law_load(r):
    given, n_1, n_0 = r.choice(("torque", "power")), some(r, 10, 6000, 0), some(r, 10, 6000, 0)
    J, T_0, T_1 = some(r, 1e-3, 100, 0), some(r, 0.01, 50, 0), some(r, 0.1, 1000, 0)
    P_1 = ms(T_1 * n_1 * RPM / 1e3)
    where, T_0_most = r.choice(("shaft", "impeller")), max(T_0, ms(T_0 * r.choice((1, 1.5))))
    T = (T_1 if given == "torque" else P_1 * 1e3 / (n_1 * RPM)) - (T_0_most if where == "shaft" else 0)
    c = max(T, 0) / (n_1 * RPM) ** 2
    course = follow(Shaft(J, T_0, c=c), n_0 * RPM)
    return Case(
        {"given": given, "taken_at": where, "T_1 / N·m": T_1, "P_1 / kW": P_1, "n_1 / r/min": n_1,
         "n_0 / r/min": n_0, "J / kg·m²": J, "T_0 / N·m": T_0, "T_0_most / N·m": T_0_most},
        {"t_stop / s": (course.t, "equal"), "phi_stop / rad": (course.path, "equal")},
    )


def process_torque(r):
    n, share, T_0, J = min(some(r, 1, 1500, 0), 1500), part(r), some(r, 0.01, 50, 0), some(r, 1e-3, 100, 0)
    rows = [(0, 12), (250, 10.4), (750, 9.5), (1500, 9)]  # of the sheet: an invented mixer

    def torque(w):
        speed = w / RPM
        (a, x), (b, y) = next((one, two) for one, two in zip(rows, rows[1:]) if speed <= two[0] * (1 + 1e-12))
        return T_0 + share * (x + (y - x) * (speed - a) / (b - a))

    knots = [0, *[k for k, _ in rows[1:] if k < n], n]
    parts = [(a * RPM, b * RPM) for a, b in zip(knots, knots[1:])]
    return Case(
        {"n_0 / r/min": n, "T_share / %": ms(share * 100), "T_0 / N·m": T_0, "J / kg·m²": J},
        {"t_stop / s": (sum(quad(lambda w: J / torque(w), *p, epsrel=1e-12)[0] for p in parts), "equal"),
         "phi_stop / rad": (sum(quad(lambda w: J * w / torque(w), *p, epsrel=1e-12)[0] for p in parts), "equal"),
         "t_empty / s": (follow(Shaft(J, T_0), n * RPM).t, "equal")},
    )


def jerk_ramp(r):
    v, a, j, dead, lead = some(r, 0.01, 20, 0), some(r, 0.1, 50, 0), some(r, 0.5, 1000, 0), some(r, 1, 500), some(r, 1, 200, 0)
    J, T_load = some(r, 1e-4, 10, 0), signed(r, 0.01, 100)

    def left(rise, hold):
        """Speed and way after deceleration has risen, stayed and fallen again, each part with its own polynomial."""
        speed, way, slow = v, 0.0, 0.0
        for length, jerk in ((rise, j), (hold, 0.0), (rise, -j)):
            way += speed * length - slow * length**2 / 2 - jerk * length**3 / 6
            speed -= slow * length + jerk * length**2 / 2
            slow += jerk * length
        return speed, way

    rise, hold = a / j, 0.0
    if left(rise, 0.0)[0] < 0:
        rise = brentq(lambda x: left(x, 0.0)[0], 0, a / j, xtol=1e-15)
    else:
        hold = brentq(lambda x: left(rise, x)[0], 0, 2 * v / a + 1e-9, xtol=1e-15)
    turn = lead / 1e3 / (2 * pi)
    return Case(
        {"v_0 / m/s": v, "a_max / m/s²": a, "j_max / m/s³": j, "t_dead / ms": dead, "lead / mm/r": lead, "J_stop / kg·m²": J, "T_load / N·m": T_load},
        {"t_stop / s": (dead / 1e3 + 2 * rise + hold, "equal"), "s_stop / m": (v * dead / 1e3 + left(rise, hold)[1], "equal"),
         "T_peak / N·m": (J * j * rise / turn - T_load, "equal")},
    )


def torque_for_time(r):
    J, n, t, f, T_load = some(r, 1e-4, 10, 0), some(r, 1, 6000, 0), some(r, 0.05, 60, 0), round(part(r) / 2, 3), signed(r, 0.01, 100)
    ramp = Ramp(n * RPM, 0.0, t, f)
    hardest = max(-ramp.speed_and_rate(t * (x + 0.5) / 2001)[1] for x in range(2001))
    return Case(
        {"J_ref / kg·m²": J, "n_0 / r/min": n, "t_stop / s": t, "f / %": ms(f * 100), "T_load / N·m": T_load, "T_max / N·m": 1e6,
         "n_rated / r/min": 1e5, "n_break / r/min": 1e5},
        {"T_peak / N·m": (J * hardest - T_load, "above")},
    )


def largest_inertia(r):
    delay, tol, reserve, n = some(r, 20, 60000, 0), round(40 * part(r), 1), round(90 * part(r), 1), some(r, 1, 6000, 0)
    start, T, T_load = ms(delay * 0.5 * r.random()), some(r, 0.1, 500, 0), 0.0
    T_load = ms(T * r.choice((0, -0.5 * r.random(), r.random())))
    time = (delay / 1e3 * (1 - tol / 100) - start / 1e3) * (1 - reserve / 100)
    if time <= 0:
        return largest_inertia(r)
    # what the torque alone stops in that time
    J = brentq(lambda x: follow(Shaft(x, T_load=min(T_load, 0)), n * RPM, Brake(T + max(T_load, 0), 0.0, 0.0)).t - time, 1e-12, 1e9, xtol=1e-14, rtol=1e-11)
    return Case(
        {"t_delay / ms": delay, "tol / %": tol, "t_start / ms": start, "reserve / %": reserve, "T_motor / N·m": T, "T_load / N·m": T_load,
         "n_0 / r/min": n, "J_motor / kg·m²": 0, "i": 1},
        {"J_all / kg·m²": (J, "below")},
    )


def exact(x):
    return Fraction(repr(x))


def steps(r):
    step = r.choice((1, 5, 10, 50))
    return step, exact(step)


def driving_load(r, time):
    """A load that drives, and its brake: the run-down over about `time` s, and torque lost at once for a removal `late`."""
    J, n = some(r, 1e-3, 10, 0), some(r, 10, 6000, 0) * RPM
    T_b = ms(J * n / time * (0.2 + 5 * r.random()))
    drives, grips, build = ms(T_b * r.choice((0, 0, 0.9 * r.random(), 0.999 * r.random()))), ms(time * part(r) / 2), ms(time * part(r) / 2)
    shaft = Shaft(J, T_load=-drives)
    down = max(follow(shaft, n, Brake(T_b, grips, build)).t, grips + build if drives else 0.0)

    def lost(late):
        """From the command; the clock of the brake starts with it, since a late second has no room for its last bits."""
        if not drives:
            return late + down
        free = late + grips
        return free + follow(shaft, n + drives / J * free, Brake(T_b, 0.0, build)).t

    return T_b, drives, ms(down * 1000 * (1 + 1e-5)), lost


def best_delay(r):
    ramp, tol_ramp, start, settle, tol = some(r, 1, 60000, 0), round(90 * part(r), 1), some(r, 1, 500), some(r, 1, 500), round(45 * part(r), 1)
    step, whole = steps(r)
    works = exact(start) + exact(ramp) * (1 + exact(tol_ramp) / 100) + exact(settle)
    count = int(works / (1 - exact(tol) / 100) / whole) - 1
    while count * whole * (1 - exact(tol) / 100) < works:
        count += 1
    delay = count * whole
    late = delay * (1 + exact(tol) / 100)
    T_b, drives, down, lost = driving_load(r, some(r, 0.001, 60, 0))
    return Case(
        {"t_ramp / ms": ramp, "tol_ramp / %": tol_ramp, "t_start / ms": start, "t_settle / ms": settle, "tol / %": tol, "t_run_down / ms": down,
         "T_load / N·m": -drives, "T_b / N·m": T_b, "t_left / ms": 1e9, "t_step / ms": step, "t_low / ms": 0, "t_high / ms": 1e9},
        {"t_works / ms": (float(works), "above"), "t_delay / ms": (float(delay), "above"),
         "t_fails / ms": (float(late + exact(down)), "above"), "t_lost / ms": (lost(float(late) / 1e3) * 1e3, "above")},
    )


def allowed_ramp(r):
    left, start, tol_ramp, tol = some(r, 100, 60000, 0), some(r, 1, 500), round(90 * part(r), 1), round(45 * part(r), 1)
    T_b, drives, down, lost = driving_load(r, left / 1e3 * r.choice((1e-3, r.random(), r.random())))
    stands_on = r.choice(("ramp-works", "ramp-fails"))
    step, whole = steps(r)

    def most(fits):
        """The largest setting that fits, tried by halving over whole steps."""
        low, high = 0, 10**6
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if fits(middle * whole) else (low, middle)
        return low * whole

    ends = lambda ramp: exact(start) + ramp * (1 + exact(tol_ramp) / 100)
    if stands_on == "ramp-works":
        ramp = most(lambda x: ends(x) <= exact(left))
    else:
        late = lambda x: x * (1 + exact(tol) / 100)
        delay = most(lambda x: late(x) + exact(down) <= exact(left) and (not drives or lost(float(late(x)) / 1e3) * 1e3 <= left))
        ramp = most(lambda x: ends(x) <= delay * (1 - exact(tol) / 100))
    return Case(
        {"stands_on": stands_on, "t_left / ms": left, "t_start / ms": start, "t_run_down / ms": down, "T_load / N·m": -drives, "T_b / N·m": T_b, "tol / %": tol, "tol_ramp / %": tol_ramp,
         "t_step / ms": step, "t_low / ms": 0, "t_high / ms": 1e9},
        {"t_ramp / ms": (float(ramp), "below")},
    )


def brake_torque(r):
    J, n, t = some(r, 1e-4, 10, 0), some(r, 1, 6000, 0), some(r, 0.01, 30, 0)
    scale = J * n * RPM / t
    T_f, T_load, T_hold = ms(scale * part(r) / 2), ms(scale * r.choice((0, -r.random(), r.random() / 3))), ms(scale * part(r))
    dyn, stat, short = round(1 + 4 * part(r), 2), round(1 + 4 * part(r), 2), round(80 * part(r), 1)
    friction = T_f * (1 + r.random())

    def late(T):
        return follow(Shaft(J, T_f, T_load=T_load), n * RPM, Brake(T, 0.0, 0.0))

    # a brake that just stops it in time, and one that holds; what a stronger one takes up while there is more friction
    least = 0.0 if late(1e-9 * scale).ahead <= n * RPM * t / 2 and late(1e-9 * scale).t <= t else scale - T_f - T_load
    hot = follow(Shaft(J, friction * r.random(), T_load=T_load), n * RPM, Brake(max(least, 0) * (1 + 3 * r.random()) + T_f + abs(T_load) + 1e-6 * scale, 0.0, 0.0)).heat
    return Case(
        {"J / kg·m²": J, "n_0 / r/min": n, "t_b / s": t, "T_f / N·m": T_f, "T_load / N·m": T_load, "T_hold / N·m": T_hold, "S_dyn": dyn, "S_stat": stat,
         "T_short / %": short},
        {"T_need / N·m": (max(least * dyn, T_hold * stat, abs(T_load) * stat) / (1 - short / 100), "above"), "E_b / J": (hot, "above")},
    )


def spring_set_release(r):
    side, dc, build, free, relay, flux = r.choice(("dc-side", "ac-side")), some(r, 1, 200), some(r, 1, 200), some(r, 1, 300), some(r, 1, 100), some(r, 1, 500)
    ac, J, T, reserve = ms(dc * (1 + 5 * r.random()) + 1), some(r, 1e-4, 1, 0), some(r, 0.01, 50), round(1 + 2 * part(r), 2)
    early = max(flux - relay - free, 0) / 1e3
    first = relay + (dc if side == "dc-side" else ac)
    # the load alone turns the shaft from rest until the motor holds it
    sagged = solve_ivp(lambda t, y: [T / J, y[0]], (0, early), [0.0, 0.0], rtol=1e-11, atol=1e-15).y[:, -1] if early and T else (0.0, 0.0)
    return Case(
        {"switched": side, "t_dc / ms": dc, "t_ac / ms": ac, "t_build / ms": build, "t_release / ms": free, "t_relay / ms": relay, "t_flux / ms": flux,
         "S_t": reserve, "t_step / ms": 10, "t_high / ms": 1e6, "J / kg·m²": J, "T_drive / N·m": T},
        {"t_resp / ms": (first, "above"), "t_close / ms": (reserve * (first + build), "above"), "t_open / ms": (reserve * max(relay + free, flux), "above"),
         "phi_sag / rad": (sagged[1], "above"), "n_sag / rad/s": (sagged[0], "above")},
    )


def holding_test(r):
    m, lead, S_test, short, T_b = some(r, 1, 5000), some(r, 1, 200, 0), round(1 + 2 * part(r), 2), round(80 * part(r), 1), some(r, 0.1, 1000, 0)
    m = m or 1.0
    hanging = ms(m * part(r))
    per = lead / 1e3 / (2 * pi) * G
    return Case(
        {"m / kg": m, "lead / mm/r": lead, "m_test / kg": hanging, "S_test": S_test, "T_b / N·m": T_b, "T_short / %": short, "T_m / N·m": 1e6,
         "T_gear / N·m": 1e6, "s_move / mm": 0.5},
        {"T_test / N·m": (S_test * m * per, "above"), "T_sound / N·m": (T_b * (1 - short / 100), "below"),
         "T_down / N·m": ((S_test * m - hanging) * per, "above")},
    )


def resistor_for_ramp(r):
    J, n, t, eta = some(r, 1e-3, 10, 0), some(r, 10, 6000, 0), some(r, 0.05, 60, 0), round(0.3 + 0.7 * part(r), 3)
    T_load = ms(J * n * RPM / t * r.choice((0, -r.random(), r.random())))
    E, P = fed_back(Shaft(J, T_load=T_load), Ramp(n * RPM, 0.0, t), eta)
    slow = max(t, ms(t * (1 + r.choice((0, 0.3 * r.random())))))
    E = max(E, fed_back(Shaft(J, T_load=T_load), Ramp(n * RPM, 0.0, slow), eta)[0])
    dead = some(r, 1, 500)
    E += max(-T_load, 0) * n * RPM * eta * dead / 1e3
    return Case(
        {"J_ref / kg·m²": J, "n_0 / r/min": n, "t_ramp / s": t, "t_slow / s": slow, "t_dead / ms": dead, "eta / %": ms(eta * 100), "T_load / N·m": T_load, "t_cycle / s": 1e5, "U_chop / V": 780,
         "I_max / A": 1e6, "tol_R / %": 5, "R_drive / Ω": 0, "U_test / V": 850},
        {"E / J": (E, "above"), "P_peak / W": (P, "above")} if P > 0 else {"E / J": (0, "above"), "P_peak / W": (0, "above")},
    )


def brake_resistor(r):
    J, J_m, i, n, t = some(r, 1e-3, 100, 0), some(r, 1e-4, 1), some(r, 0.5, 50, 0), some(r, 10, 6000, 0), some(r, 0.05, 60, 0)
    eta, back = round(0.5 + 0.5 * part(r), 3), part(r)
    # through the gear and straight into the motor: each has its own share of the same ramp
    E, P = (sum(x) for x in zip(*(fed_back(Shaft(own), Ramp(n * RPM, 0.0, t), eta * loss) for own, loss in ((J / i**2, back), (J_m, 1)))))
    cycle = ms(t * (1.01 + 50 * r.random()))
    return Case(
        {"J_load / kg·m²": J, "J_m / kg·m²": J_m, "i": i, "n_0 / r/min": n, "t_ramp / s": t, "t_cycle / s": cycle, "U_chop / V": 780, "I_max / A": 1e6, "R_min / Ω": 0,
         "eta / %": ms(eta * 100), "eta_back / %": ms(back * 100)},
        {"E / J": (E, "equal"), "P_peak / W": (P, "equal"), "P_mean / W": (E / cycle, "above")},
    )


def two_drives(r):
    J, J_1, J_2, n = some(r, 1e-3, 10), some(r, 1e-4, 1, 0), some(r, 1e-4, 1, 0), some(r, 1, 6000, 0)
    whole = J + J_1 + J_2
    T_0, brakes = some(r, whole, whole * 300), [some(r, whole * 10, whole * 1000, 0) for _ in range(2)]
    T_load = some(r, whole, whole * 500)
    times, builds = [some(r, 1, 500) for _ in range(2)], [some(r, 1, 300) for _ in range(2)]
    stands_on = r.choice(("both", "one"))
    two = [Brake(T, t / 1e3, build / 1e3) for T, t, build in zip(brakes, times, builds)]
    # one that fails, any of both, unless that is excluded
    courses = [follow(Shaft(whole, T_0, T_load=-T_load), n * RPM, it) for it in ((Both(*two),) if stands_on == "both" else (Both(*two), *two))]
    t, phi, peak, heat = (max(getattr(it, name) for it in courses) for name in ("t", "path", "peak", "heat"))
    return Case(
        {"J_load_ref / kg·m²": J, "J_1 / kg·m²": J_1, "J_2 / kg·m²": J_2, "n_0 / r/min": n, "T_0 / N·m": T_0, "T_load / N·m": -T_load, "T_b_1 / N·m": brakes[0],
         "T_b_2 / N·m": brakes[1], "t_b_1 / ms": times[0], "t_b_2 / ms": times[1], "t_build_1 / ms": builds[0], "t_build_2 / ms": builds[1], "stands_on": stands_on},
        {"t_stop / s": (t, "above"), "phi_stop / rad": (phi, "above"), "n_peak / rad/s": (peak, "above"), "E_b / J": (heat, "above")},
        never=not isfinite(t),
    )


SHEETS = {make.__name__.replace("_", "-"): make for make in (
    slope, hoist, conveyor_load, unbalance, square_law_load, process_torque, jerk_ramp, torque_for_time, largest_inertia, best_delay, allowed_ramp,
    brake_torque, spring_set_release, holding_test, resistor_for_ramp, brake_resistor, two_drives)}
