"""Independent route to winding-brake: the torque of closed windings integrated over the speed at 40 digits.

    python3 tests/reference/windings.py > tests/reference/windings.csv
"""

import mpmath as mp

mp.mp.dps = 40
RPM = 2 * mp.pi / 60


def stop(name, J, n, K, p, R, L, T_0):
    J, n, K, p, R, L, T_0 = (mp.mpf(v) for v in (J, n, K, p, R, L, T_0))
    w_0 = n * RPM
    torque = lambda w: K**2 / 3 * w * R / (R**2 + (p * w * L) ** 2) + T_0
    cuts = [0] + [w_0 * mp.mpf(10) ** -k for k in range(6, -1, -1)]
    # one time constant at full speed is counted while the currents build up
    t_e = L / R
    t, phi = (mp.quad(lambda w: J * w**power / torque(w), cuts) for power in (0, 1))
    for what, value in (("t_e_ms", t_e * 1000), ("t_stop", t_e + t), ("phi_stop", t_e * w_0 + phi)):
        print(f"{name}.{what},{mp.nstr(value, 19, strip_zeros=False)}")


stop("without inductance", "0.0032", "3000", "1.1", "4", "1.4", "0", "0.4")
stop("with inductance", "0.0032", "3000", "1.1", "4", "8.2", "0.008", "0.4")
# without inductance the torque is b·ω + T_0: t = J/b·ln(1 + b·ω/T_0)
b = mp.mpf("1.1") ** 2 / 3 / mp.mpf("1.4")
print(f"closed form.t_stop,{mp.nstr(mp.mpf('0.0032') / b * mp.log(1 + b * 3000 * RPM / mp.mpf('0.4')), 19, strip_zeros=False)}")
