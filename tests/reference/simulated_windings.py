"""A motor with magnets whose windings are closed across resistors, its currents followed in time.

Equations of the synchronous machine in its rotor's frame: 0 = R·i_d + L·di_d/dt − ω_e·L·i_q and
0 = R·i_q + L·di_q/dt + ω_e·(L·i_d + ψ); torque 3/2·p·ψ·i_q (textbooks of electrical machines, from memory). Per ampere
effective that is K_T = 3·p·ψ/√2.
"""

from math import hypot, isfinite, sqrt

from scipy.integrate import solve_ivp

from drawn import RPM, Case, ms, some


def closed(J, n, K, p, R, L, T_0, T_load):
    """Time and angle to standstill from closed windings, and the greatest amplitude of the current on the way."""
    flux = sqrt(2) * K / 3 / p

    def rates(_, state):
        d, q, w, _ = state
        electric = p * w
        return (-R * d + electric * L * q) / L, (-R * q - electric * (L * d + flux)) / L, (1.5 * p * flux * q - T_0 - T_load) / J, w

    def stands(_, state):
        return state[2]

    stands.terminal, stands.direction = True, -1
    course = solve_ivp(rates, (0, 1e5), (0.0, 0.0, n * RPM, 0.0), "LSODA", events=stands, rtol=1e-8, atol=1e-10)
    return course.t[-1], course.y[3, -1], max(hypot(d, q) for d, q in zip(course.y[0], course.y[1]))


def winding_brake(r):
    K, p, n = some(r, 0.2, 3, 0), r.randint(1, 6), some(r, 500, 6000, 0)
    R_m, R_ext = some(r, 0.2, 10, 0), some(r, 0.5, 20, 0.4)
    R = R_m + R_ext
    L = ms(R * 10 ** (-3 + 1.5 * r.random()))  # henry: time constants from 1 to 30 ms
    most = K * K / (6 * p * L)
    T_0 = ms(most * 10 ** (-2.5 + 1.5 * r.random()))
    T_load = -T_0 * r.choice((0, 0, 0.5, 0.9))
    # stops of two to some hundred time constants
    J = ms(L / R * 10 ** (0.3 + 2 * r.random()) * most / (n * RPM))
    resp = some(r, 1, 300)
    t, path, _ = closed(J, n, K, p, R, L, T_0, T_load)
    # magnets cold, the iron saturated
    cold, L_sat = ms(K * (1 + r.random() / 5)), ms(L * (0.3 + 0.7 * r.random()))
    *_, amplitude = closed(J, n, cold, p, R, L_sat, T_0, T_load)
    return Case(
        {"J / kg·m²": J, "n_0 / r/min": n, "t_resp / ms": resp, "K_T / N·m/A": K, "K_T_most / N·m/A": cold, "z_p": p, "R_m / Ω": R_m, "R_ext / Ω": R_ext, "L_m / mH": L * 1e3,
         "L_sat / mH": L_sat * 1e3, "T_0 / N·m": T_0, "T_load / N·m": T_load, "I_max / A": 1e6},
        {"t_stop / s": (resp / 1e3 + t, "above"), "phi_stop / rad": (n * RPM * resp / 1e3 + path, "above"), "I_peak / A": (amplitude / sqrt(2), "above"),
         "t_open / s": (resp / 1e3 + J * n * RPM / (T_0 + T_load), "equal")},
        never=not isfinite(t),
    )


SHEETS = {"winding-brake": winding_brake}
