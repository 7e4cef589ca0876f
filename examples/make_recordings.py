"""Makes measured-stops/: recorded stops of the invented carton wrapper, three conditions, ten stops each.

Everything is made up: a tachogenerator of 150 r/min per V on a recorder of 16 bit, noise of 3 mV, samples every
2 ms, the stop command and the removal of torque as 24 V. One ramp fails (loaded, the seventh stop), one stop is
slow to begin (warm, the fourth). The recorder pauses between stops.

Ten more stops of the cold machine have their ramp switched off (cold-off.csv, for failing.toml), samples every 4 ms.

The saw of coasting.toml has no ramp: torque is removed 20 ms after the command, and friction stops it.

    python examples/make_recordings.py
"""

import math
import pathlib
import random

N_0, N_REF, T_RAMP, DELAY = 1450.0, 1500.0, 0.32, 0.360
J, VOLT = 0.0101, 150.0
STEP = 0.002
# friction at the motor in N·m, and how the ramp begins
CONDITIONS = {"cold": (1.85, 0.0140), "warm": (1.72, 0.0135), "loaded": (1.70, 0.0150)}
SAYS = {"loaded": "warm, loaded"}
FAILS, SLOW = ("loaded", 6), ("warm", 3)


def speed(t, begins, ramp, friction, fails):
    """Speed in r/min at a time after the command."""
    if fails:
        coast = max(t - DELAY, 0.0)
        return max(N_0 - friction / J * coast * 30 / math.pi, 0.0)
    return min(max(N_0 - N_REF / ramp * max(t - begins, 0.0), 0.0), N_0)


def main():
    folder = pathlib.Path(__file__).parent / "measured-stops"
    folder.mkdir(exist_ok=True)
    draw = random.Random(16)
    for name, (friction, begins) in CONDITIONS.items():
        lines = ["recorder R-12 (invented); carton wrapper, line 3 (invented)", f"condition;{SAYS.get(name, name)}", "", "t / ms;u / V;stop / V;torque / V"]
        clock = 0.0
        for number in range(10):
            fails = (name, number) == FAILS
            start = begins + draw.gauss(0, 0.0008) + (0.014 if (name, number) == SLOW else 0.0)
            ramp = T_RAMP * (1 + draw.gauss(0, 0.004))
            removed = DELAY + draw.gauss(0, 0.0007)
            phase = draw.uniform(0, STEP)
            end = 1.55 if fails else 0.66
            for k in range(-100, round(end / STEP)):
                t = k * STEP + phase
                n = speed(t, start, ramp, friction, fails)
                volts = n / VOLT + 0.02 + draw.gauss(0, 0.003)
                volts = round(volts * 3276.8) / 3276.8
                digital = lambda on: 24.0 + draw.gauss(0, 0.05) if on else 0.1 + draw.gauss(0, 0.05)
                lines.append(f"{(clock + (k + 100) * STEP) * 1000:.0f};{volts:.4f};{digital(t < 0):.1f};{digital(t < removed):.1f}")
            # the command is taken back before the next stop, which the recorder shows in one sample
            clock += 60.0
        (folder / f"{name}.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


def failing():
    """Ten stops of the cold machine with its ramp switched off: the speed is held until torque is removed."""
    draw = random.Random(17)
    lines = ["recorder R-12 (invented); carton wrapper, line 3 (invented)", "condition;cold", "", "t / ms;u / V;stop / V;torque / V"]
    for number in range(10):
        friction = CONDITIONS["cold"][0] * (1 + draw.gauss(0, 0.004))
        removed = DELAY + draw.gauss(0, 0.0007)
        phase = draw.uniform(0, 0.004)
        for k in range(-50, 370):
            t = k * 0.004 + phase
            volts = speed(t, 0.0, T_RAMP, friction, True) / VOLT + 0.02 + draw.gauss(0, 0.003)
            volts = round(volts * 3276.8) / 3276.8
            digital = lambda on: 24.0 + draw.gauss(0, 0.05) if on else 0.1 + draw.gauss(0, 0.05)
            lines.append(f"{number * 60000 + (k + 50) * 4};{volts:.4f};{digital(t < 0):.1f};{digital(t < removed):.1f}")
    folder = pathlib.Path(__file__).parent / "measured-stops"
    (folder / "cold-off.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


def coasting():
    """Ten stops of an invented saw without a ramp, samples every 4 ms."""
    draw = random.Random(12)
    lines = ["t / ms;n / (r/min);stop;torque"]
    for number in range(10):
        removed, friction = 0.020 + draw.gauss(0, 0.0004), 1.66 * (1 + draw.gauss(0, 0.003))
        phase = draw.uniform(0, 0.004)
        for k in range(-40, 300):
            t = k * 0.004 + phase
            n = max(N_0 - friction / J * max(t - removed, 0.0) * 30 / math.pi, 0.0) + draw.gauss(0, 0.5)
            lines.append(f"{number * 60000 + (k + 40) * 4};{n:.2f};{int(t < 0)};{int(t < removed)}")
    folder = pathlib.Path(__file__).parent / "measured-stops"
    (folder / "saw.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
    failing()
    coasting()
