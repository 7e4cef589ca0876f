"""A shaft followed in time, to hold the sheets of stops against.

Newton's law and energy only: J·dω/dt is the sum of the torques, friction and a brake oppose the motion, and a shaft at
rest stays at rest while they can hold what drives it. Nothing here is a formula of a sheet. Units are SI, angles rad.
"""

from dataclasses import dataclass
from math import inf

import numpy
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

HORIZON = 1e7  # s after the last event


@dataclass
class Shaft:
    """What turns, and what acts on it without drive and brake."""

    J: float
    T_0: float = 0.0  # Coulomb friction, opposes the motion
    b: float = 0.0
    c: float = 0.0
    T_load: float = 0.0  # constant, against the positive direction: plus slows a positive speed, minus drives it


@dataclass
class Brake:
    """Full torque, first torque at `start`, rising in a straight line for `build`."""

    T: float = 0.0
    start: float = inf
    build: float = 0.0

    def torque(self, t):
        if t < self.start:
            return 0.0
        if t >= self.start + self.build:
            return self.T
        return self.T * (t - self.start) / self.build

    def events(self):
        return [self.start, self.start + self.build]


@dataclass
class Both:
    """Two brakes at once."""

    one: Brake
    other: Brake

    def torque(self, t):
        return self.one.torque(t) + self.other.torque(t)

    def events(self):
        return sorted({*self.one.events(), *self.other.events()})


@dataclass
class Ramp:
    """A drive that holds `n_0`, then goes to standstill along a ramp whose ends are rounded by the share `f` each."""

    n_0: float
    start: float
    length: float
    f: float = 0.0

    def speed_and_rate(self, t):
        """Speed and its rate of change, by integrating a trapezium of deceleration."""
        x = (t - self.start) / self.length
        f, top = self.f, self.n_0 / (self.length * (1 - self.f))
        if x < 0:
            return self.n_0, 0.0
        if x > 1:
            return 0.0, 0.0
        if x < f:
            return self.n_0 - top * self.length * x * x / (2 * f), -top * x / f
        if x <= 1 - f:
            return self.n_0 - top * self.length * (f / 2 + x - f), -top
        left = 1 - x
        return top * self.length * left * left / (2 * f), -top * left / f

    def path(self, t):
        """The angle turned until a time, by Simpson's rule between the edges: exact for a speed of second order."""
        cuts = [0.0, *(edge for edge in self.edges() if 0 < edge < t), t]
        speed = lambda x: self.speed_and_rate(x)[0]
        return sum((b - a) / 6 * (speed(a) + 4 * speed((a + b) / 2) + speed(b)) for a, b in zip(cuts, cuts[1:]))

    def edges(self):
        return [self.start + self.length * x for x in (0, self.f, 1 - self.f, 1)]


@dataclass
class Course:
    """What came of it."""

    t: float  # of the last motion, inf: it never stands
    ahead: float  # largest angle in the positive direction, from the start
    back: float  # path turned in the negative direction
    path: float
    peak: float  # highest speed, whatever the direction
    heat: float  # work of the brake
    left: float  # speed when the drive let go


def follow(shaft, n_0, brake=Brake(), ramp=None, cut=0.0, floor=0.0):
    """The whole stop. With a ramp the drive imposes its speed until `cut`; then torque is gone."""
    t, w, ahead, back, heat = 0.0, n_0, 0.0, 0.0, 0.0
    peak, last = abs(n_0), 0.0
    if ramp is not None and cut > 0:
        marks = sorted({0.0, cut, *(edge for edge in ramp.edges() if 0 < edge < cut)})
        for a, z in zip(marks, marks[1:]):
            nodes, weights = numpy.polynomial.legendre.leggauss(8)
            at = (z - a) / 2 * nodes + (z + a) / 2
            ahead += (z - a) / 2 * sum(k * ramp.speed_and_rate(x)[0] for k, x in zip(weights, at))
        t, w = cut, ramp.speed_and_rate(cut)[0]
        last = min(cut, ramp.start + ramp.length)
        if ramp.start + ramp.length <= cut:
            w = 0.0
    left = w
    events = [e for e in brake.events() if e < inf]
    while True:
        T_b = brake.torque(t)
        coming = [e for e in events if e > t + 1e-15]
        end = coming[0] if coming else t + HORIZON
        if w == 0.0:
            if abs(shaft.T_load) <= shaft.T_0 + T_b:
                return Course(last, ahead, back, ahead + back, peak, heat, left)  # a brake only grows: it holds later too
            sign = -1.0 if shaft.T_load > 0 else 1.0
        else:
            sign = 1.0 if w > 0 else -1.0

        if not coming and shaft.T_0 + T_b + sign * shaft.T_load <= 0:
            return Course(inf, ahead, back, inf, peak, heat, left)  # near rest nothing slows it: it never gets there

        def rate(x, y, sign=sign):
            v = sign * y[0]  # smooth through standstill: a kink inside the last step would spoil it
            T_b = brake.torque(min(max(x, t), end * (1 - 1e-16)) if coming else x)
            drag = shaft.T_0 + T_b + shaft.b * v + shaft.c * v * v
            return [-(sign * drag + shaft.T_load) / shaft.J, v, T_b * v]

        start = [w, 0.0, 0.0]
        t_from = t
        if w == 0.0:
            # a step away from rest, so that leaving zero is not taken for reaching it
            step = min(1e-9, (end - t) / 10)
            v = rate(t, [0.0, 0, 0])[0] * step
            if v * sign <= 0:
                return Course(inf, ahead, back, inf, peak, heat, left)
            start, t_from = [v, v * sign * step / 2, 0.0], t + step

        def stands(x, y, sign=sign):
            return sign * y[0] - floor

        stands.terminal, stands.direction = True, -1

        def turns(x, y):
            return rate(x, y)[0]

        solved = solve_ivp(rate, (t_from, end), start, method="DOP853", rtol=1e-11, atol=1e-13, events=(stands, turns))
        peak = max(peak, float(numpy.max(numpy.abs(solved.y[0]))), *(abs(float(y[0])) for y in solved.y_events[1]))
        turned, worked = float(solved.y[1][-1]), float(solved.y[2][-1])
        ahead, back = (ahead + turned, back) if sign > 0 else (ahead, back + turned)
        heat += worked
        if solved.status == 1:
            t, w = float(solved.t[-1]), 0.0
            last = t
            if floor > 0:
                return Course(last, ahead, back, ahead + back, peak, heat, left)
        else:
            t, w = float(solved.t[-1]), float(solved.y[0][-1])
            last = t
            if not coming:
                return Course(inf, ahead, back, inf, peak, heat, left)


def fed_back(shaft, ramp, efficiency=1.0, taken=0.0, grid=400):
    """Energy and greatest power that a motor gives back along a whole ramp, what drives the ramp left out."""
    energy = peak = 0.0
    edges = ramp.edges()

    def power(t):
        w, rate = ramp.speed_and_rate(t)
        return efficiency * (-shaft.J * rate - shaft.T_load - shaft.T_0 - shaft.b * w - shaft.c * w * w) * w - taken

    for a, z in zip(edges, edges[1:]):
        if z - a <= 1e-12 * ramp.length:
            continue
        inset = 1e-13 * (z - a)
        at = numpy.linspace(a + inset, z - inset, grid + 1)
        values = [power(x) for x in at]
        peak = max(peak, max(values))
        best = int(numpy.argmax(values))
        fine = numpy.linspace(at[max(best - 1, 0)], at[min(best + 1, grid)], 201)
        peak = max(peak, max(power(x) for x in fine))
        marks = [at[0]]
        for i in range(grid):
            if values[i] * values[i + 1] < 0:
                marks.append(brentq(lambda x: power(x), at[i], at[i + 1]))
        marks.append(at[-1])
        nodes, weights = numpy.polynomial.legendre.leggauss(12)
        for one, two in zip(marks, marks[1:]):
            part = (two - one) / 2 * sum(k * power((two - one) / 2 * x + (two + one) / 2) for k, x in zip(weights, nodes))
            energy += max(part, 0.0)
    return energy, peak
