"""Loads of a machine by another road than the sheets: powers, virtual work and numerical integration.

    python3 load_torques.py > load_torques.csv
"""
import platform
import mpmath as mp
import scipy
from scipy.integrate import quad, solve_ivp

print(f"# tests/reference/load_torques.py with python {platform.python_version()}, scipy {scipy.__version__}, mpmath {mp.__version__}")
G = 9.80665
RPM = 2 * mp.pi / 60


def show(name, value):
    print(f"{name},{mp.nstr(mp.mpf(value), 15)}")


# bearings: heat of each bearing = µ·F·(speed of the bore's surface), summed, over the speed
w = 290 * RPM
heat = 0.0018 * 1800 * (w * 0.040 / 2) + 0.0018 * 1200 * (w * 0.035 / 2) + 0.08 * w
show("bearing.T_shaft", heat / w)
show("bearing.P_loss", heat)
show("bearing.T_stop", heat * mp.mpf("0.9") / (5 * w))          # what reaches the motor of that power

# guide: virtual work over one turn of the screw, friction force by the energy lost on 1 m
work_m = 0.08 * (120 * G + 400) + 4 * 12
show("guide.F_f", work_m)
show("guide.T_stop", work_m * mp.mpf("0.020") * mp.mpf("0.8") / (2 * mp.pi))
sol = solve_ivp(lambda t, y: [y[1], -float(work_m) / 120], [0, 5], [0, 0.5], rtol=1e-12, atol=1e-14,
                events=lambda t, y: y[1], dense_output=True)
show("guide.s_f", sol.y_events[0][0][0])

# slope: change of potential energy over 1 mm of travel by finite difference
alpha = mp.radians(30)
def height(s): return s * mp.sin(alpha)
down = 80 * G * (height(mp.mpf("0.001")) - height(0)) / mp.mpf("0.001")
across = mp.sqrt((80 * G) ** 2 - down ** 2)
show("slope.F_down", down)
show("slope.up.F_stop", mp.mpf("0.01") * across + down)
show("slope.up.T_load", (mp.mpf("0.01") * across + down) * mp.mpf("0.020") / (2 * mp.pi))
show("slope.down.F_stop", mp.mpf("0.01") * across - down)
show("slope.F_rest", down - mp.mpf("0.2") * across)

# hoist: powers at 1450 r/min; inertia from the kinetic energy of what travels
w = 1450 * RPM
v = w / 30 * mp.mpf("0.15") / 2                                   # two rope parts
net = (600 + 40 - 200) * G * v
show("hoist.v", v)
show("hoist.T_raise", net / mp.mpf("0.9") / w)
show("hoist.T_lower", net * mp.mpf("0.89") / w)
show("hoist.J", (600 + 40 + 200) * v ** 2 / w ** 2)
net = (100 + 40 - 200) * G * v
show("hoist.empty.T_raise", net * mp.mpf("0.89") / w)
show("hoist.empty.T_lower", net / mp.mpf("0.9") / w)

# unbalance: pendulum let go at the top without friction; torque by finite difference of the height
m, e, J = 12, 0.110, 0.32
show("unbalance.T_max", m * G * e)
energy = quad(lambda a: m * G * e * mp.sin(a), 0, float(mp.pi), epsabs=0, epsrel=1e-13)[0]
show("unbalance.E_half", m * G * (2 * e))
show("unbalance.E_half_by_quadrature", energy)
show("unbalance.n_over_rpm", mp.sqrt(2 * m * G * 2 * e / J) / RPM)
show("unbalance.phi_0_deg", mp.degrees(mp.findroot(lambda a: m * G * e * mp.sin(a) - 2.5, 0.2)))

# conveyor: power balance
r = mp.mpf("0.080") / 14
d = mp.radians(8)
pull = mp.mpf("0.03") * G * 225 * mp.cos(d) + 180 * G * mp.sin(d)
show("conveyor.F", pull)
show("conveyor.T_run", pull * r / mp.mpf("0.92"))
show("conveyor.T_load", pull * r * mp.mpf("0.91"))
show("conveyor.J", 225 * r ** 2)
show("conveyor.a_goods", G * mp.mpf("0.3") * mp.cos(d) + G * mp.sin(d))
show("conveyor.t_least", w * r / (G * mp.mpf("0.3") * mp.cos(d) + G * mp.sin(d)))
d = mp.radians(-12)
pull = mp.mpf("0.03") * G * 225 * mp.cos(d) + 180 * G * mp.sin(d)
show("conveyor.down.F", pull)
show("conveyor.down.T_run", pull * r * mp.mpf("0.91"))

# fan: differential equation in time
def run_down(J, T, w0, w1=0.0):
    stop = lambda t, y: y[0] - w1
    stop.terminal = True
    sol = solve_ivp(lambda t, y: [-T(y[0]) / J, y[0]], [0, 1e5], [w0, 0], rtol=1e-12, atol=1e-12,
                    method="DOP853", events=stop)
    return sol.t_events[0][0], sol.y_events[0][0][1]


n1 = float(1450 * RPM)
c = 3800 / n1 ** 3
t, phi = run_down(0.9, lambda w: 0.6 + c * w * w, float(1200 * RPM))
show("fan.c", c)
show("fan.t_stop", t)
show("fan.phi_stop_r", phi / (2 * mp.pi))
show("fan.P_n", 3800 * mp.mpf(1200) ** 3 / mp.mpf(1450) ** 3)     # third power of the speed

# mixer: table by hand, differential equation in time
rows = [(0, 12), (250, 10.4), (750, 9.5), (1500, 9)]
def table(w):
    n = max(0.0, w / float(RPM))
    for (a, p), (b, q) in zip(rows, rows[1:]):
        if n <= b:
            return p + (q - p) * (n - a) / (b - a)
    raise ValueError(n)


total_t = total_phi = 0
for high, low in ((1200, 750), (750, 250), (250, 0)):              # piece by piece: the table has corners
    t, phi = run_down(0.4, lambda w: 1.6 + table(w), float(high * RPM), float(low * RPM))
    total_t, total_phi = total_t + t, total_phi + phi
show("mixer.t_stop", total_t)
show("mixer.phi_stop_r", total_phi / (2 * mp.pi))
show("mixer.T_n", table(float(1200 * RPM)))
