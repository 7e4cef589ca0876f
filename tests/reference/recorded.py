"""Run-downs fitted by scipy and numpy, for src/recording: the samples themselves, then what is found in them.

Three run-downs with noise made by a plain generator (the same numbers everywhere): constant friction; friction that
grows with the speed, solved in closed form; all three terms, solved by scipy's solve_ivp. Of each

    lstsq      numpy.linalg.lstsq on the integrated equation, with standard errors from (XᵀX)⁻¹
    curve_fit  scipy.optimize.curve_fit on the solved equation itself (first two)
    t          scipy.stats.t.ppf(0.975, f)
"""

import math

import numpy
import scipy
from scipy.integrate import solve_ivp
from scipy.optimize import curve_fit
from scipy.stats import t as student


def noise(count, seed):
    """Twelve uniform numbers summed, from a linear congruential generator: nearly normal, with variance 1."""
    state, found = seed, []
    for _ in range(count):
        total = 0.0
        for _ in range(12):
            state = (1103515245 * state + 12345) % 2**31
            total += state / 2**31
        found.append(total - 6.0)
    return numpy.array(found)


def main():
    print(f"# numpy {numpy.__version__}, scipy {scipy.__version__}")
    for freedom in [1, 2, 3, 5, 8, 9, 20, 100, 1000]:
        print(f"t,{freedom},{student.ppf(0.975, freedom):.12g}")
    t = numpy.arange(0, 0.8, 0.004)
    a, b, c, w0, sigma = 160.0, 0.35, 0.0021, 150.0, 0.2
    three = solve_ivp(lambda _, w: -(a + b * w + c * w * w), (0, 1), [w0], t_eval=t, rtol=1e-12, atol=1e-12).y[0]
    truth = {
        "constant": w0 - a * t,
        "speed": (w0 + a / 1.2) * numpy.exp(-1.2 * t) - a / 1.2,
        "square": three,
    }
    models = {
        "constant": lambda t, w0, a: w0 - a * t,
        "speed": lambda t, w0, a, b: (w0 + a / b) * numpy.exp(-b * t) - a / b,
    }
    guesses = {"constant": (140, 100), "speed": (140, 100, 1)}
    for number, (name, clean) in enumerate(truth.items()):
        w = numpy.array([round(x, 4) for x in clean + sigma * noise(len(t), 7 + number)])
        for moment, speed in zip(t, w):
            print(f"sample,{name},{moment:.3f},{speed:.4f}")
        steps = numpy.diff(t)
        turned = numpy.concatenate([[0], numpy.cumsum(steps * (w[1:] + w[:-1]) / 2)])
        squared = numpy.concatenate([[0], numpy.cumsum(steps * (w[1:] ** 2 + w[:-1] ** 2) / 2)]) - sigma**2 * t
        columns = numpy.stack([numpy.ones_like(t), -t, -turned, -squared], axis=1)
        for terms in (1, 2, 3):
            x = columns[:, : terms + 1]
            found, *_ = numpy.linalg.lstsq(x, w, rcond=None)
            rest = w - x @ found
            variance = rest @ rest / (len(t) - terms - 1)
            # standard errors by the triangle of QR: XᵀX itself would lose half of the digits
            inverse = numpy.linalg.inv(numpy.linalg.qr(x)[1])
            errors = numpy.sqrt(variance * (inverse**2).sum(axis=1))
            for at, (value, error) in enumerate(zip(found, errors)):
                print(f"lstsq,{name},{terms},{at},{value:.12g},{error:.12g}")
        if name in models:
            found, covariance = curve_fit(models[name], t, w, p0=guesses[name])
            for at, (value, error) in enumerate(zip(found, numpy.sqrt(numpy.diag(covariance)))):
                # an iteration ends where it ends: eight digits
                print(f"curve_fit,{name},{at},{value:.8g},{error:.4g}")


if __name__ == "__main__":
    main()
