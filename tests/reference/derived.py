"""Figures that follow by plain arithmetic from the same inputs as the integrated ones beside them.

    python3 derived.py > derived.csv

Worked from energy balances and definitions, in SI unless the name says otherwise; nothing is taken from a
sheet. Name: sheet, case, result.
"""

import math

PI, G = math.pi, 9.80665
RPM = 2 * PI / 60


def out(name, value):
    print(f"{name},{value:.16g}")


# after very many stops: a geometric series of one stop's rise, steel 452 J/(kg·K)
one, keep = 12000 / (3.5 * 452), math.exp(-60 * 25 * 0.16 / (3.5 * 452))
out("brake-heating.T_peak_degC", 40 + one / (1 - keep))
out("brake-wear.t_reset_h", 100000 / 60)

v = 0.08 * 1450 * RPM / 14
out("conveyor-load.a", v / 0.5)
out("conveyor-load.s_ramp", v * 0.5 / 2)
for name, delta in [("rising", math.radians(8)), ("falling", math.radians(-12))]:
    rest = abs(180 * G * math.sin(delta)) - 0.03 * G * 225 * math.cos(delta)
    out(f"conveyor-load.{name}.F_rest", rest)
    out(f"conveyor-load.{name}.T_hold", rest * 0.08 / 14)
    out(f"conveyor-load.{name}.T_weight", -abs(180 * G * math.sin(delta)) * 0.08 / 14)
    out(f"conveyor-load.{name}.T_f", 0.03 * G * 225 * math.cos(delta) * 0.08 / 14 * 0.91)

out("disc-brake.A_cm2", PI * (6**2 - 4**2))
out("disc-brake.v", 0.06 * 1450 * RPM)

lead, trail = 400 * 0.6 / (0.25 - 0.3 * 0.05), 400 * 0.6 / (0.25 + 0.3 * 0.05)
out("drum-brake.leading.p", lead / 45e-4)
out("drum-brake.gain", (0.25 + 0.3 * 0.05) / (0.25 - 0.3 * 0.05))
out("drum-brake.trailing.p", trail / 45e-4)
out("drum-brake.both.T", 0.3 * 0.15 * (lead + trail))

# permissible losses of the periodic duty over the rated ones: ratio of the two geometric sums; torque is their root
losses = (1 - math.exp(-600 / 1800)) / (1 - math.exp(-150 / 1800))
out("duty-type.P_perm", 1500 * math.sqrt(losses))

out("emergency-or-normal.gain", 0.35 / 0.63)
w = 1450 * RPM
out("emergency-or-normal.E_n", 0.5 * 0.0101 * w * w - 1.6 * w * 0.6 / 2)

out("equivalent-power.P_mean_kW", (2.2 * 20 + 1.1 * 40) / 90)
out("equivalent-power.load", math.sqrt((2.2**2 * 20 + 1.1**2 * 40) / (20 + 40 + 0.4 * 30)) / 1.5)

# power at the motor: weight that is not balanced, times its speed, over the efficiency
speed = 0.15 * w / 30 / 2
out("hoist.P_raise", (600 + 40 - 200) * G * speed / 0.9)

weight = 80 * G * 0.02 / (2 * PI)
hang = 20 * G * 0.02 / (2 * PI)
out("holding-test.T_test", 1.3 * weight)
out("holding-test.T_down", 1.3 * weight - hang)
out("holding-test.T_up", 1.3 * weight + hang)
out("holding-test.S_sound", 9 * 0.8 / weight)

out("jerk-ramp.T_peak", 0.0101 * 4 / (0.05 / (2 * PI)))

# constant torque: half the synchronous speed on average; heat over heat capacity; heat over the power given off;
# the most: all of the kinetic energy, nothing left to friction
w_s, t = 1500 * RPM, 0.0101 * 1500 * RPM / (5 + 1.6)
heat = 0.5 * 0.0101 * w_s**2 + 6**2 * 3.2 * t
out("loss-braking.phi_stop_r", 1500 / 60 * t / 2)
out("loss-braking.dT", heat / 4200)
out("loss-braking.z_max", 250 / heat)

w_min = 150 * RPM
out("power-failure.E_use", 0.85 * 0.5 * 0.3 * (w * w - w_min * w_min))
out("power-failure.T_feed", 180 / 0.85 / w_min)

out("process-torque.P_n", 9.2 * 1200 * RPM)

# full speed through the response and half the build-up, then full torque: on the long side
slow = 0.0101 * w / (15 + 1.6)
out("quickest-stop.t_brake", 0.06 + 0.02 + slow)
out("quickest-stop.phi_brake_r", 1450 / 60 * (0.06 + 0.02 + slow / 2))

out("ramp-cut.E_left", 0.5 * 0.0101 * (1450 * (1 - 0.28 / 0.5) * RPM) ** 2)

# the second pulse ends its own cycle: two pulses of one period, each with what the other has left
def left(seconds):
    return math.exp(-seconds / 300)


first, second, period = 1800 * 0.8 * (1 - left(0.5)), 900 * 0.8 * (1 - left(0.5)), 12.0
after_first = (first + second * left(6 + 0.5)) / (1 - left(period))
after_second = (second + first * left(5 + 0.5)) / (1 - left(period))
peak = max(after_first, after_second)
out("resistor-pulse.T_peak_degC", 40 + peak)
out("resistor-pulse.used", peak / 300)

out("return-to-mains.P_mean", 30000 * 40 / 3600)
# all giving first: what does not fit into the link from 565 V to 780 V is burnt, and the mains must bring it again
burnt = 650 + 120 - 1410e-6 / 2 * (780**2 - 565**2)
out("shared-link.E_res", burnt)
out("shared-link.P_res", burnt / 1.5)
out("shared-link.P_mains", (900 - 650 - 120 + burnt) / 1.5)
# cooling from the permitted rise to that from which the next stop just reaches it: d_max − E/C
tau, d_one = 1600 / (25 * 0.16), 12000 / 1600
out("stops-per-hour.z_max_h", 3600 / (tau * math.log(120 / (120 - d_one))))
out("vertical-drop.S_hold", 9 * 2 * PI / 0.02 / (80 * G))
