"""Torque of friction brakes by adding up the friction over the rubbing surface.

    python3 brake_geometry.py > brake_geometry.csv
"""
import platform
import mpmath as mp

print(f"# tests/reference/brake_geometry.py with python {platform.python_version()}, mpmath {mp.__version__}")
mp.mp.dps = 30


def show(name, value):
    print(f"{name},{mp.nstr(mp.mpf(value), 15)}")


# disc: pressure p(r) integrated over rings, scaled to the axial force
def disc(p, r_i, r_o, mu, F, faces):
    force = mp.quad(lambda r: p(r) * 2 * mp.pi * r, [r_i, r_o])
    torque = mp.quad(lambda r: mu * p(r) * 2 * mp.pi * r * r, [r_i, r_o])
    return torque / force * F * faces, p(r_i) / force * F


T, p = disc(lambda r: 1 / r, mp.mpf("0.04"), mp.mpf("0.06"), mp.mpf("0.35"), 900, 2)
show("disc.wear.T", T); show("disc.wear.p_MPa", p / 1e6)
T, p = disc(lambda r: mp.mpf(1), mp.mpf("0.04"), mp.mpf("0.06"), mp.mpf("0.35"), 900, 2)
show("disc.pressure.T", T); show("disc.pressure.p_MPa", p / 1e6)

# cone: the same over the face, the axial force from the normal pressure
al = mp.radians(20)
w, rm = mp.mpf("0.018"), mp.mpf("0.070")
face = [-w / 2, w / 2]
r = lambda x: rm + x * mp.sin(al)
force = mp.quad(lambda x: 2 * mp.pi * rm * mp.sin(al), face)          # mean pressure 1 on the mean circumference
torque = mp.quad(lambda x: mp.mpf("0.3") * 2 * mp.pi * rm * rm, face)
show("cone.T", torque / force * 600)
show("cone.p_MPa", 600 / force / 1e6)
normal = 600 / mp.sin(al)
show("cone.F_in", normal * (mp.sin(al) + mp.mpf("0.3") * mp.cos(al)))
show("cone.F_out", normal * (mp.mpf("0.3") * mp.cos(al) - mp.sin(al)))

# band: dF = µ·F·dφ stepped round the drum by an ordinary differential equation
pull = mp.odefun(lambda phi, F: mp.mpf("0.3") * F, 0, mp.mpf(1200))(mp.radians(270))
show("band.F_1", pull); show("band.T", (pull - 1200) * mp.mpf("0.2"))
slack = mp.odefun(lambda phi, F: -mp.mpf("0.3") * F, 0, mp.mpf(1200))(mp.radians(270))
show("band.T_reverse", (1200 - slack) * mp.mpf("0.2"))

# blocks: equilibrium of one block after the other, radial and tangential
F, th, mu = mp.mpf(1), mp.radians(mp.mpf("7.5")), mp.mpf("0.25")
for _ in range(12):
    # unknown next pull X and normal force N: (X − F)·cos θ = µ·N, (X + F)·sin θ = N
    A = mp.matrix([[mp.cos(th), -mu], [mp.sin(th), -1]])
    b = mp.matrix([F * mp.cos(th), -F * mp.sin(th)])
    F = mp.lu_solve(A, b)[0]
show("blocks.k", F)
slack = mp.mpf(150) * mp.mpf("0.6") / (mp.mpf("0.1") - F * mp.mpf("0.02"))
show("blocks.F_2", slack); show("blocks.T", (F - 1) * slack * mp.mpf("0.25"))
show("blocks.k_band", mp.e ** (mu * mp.radians(180)))

# short shoe: moments about the pivot and the law of friction, two equations
for name, sign in (("leading", 1), ("trailing", -1)):
    A = mp.matrix([[mp.mpf("0.25"), -sign * mp.mpf("0.05")], [mp.mpf("0.3"), -1]])
    b = mp.matrix([400 * mp.mpf("0.6"), 0])
    N, R = mp.lu_solve(A, b)
    show(f"shoe.{name}.N", N); show(f"shoe.{name}.T", R * mp.mpf("0.15"))

# torque of a stop with a driving load, and the time with the torque asked for
w0, J = 1450 * 2 * mp.pi / 60, mp.mpf("0.0101")
T = J * w0 / mp.mpf("0.15") - mp.mpf("1.6") + 3
show("torque.T_dyn", T); show("torque.T_need", T * mp.mpf("1.5") / mp.mpf("0.8"))
show("torque.E_b", J * w0 * w0 / 2 + 3 * w0 * mp.mpf("0.15") / 2)  # all of it, nothing left to friction
show("torque.t_real", J * w0 / (T * mp.mpf("1.5") + mp.mpf("1.6") - 3))

# spring-set brake
early = mp.mpf("1.2") * mp.mpf("0.150") - mp.mpf("0.070") / mp.mpf("1.2")
show("release.t_early_ms", early * 1000)
show("release.early_ac_ms", (mp.mpf("1.2") * mp.mpf("0.050") - mp.mpf("0.070") / mp.mpf("1.2")) * 1000)
show("release.n_sag", mp.mpf("2.5") * early / mp.mpf("0.0022") * 30 / mp.pi)
show("release.phi_sag_deg", mp.degrees(mp.quad(lambda t: mp.mpf("2.5") * t / mp.mpf("0.0022"), [0, early])))

# holding test: work over one turn
show("hold.T_load", 80 * mp.mpf("9.80665") * mp.mpf("0.020") / (2 * mp.pi))

# wear: volume of one stop after the other
show("wear.s_stop_um", mp.mpf(30) / 1e6 * 400 / 4000 * 1000)
show("wear.years", mp.mpf("1.5") * 4000 / (mp.mpf(30) / 1e6 * 400) / (60 * 4000))
