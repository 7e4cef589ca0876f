"""Random inputs of the simulations: values over decades, edges and signs, and what must come of them."""

from math import pi

G = 9.80665
RPM = pi / 30
NEAR = 2e-7  # of the value; the simulation's own error is below it


def some(r, low, high, zero=0.15):
    """A positive value over some decades, sometimes nought, to six digits."""
    if zero and r.random() < zero:
        return 0.0
    return float(f"{low * (high / low) ** r.random():.6g}")


def signed(r, low, high, zero=0.2):
    return r.choice((-1, 1)) * some(r, low, high, zero)


def ms(x):
    return float(f"{x:.6g}")


class Case:
    """Columns as the sheet has them; `truth` maps a result to (value, side), or is None where nothing may be given."""

    def __init__(self, inputs, truth, never=False):
        self.inputs, self.truth, self.never = inputs, truth, never
        # what only just stands, or never quite does, may be refused
        holds = [inputs[name + " / N·m"] for name in ("T_0", "T_f", "T_b") if name + " / N·m" in inputs]
        held = sum(holds)
        self.brink = holds != [] and abs(abs(inputs.get("T_load / N·m", 0.0)) - held) <= 1e-9 * held
        # distances are not given for stops of minutes: T is at most 500 s
        if "S_there / mm" in inputs:
            self.brink = self.brink or any(value > 400 for name, (value, _) in truth.items() if name.startswith("t_"))
