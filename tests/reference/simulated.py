"""Sheets of stops held against a shaft followed in time, on random sets over all that their ranges allow.

    python simulated.py STANDSTILL [--sets 300] [--seed N] [SHEET …]

A figure that protects (a time, an angle, an energy) may be above the simulated one where its sheet says that it is a
bound, and never below it; a machine that never stands must have no figure. Exit code 1: a figure is on the unsafe side.
"""

import argparse
import csv
import json
import random
import re
import subprocess
import sys
import tempfile
from math import isfinite, pi, radians
from pathlib import Path

import simulated_heat
import simulated_loads
import simulated_swing
import simulated_windings
from drawn import G, NEAR, RPM, Case, ms, signed, some
from simulate import Brake, Ramp, Shaft, fed_back, follow

def braked(r, drive_more=True):
    J, n = some(r, 1e-4, 10, 0), some(r, 1, 6000)
    scale = J * 100
    T_f, T_b = some(r, scale / 30, scale * 3), some(r, scale / 10, scale * 10)
    T_load = signed(r, scale / 30, scale * 5)
    return J, n, float(f"{T_f:.6g}"), float(f"{T_b:.6g}"), float(f"{T_load:.6g}")


def run_down(r):
    J, n, T_0, _, T_load = braked(r)
    b, c = some(r, J / 100, J * 3, 0.5), some(r, J / 1e4, J / 30, 0.5)
    course = follow(Shaft(J, T_0, b, c, T_load), n * RPM)
    return Case(
        {"J / kg·m²": J, "n_0 / r/min": n, "T_0 / N·m": T_0, "b / N·m·s/rad": b, "c / N·m·s²/rad²": c, "T_load / N·m": T_load},
        {"t_stop / s": (course.t, "equal"), "phi_stop / rad": (course.path, "equal")},
        never=not isfinite(course.t),
    )


def mechanical_brake_stop(r, bears={"n_max / r/min": 1e9, "E_max / J": 1e15}):
    J, n, T_f, T_b, T_load = braked(r)
    t, build = some(r, 1, 2000), some(r, 1, 1000)
    course = follow(Shaft(J, T_f, T_load=T_load), n * RPM, Brake(T_b, t / 1e3, build / 1e3))
    # a brake that is stronger and quicker than typed, where the load does not turn the machine back
    better = follow(Shaft(J, T_f, T_load=T_load), n * RPM, Brake(T_b * (1 + 5 * r.random()), t / 1e3 * r.random(), build / 1e3 * r.random()))
    hot = better.heat if T_load <= T_f else 0.0
    return Case(
        {"J / kg·m²": J, "n_0 / r/min": n, "t_resp / ms": t, "t_build / ms": build, "T_f / N·m": T_f, "T_b / N·m": T_b, "T_load / N·m": T_load, **bears},
        {"t_stop / s": (course.t, "equal"), "phi_on / rad": (course.ahead, "equal"), "phi_back / rad": (course.back, "equal"),
         "n_peak / rad/s": (course.peak, "equal"), "E_b / J": (course.heat, "equal"), "E_most / J": (max(course.heat, hot), "above")},
        never=not isfinite(course.t),
    )


def brake_course(r):
    return mechanical_brake_stop(r, {})


def vertical_drop(r):
    m, lead, J = some(r, 1, 1000, 0), some(r, 1, 200, 0), some(r, 1e-5, 0.1)
    F_bal, F_f = m * G * r.choice((0, 0, r.random(), r.random() * 2, 1)), m * G * r.choice((0, r.random() / 5, r.random()))
    F_bal, F_f = ms(F_bal), ms(F_f)
    k = lead / 1e3 / (2 * pi)
    T_b, v = ms(m * G * k * r.choice((0.5, 1, 2, 4)) * (0.5 + r.random())), min(some(r, 0.01, 3), ms(1.6 * lead))  # below 100 000 r/min
    t, build = some(r, 1, 500), some(r, 1, 300)
    m_bal = r.choice((0, ms(F_bal / G))) if F_bal else 0
    whole = J + (m + m_bal) * k * k
    brake = Brake(T_b, t / 1e3, build / 1e3)
    down, up = (follow(Shaft(whole, F_f * k, T_load=sign * (m * G - F_bal) * k), v / k, brake) for sign in (-1, 1))
    return Case(
        {"m / kg": m, "F_bal / N": F_bal, "m_bal / kg": m_bal, "F_f / N": F_f, "J_rot / kg·m²": J, "lead / mm/r": lead, "v_0 / m/s": v, "t_resp / ms": t,
         "t_build / ms": build, "T_b / N·m": T_b, "s_max / mm": 1e6},
        {"s_drop / m": (max(down.ahead, up.back) * k, "equal"), "s_rise / m": (max(down.back, up.ahead) * k, "equal"),
         "v_peak / m/s": (max(down.peak, up.peak) * k, "equal"), "t_stop / s": (max(down.t, up.t), "equal")},
        never=not isfinite(max(down.t, up.t)),
    )


def emergency_or_normal(r):
    J, n, T_f, T_b, T_load = braked(r)
    n = n or 100.0
    t, build, ramp, category = some(r, 1, 1000), some(r, 1, 500), some(r, 0.05, 10, 0), r.choice(("0", "1"))
    shaft, more, heat = Shaft(J, T_f, T_load=T_load), 1 + 2 * r.random(), 0.0
    if category == "0":
        course = follow(shaft, n * RPM, Brake(T_b, t / 1e3, build / 1e3))
        # a brake that is stronger and quicker than the least, where the load does not turn the machine back
        better = follow(shaft, n * RPM, Brake(T_b * (1 + (more - 1) * r.random()), t / 1e3 * r.random(), build / 1e3 * r.random()))
        heat = max(course.heat, better.heat if T_load <= T_f else 0.0)
    else:
        end = t / 1e3 + ramp
        course = follow(shaft, n * RPM, Brake(T_b, end, 0), Ramp(n * RPM, t / 1e3, ramp), end)
    return Case(
        {"J / kg·m²": J, "n_0 / r/min": n, "T_f / N·m": T_f, "category": category, "T_b / N·m": T_b, "T_b_most / N·m": T_b * more,
         "T_load / N·m": T_load, "t_resp_n / ms": 10, "t_ramp_n / s": 10, "t_resp_e / ms": t, "t_build_e / ms": build, "t_ramp_e / s": ramp, "n_max / r/min": 1e9,
         "T_max / N·m": 1e5, "T_gear / N·m": 1e6},
        {"t_e / s": (course.t, "equal"), "phi_e / rad": (course.path, "equal"), "n_peak / rad/s": (course.peak, "equal"),
         # by a ramp the drive may have to drive, which is below zero
         "E_e / J": (heat if category == "0" else -1e12, "above")},
        never=not isfinite(course.t),
    )


def worst_removal(shaft, n, ramp, early, late, brake=None):
    """The longest time and angle over removals between two moments, twenty of them and both ends."""
    t = phi = left = 0.0
    for i in range(21):
        cut = early + (late - early) * i / 20
        closing = Brake(brake.T, cut + brake.start, brake.build) if brake else Brake()
        course = follow(shaft, n, closing, ramp, cut)
        t, phi, left = max(t, course.t), max(phi, course.path), max(left, course.left)
    return t, phi, left


def ramp_cut(r):
    J, n, T_0, _, T_load = braked(r)
    n, c = n or 50.0, some(r, J / 1e4, J / 30, 0.5)
    dead, ramp = some(r, 1, 300), some(r, 0.05, 10, 0)
    cut = ms(ramp * 1.3 * r.random())
    late = ms(cut + ramp * r.choice((0, 0.05, 0.5)) * r.random())
    late = max(late, cut)
    shaft = Shaft(J, T_0, c=c, T_load=T_load)
    t, phi, left = worst_removal(shaft, n * RPM, Ramp(n * RPM, dead / 1e3, ramp), cut, late)
    fails = follow(shaft, n * RPM)
    return Case(
        {"n_0 / r/min": n, "t_dead / ms": dead, "t_ramp / s": ramp, "t_cut / s": cut, "t_late / s": late, "J / kg·m²": J,
         "T_0 / N·m": T_0, "c / N·m·s²/rad²": c, "T_load / N·m": T_load},
        {"t_stop / s": (t, "above"), "phi_stop / rad": (phi, "above"), "n_left / rad/s": (left, "equal"),
         "t_fails / s": (late + fails.t, "equal"), "phi_fails / rad": (n * RPM * late + fails.path, "equal")},
        never=not isfinite(t) or not isfinite(fails.t),
    )


def ss1(r):
    J, n, T_0, T_b, T_load = braked(r)
    n = n or 50.0
    ramp, f = some(r, 0.05, 10, 0), r.choice((0, 0.1, 0.25, 0.5, round(r.random() / 2, 3)))
    tol_ramp, tol_delay, resp = r.choice((0, 5, 20)), r.choice((0, 2, 10)), some(r, 1, 300)
    return J, n, T_0, T_b, T_load, ramp, f, tol_ramp, tol_delay, resp


def ramp_then_release(r):
    J, n, T_0, _, T_load, ramp, f, tol_ramp, tol_delay, resp = ss1(r)
    b, c = some(r, J / 100, J * 3, 0.6), some(r, J / 1e4, J / 30, 0.6)
    need = (resp / 1e3 + ramp * (1 + tol_ramp / 100)) / (1 - tol_delay / 100)
    delay = ms(1000 * need * r.choice((1.0001, 1.05, r.random(), r.random() * 1.3)) + 0.001)
    shaft = Shaft(J, T_0, b, c, T_load)
    early, late = delay / 1e3 * (1 - tol_delay / 100), delay / 1e3 * (1 + tol_delay / 100)
    t, phi, left = worst_removal(shaft, n * RPM, Ramp(n * RPM, resp / 1e3, ramp * (1 + tol_ramp / 100), f), early, late)
    fails = follow(shaft, n * RPM)
    return Case(
        {"n_0 / r/min": n, "J_ref / kg·m²": J, "T_0 / N·m": T_0, "b / N·m·s/rad": b, "c / N·m·s²/rad²": c, "T_load / N·m": T_load,
         "lead / mm/r": 0, "t_ramp / s": ramp, "f / %": ms(f * 100), "n_ref / r/min": n, "tol_ramp / %": tol_ramp, "t_resp / ms": resp,
         "tol_delay / %": tol_delay, "t_delay_used / ms": delay, "t_ramp_step / s": 1e-9, "t_ramp_low / s": 1e-9, "t_ramp_high / s": 1e4,
         "t_delay_step / ms": 1e-9, "t_delay_low / ms": 0, "t_delay_high / ms": 1e9},
        {"t_ramp_works / s": (t, "above"), "phi_ramp_works / rad": (phi, "above"), "n_left / rad/s": (left, "above"),
         "t_ramp_fails / s": (late + fails.t, "equal"), "phi_ramp_fails / rad": (n * RPM * late + fails.path, "equal")},
        never=not isfinite(t) or not isfinite(fails.t),
    )


def ss1_brake(r):
    J, n, T_0, T_b, T_load, ramp, f, tol_ramp, tol_delay, resp = ss1(r)
    t_b, build = some(r, 1, 500), some(r, 1, 300)
    delay = ms(1000 * (resp / 1e3 + ramp * (1 + tol_ramp / 100)) / (1 - tol_delay / 100) * r.choice((1.00001, 1.1, 2)) + 0.001)
    late = delay / 1e3 * (1 + tol_delay / 100)
    shaft, brake = Shaft(J, T_0, T_load=T_load), Brake(T_b, t_b / 1e3, build / 1e3)
    works = worst_removal(shaft, n * RPM, Ramp(n * RPM, resp / 1e3, ramp * (1 + tol_ramp / 100), f), delay / 1e3 * (1 - tol_delay / 100), late, brake)
    fails = follow(shaft, n * RPM, brake)
    closes = r.choice(("delay", "loss"))
    lost = fails if closes == "loss" else follow(shaft, n * RPM, Brake(T_b, late + brake.start, brake.build))
    hot = follow(shaft, n * RPM, Brake(T_b * (1 + 5 * r.random()), brake.start if closes == "loss" else late + brake.start, 0.0)).heat if T_load <= T_0 else 0.0
    return Case(
        {"J / kg·m²": J, "n_0 / r/min": n, "T_0 / N·m": T_0, "T_b / N·m": T_b, "T_load / N·m": T_load, "lead / mm/r": 0, "t_resp / ms": resp,
         "t_ramp / s": ramp, "tol_ramp / %": tol_ramp, "f / %": ms(f * 100), "T_max / N·m": 1e6, "n_rated / r/min": 1e5, "n_break / r/min": 1e5,
         "tol_delay / %": tol_delay, "t_delay / ms": delay, "t_b / ms": t_b, "t_b_build / ms": build, "closes": closes, "n_max / r/min": 1e9, "E_max / J": 1e15},
        {"t_works / s": (works[0], "above"), "phi_works / rad": (works[1], "above"), "t_fails / s": (late + fails.t, "equal"),
         "phi_fails / rad": (n * RPM * late + fails.path, "equal"), "t_lost / s": (lost.t, "equal"), "phi_lost / rad": (lost.path, "equal"),
         "n_peak / rad/s": (max(fails.peak, lost.peak), "above"), "E_b / J": (max(fails.heat, lost.heat, hot), "above")},
        never=not all(isfinite(x) for x in (works[0], fails.t, lost.t)),
    )


def axis_stop(r):
    """What is typed are the least friction and brake and the longest times; what runs is anything better than that."""
    J, n, T_0, T_b, T_load, ramp, f, tol_ramp, tol_delay, resp = ss1(r)
    t_b, build, T_load = some(r, 1, 500), some(r, 1, 300), abs(T_load)
    closes, stands_on = r.choice(("delay", "loss")), r.choice(("fails", "monitored"))
    t_mon, n_band, T_fault, tripped = some(r, 1, 300), some(r, 1, n), some(r, J, J * 1000), 0.0
    fault = [0.0] * 3
    need = (resp / 1e3 + ramp * (1 + tol_ramp / 100)) / (1 - tol_delay / 100)
    delay = ms(1000 * need * r.choice((1.00001, 1.1, 2)) + 0.001)
    early, late = delay / 1e3 * (1 - tol_delay / 100), delay / 1e3 * (1 + tol_delay / 100)
    w, t, phi, peak, heat = n * RPM, [0.0] * 3, [0.0] * 3, n * RPM, 0.0
    held = T_load < T_0 + T_b
    for better in (False, True, True):
        if not held:
            break
        more = (lambda x: x * (1 + r.random() * r.choice((0, 1, 5)))) if better else (lambda x: x)
        less = (lambda x: x * r.random()) if better else (lambda x: x)
        way = r.choice((-1, 1)) if better else -1
        shaft = Shaft(J, more(T_0), *((some(r, J / 100, J * 3), some(r, J / 1e4, J / 30)) if better else (0, 0)), way * T_load)
        brake, wait = Brake(more(T_b), less(t_b / 1e3), less(build / 1e3)), less(resp / 1e3)
        real = ramp * (1 + tol_ramp / 100 * (r.choice((-1, 1)) * r.random() if better else 1))
        works = worst_removal(shaft, w, Ramp(w, wait, real, f), early, late, brake)
        fails = follow(shaft, w, brake)
        lost = fails if closes == "loss" else follow(shaft, w, Brake(brake.T, late + brake.start, brake.build))
        for i, (one, angle) in enumerate(((works[0], works[1]), (late + fails.t, w * late + fails.path), (lost.t, lost.path))):
            t[i], phi[i] = max(t[i], one), max(phi[i], angle)
        # the ramp is left somewhere on its way or after it: the monitor, or at the latest the delay, removes torque and closes the brake
        slope = Ramp(w, wait, real, f)
        for left in (wait, wait + real * r.random(), wait + real * r.random(), wait + real, late - t_mon / 1e3 * r.random(), late):
            left = min(max(left, wait), late)
            gone = min(left + less(t_mon / 1e3), late)
            band = less(n_band * RPM)
            start = slope.speed_and_rate(left)[0] + band
            fast = start + max(less(T_fault) + T_load - shaft.T_0, 0) / J * (gone - left)
            stop = follow(shaft, fast, brake)
            tripped = max(tripped, works[0], gone + stop.t)
            fault = [max(*pair) for pair in zip(fault, (slope.path(left) + band * left + (start + fast) / 2 * (gone - left) + stop.path, stop.peak, stop.heat))]
        peak, heat = max(peak, fails.peak, lost.peak), max(heat, fails.heat, lost.heat)
    E, P = fed_back(Shaft(J, T_load=-T_load), Ramp(w, 0.0, ramp * (1 - tol_ramp / 100), f)) if held else (0, 0)
    counts = tripped if stands_on == "monitored" else max(t[1:]) if closes == "delay" else t[1]
    if stands_on == "monitored":
        phi, peak, heat = [*phi, fault[0]], max(peak, fault[1]), max(heat, fault[2])
    lead, towards = 20.0, r.choice(("yes", "no"))
    own = max(phi) / (2 * pi) * lead if towards == "yes" else 0
    return Case(
        {"J / kg·m²": J, "n_0 / r/min": n, "T_0 / N·m": T_0, "T_load / N·m": -T_load, "towards": towards, "stands_on": stands_on, "t_mon / ms": t_mon, "n_band / r/min": n_band, "T_fault / N·m": T_fault, "lead / mm/r": lead, "T_b / N·m": T_b, "t_b / ms": t_b,
         "n_max / r/min": 1e9, "E_max / J": 1e15, "t_b_build / ms": build, "closes": closes, "t_ramp / s": ramp, "f / %": ms(f * 100), "T_max / N·m": 1e6, "n_rated / r/min": 1e5,
         "n_break / r/min": 1e5, "n_ref / r/min": n, "tol_ramp / %": tol_ramp, "t_resp / ms": resp, "tol_delay / %": tol_delay,
         "t_delay_used / ms": delay, "t_ramp_step / s": 1e-9, "t_ramp_low / s": 1e-9, "t_ramp_high / s": 1e4, "t_delay_step / ms": 1e-9,
         "t_delay_low / ms": 0, "t_delay_high / ms": 1e9, "C_link / µF": 470, "U_0 / V": 565, "U_chop / V": 780, "U_trip / V": 820,
         "chopper": "yes", "I_max / A": 1e6, "R_min / Ω": 0, "t_cycle / s": 1e5, "t_sensor / ms": 0, "t_logic / ms": 0, "t_network / ms": 0,
         "t_drive / ms": 0, "device": "beam", "edition": "2010", "d / mm": 14, "Z / mm": 0, "C_own / mm": 0, "shape": "slot", "e / mm": 0,
         "tol_unlock / %": 5, "t_unlock_step / s": 0.1, "t_unlock_low / s": 0, "t_unlock_high / s": 1e6, "t_wear / s": 0, "S_there / mm": 1e9},
        {"t_fails / s": (t[1], "above"), "t_works / s": (t[0], "above"), "t_lost / s": (t[2], "above"),
         "s_works / mm": (phi[0] / (2 * pi) * lead, "above"), "s_fails / mm": (phi[1] / (2 * pi) * lead, "above"), "s_lost / mm": (phi[2] / (2 * pi) * lead, "above"),
         "n_peak / rad/s": (peak, "above"), "E_b / J": (heat, "above"), "E / J": (E + T_load * w * resp / 1e3 * held, "above"), "P_peak / W": (P, "above"),
         "S / mm": (1600 * counts + 1200 + own, "above")},
        never=not held,
    )


def safe_stop(r):
    J, n, T_0, _, T_load, ramp, f, tol_ramp, tol_delay, resp = ss1(r)
    b, c = some(r, J / 100, J, 0.7), some(r, J / 1e4, J / 30, 0.7)
    need = (resp / 1e3 + ramp * (1 + tol_ramp / 100)) / (1 - tol_delay / 100)
    delay = ms(1000 * need * r.choice((1.0001, 1.05, r.random(), r.random() * 1.3)) + 0.001)
    early, late = delay / 1e3 * (1 - tol_delay / 100), delay / 1e3 * (1 + tol_delay / 100)
    shaft = Shaft(J, T_0, b, c, T_load)
    works = worst_removal(shaft, n * RPM, Ramp(n * RPM, resp / 1e3, ramp * (1 + tol_ramp / 100), f), early, late)
    fails = follow(shaft, n * RPM)
    E, P = fed_back(shaft, Ramp(n * RPM, 0.0, ramp * (1 - tol_ramp / 100), f))
    return Case(
        {"J_load / kg·m²": J, "i": 1, "J_motor / kg·m²": 0, "J_brake / kg·m²": 0, "n_0 / r/min": n, "T_0 / N·m": T_0, "b / N·m·s/rad": b,
         "c / N·m·s²/rad²": c, "T_load / N·m": T_load, "t_ramp / s": ramp,
         "f / %": ms(f * 100), "T_max / N·m": 1e6, "n_ref / r/min": n, "tol_ramp / %": tol_ramp,
         "t_resp / ms": resp, "tol_delay / %": tol_delay, "t_delay_used / ms": delay, "t_ramp_step / s": 1e-9, "t_ramp_low / s": 1e-9,
         "t_ramp_high / s": 1e4, "t_delay_step / ms": 1e-9, "t_delay_low / ms": 0, "t_delay_high / ms": 1e9, "C_link / µF": 470,
         "U_0 / V": 565, "U_chop / V": 780, "U_trip / V": 820, "chopper": "yes", "I_max / A": 1e6, "R_min / Ω": 0, "tol_R / %": 5,
         "t_cycle / s": 1e5, "t_sensor / ms": 0, "t_logic / ms": 0, "t_network / ms": 0,
         "t_drive / ms": 0, "edition": "2010", "d / mm": 14, "Z / mm": 0,
         "S_there / mm": 1e9},
        {"t_ramp_works / s": (works[0], "above"), "phi_ramp_works / rad": (works[1], "above"),
         "t_ramp_fails / s": (late + fails.t, "equal"),
         "phi_ramp_fails / rad": (n * RPM * late + fails.path, "equal"),
         "t_release / s": (fails.t, "above"), "t_delay / s": (delay / 1e3, "equal"), "n_left / rad/s": (works[2], "above"),
         "E / J": (E, "above"), "P_peak / W": (P, "above")},
        never=not all(isfinite(x) for x in (works[0], fails.t)),
    )


def regen_energy(r):
    J, n, T_0, _, T_load, ramp, f, *_ = ss1(r)
    b, c = some(r, J / 100, J * 3, 0.5), some(r, J / 1e4, J / 30, 0.5)
    E, P = fed_back(Shaft(J, T_0, b, c, T_load), Ramp(n * RPM, 0.0, ramp, f))
    w, dead = n * RPM, some(r, 1, 500)
    E += max(-(T_load + T_0 + b * w + c * w * w), 0) * w * dead / 1e3  # speed held against the load
    side = "equal" if f == 0 or b == c == 0 else "above"
    return Case(
        {"J_motor / kg·m²": J, "J_load_ref / kg·m²": 0, "n_0 / r/min": n, "t_ramp / s": ramp, "f / %": ms(f * 100), "t_dead / ms": dead, "T_0 / N·m": T_0,
         "b / N·m·s/rad": b, "c / N·m·s²/rad²": c, "T_load / N·m": T_load},
        {"E / J": (E, side), "P_peak / W": (max(P, 0.0), side)},
    )


def ramp_stop(r):
    J, n, T_0, _, T_load, ramp, f, *_ = ss1(r)
    _, P = fed_back(Shaft(J, T_0, T_load=T_load), Ramp(n * RPM, 0.0, ramp, f))
    return Case(
        {"n_0 / r/min": n, "J / kg·m²": J, "t_dead / ms": 0, "t_ramp / s": ramp, "f / %": ms(f * 100), "T_0 / N·m": T_0, "T_max / N·m": 1e6,
         "n_rated / r/min": 1e5, "n_break / r/min": 1e5, "T_load / N·m": T_load, "lead / mm/r": 0},
        {"P_peak / W": (max(P, 0.0), "equal")},
    )


def brake_energy(r):
    J, n, T_f, T_b, T_load = braked(r)
    n, T_b = n or 50.0, T_b or 1.0
    shaft = Shaft(J, T_f, T_load=T_load)
    course = follow(shaft, n * RPM, Brake(T_b, 0.0, 0.0))
    # the heat is the most: a brake that is stronger than typed leaves less to friction
    stronger = follow(shaft, n * RPM, Brake(T_b * (1 + 5 * r.random()), 0.0, 0.0))
    return Case(
        {"J / kg·m²": J, "n_1 / r/min": n, "n_2 / r/min": 0, "T_f / N·m": T_f, "T_load / N·m": T_load, "T_b / N·m": T_b, "A / cm²": 1e6, "e_max / J/cm²": 1e9},
        {"E_b / J": (max(course.heat, stronger.heat), "above"), "t_b / s": (course.t, "equal")},
        never=not isfinite(course.t),
    )


def loss_braking(r):
    J, n, T_f, T_b, T_load = braked(r)
    n, T_b, dead = n or 50.0, T_b or 1.0, some(r, 1, 2000)
    course, stronger = (follow(Shaft(J, T_f, T_load=T_load), n * RPM, Brake(T_b * more, dead / 1e3, 0.0)) for more in (1, 1 + 5 * r.random()))
    stays = abs(T_load) <= T_f
    return Case(
        {"method": "dc-injection", "J / kg·m²": J, "n_s / r/min": n, "t_dead / ms": dead, "T_b / N·m": T_b, "T_f / N·m": T_f,
         "T_load / N·m": T_load, "I / A": 0, "R / Ω": 0, "C_m / J/K": 1e6, "z / 1/h": 1, "t_allow / s": 1e9, "P_loss / W": 1e6},
        {"t_stop / s": (course.t, "above"), "phi_stop / rad": (course.path, "above"), "E_motor / J": (max(course.heat, stronger.heat), "above")},
        never=not isfinite(course.t) or not stays,
    )


def quickest_stop(r):
    J, n, _, T_b, _ = braked(r)
    n, T_f, T_b = n or 50.0, some(r, J, J * 300, 0), T_b or 1.0
    t, build = some(r, 1, 2000), some(r, 1, 1000)
    free, held = follow(Shaft(J, T_f), n * RPM), follow(Shaft(J, T_f), n * RPM, Brake(T_b, t / 1e3, build / 1e3))
    return Case(
        {"J / kg·m²": J, "n_0 / r/min": n, "T_free / N·m": T_f, "T_max / N·m": 1, "t_drive / ms": 0, "T_b / N·m": T_b, "t_resp / ms": t,
         "t_build / ms": build, "rule": "own", "t_allow / s": 1e6},
        {"t_run / s": (free.t, "equal"), "phi_run / rad": (free.path, "equal"), "t_brake / s": (held.t, "above"), "phi_brake / rad": (held.path, "above")},
    )


def ramp_without_resistor(r):
    J, n, T_0, _, T_load, ramp, *_ = ss1(r)
    eta, taken = r.choice((1, 0.9, 0.5)), some(r, 1, 1e3)
    E, _ = fed_back(Shaft(J, T_0, T_load=T_load), Ramp(n * RPM, 0.0, ramp), eta, taken)
    dead = some(r, 1, 500)
    E += max(-(T_load + T_0) * n * RPM * eta - taken, 0) * dead / 1e3
    return Case(
        {"J / kg·m²": J, "n_0 / r/min": n, "t_ramp / s": ramp, "t_dead / ms": dead, "T_0 / N·m": T_0, "T_load / N·m": T_load, "eta / %": eta * 100, "P_0 / W": taken,
         "C / µF": 1e5, "U_0 / V": 565, "U_trip / V": 820},
        {"E / J": (E, "above")},
    )


def link_alone(r):
    J, n, T_0, _, T_load, _, *_ = ss1(r)
    T_load = max(T_load, -T_0)  # a load that drives harder is refused
    eta, taken, C = r.choice((1, 0.9, 0.5)), some(r, 1, 1e3, 0), some(r, 50, 1e5, 0)
    room = C * 1e-6 / 2 * (780**2 - 565**2)
    shaft = Shaft(J, T_0, T_load=T_load)

    def fits(ramp):
        return fed_back(shaft, Ramp(n * RPM, 0.0, ramp), eta, taken, grid=24)[0] <= room

    low, high = 1e-6, 1.0
    if fits(low):
        quickest = 0.0
    else:
        while not fits(high) and high < 1e9:
            high *= 4
        for _ in range(60):
            middle = (low * high) ** 0.5
            low, high = (low, middle) if fits(middle) else (middle, high)
        quickest = high
    return Case(
        {"C / µF": C, "U_0 / V": 565, "U_lim / V": 780, "J / kg·m²": J, "n_0 / r/min": n, "T_0 / N·m": T_0, "T_load / N·m": T_load,
         "eta / %": eta * 100, "P_0 / W": taken},
        {"t_least / s": (quickest, "above")},
    )


def guide_friction(r):
    m, J, lead, mu, v = some(r, 1, 1e4, 0), some(r, 1e-5, 1), some(r, 1, 200, 0), some(r, 1e-3, 0.5, 0), some(r, 0.01, 20, 0)
    k = lead / 1e3 / (2 * pi)
    course = follow(Shaft(J + m * k * k, mu * m * G * k), v / k)
    return Case(
        {"guide": "own", "mu_own": mu, "m / kg": m, "F_pre / N": 0, "F_seal / N": 0, "z": 4, "J_rot / kg·m²": J, "lead / mm/r": lead,
         "eta_back / %": 100, "v / m/s": v},
        {"s_f / m": (course.path * k, "equal")},
    )


def standstill_monitor(r):
    least = some(r, 1e-4, 10, 0)
    most, scale = ms(least * r.choice((1, 1.5, 4))), least * 100
    T_0, T_b, T_drive = (ms(x) for x in (some(r, scale / 30, scale * 3), some(r, scale / 10, scale * 10), some(r, scale / 30, scale * 5)))
    n, T, blind, t, build = some(r, 1, 100, 0), some(r, scale / 10, scale * 10, 0), some(r, 5, 100), some(r, 1, 500), some(r, 1, 300)
    window, top, worst = some(r, 1, 90, 0), 0, []
    for J in (least, (least + most) / 2, most):
        # the fault in any strength, from a creep that the window alone sees to the whole torque
        top = n * RPM + (T + T_drive) / least * blind / 1e3
        worst.append(follow(Shaft(J, T_0, T_load=-T_drive), top, Brake(T_b, t / 1e3, build / 1e3)))
    path = radians(window) + (n * RPM + top) / 2 * blind / 1e3 + max(c.path for c in worst)
    return Case(
        {"n_lim / r/min": n, "phi_lim / °": window, "t_filter / ms": blind, "t_react / ms": 0, "t_on / ms": 0, "t_calm / ms": 0, "n_calm / r/min": 0,
         "T_motor / N·m": T, "J_least / kg·m²": least, "J_most / kg·m²": most, "t_b / ms": t, "t_b_build / ms": build, "T_0 / N·m": T_0,
         "T_b / N·m": T_b, "T_drive / N·m": T_drive},
        {"t_stop / s": (blind / 1e3 + max(c.t for c in worst), "bound"), "phi_stop / rad": (path, "bound"),
         "n_top / rad/s": (top, "equal"), "n_peak / rad/s": (max(c.peak for c in worst), "bound")},
        never=not all(isfinite(c.t) for c in worst),
    )


def power_failure(r):
    J, n, T_0, *_ = ss1(r)
    T_0 = T_0 or ms(J)
    most, taken = ms(T_0 * r.choice((1, 2, 5))), some(r, 1, 1e3, 0)
    n_min = ms(n * (0.05 + 0.9 * r.random()))
    free = follow(Shaft(J, T_0), n * RPM)

    from scipy.integrate import solve_ivp

    def slowed(t, y):
        return [-(most + taken / 0.85 / y[0]) / J]

    def low(t, y):
        return y[0] - n_min * RPM

    low.terminal = True
    carried = solve_ivp(slowed, (0, 1e9), [n * RPM], method="LSODA", rtol=1e-10, atol=1e-12, events=low).t[-1]
    return Case(
        {"J / kg·m²": J, "n_0 / r/min": n, "n_min / r/min": n_min, "P_0 / W": taken, "eta / %": 85, "T_0 / N·m": T_0, "T_0_most / N·m": most,
         "P_least / W": 0, "C / µF": 470, "U_0 / V": 565, "U_min / V": 400, "t_need / s": 1e-6},
        {"t_stop / s": (free.t, "equal"), "phi_stop / rad": (free.path, "equal"), "t_carry / s": (carried, "equal")},
    )


SHEETS = {name.replace("_", "-"): make for name, make in list(globals().items()) if callable(make) and name in (
    "run_down mechanical_brake_stop brake_course vertical_drop emergency_or_normal ramp_cut ramp_then_release ss1_brake axis_stop safe_stop regen_energy ramp_stop "
    "brake_energy loss_braking quickest_stop ramp_without_resistor link_alone guide_friction power_failure standstill_monitor").split()}
SHEETS |= simulated_loads.SHEETS | simulated_heat.SHEETS | simulated_swing.SHEETS | simulated_windings.SHEETS


def unsafe(given, true, side):
    room = max(NEAR * max(abs(true), 1e-4), 2e-9)  # the simulation leaves rest with a step of 1e-9 s
    if side == "equal":
        return abs(given - true) > room
    return given > true + room if side == "below" else given < true - room


def one_by_one(standstill, name, cases, results):
    """As rows of a filled table, from single runs: an input is a series. Units are those of the first line of `results`."""
    for case in cases:
        typed = []
        for head, value in case.inputs.items():
            symbol, _, unit = head.partition(" / ")
            values = value if isinstance(value, list) else [value]
            # four digits behind the point: three may be thousands
            texts = [one if isinstance(one, str) else f"{one:.9g}" if isinstance(one, int) or "e" in f"{one:.9g}" else f"{one:.10f}" for one in values]
            typed.append(f"{symbol}=" + ", ".join(f"{text} {unit}".strip() for text in texts))
        run = subprocess.run([standstill, "run", name, "--example", "--json", *typed], capture_output=True, text=True)
        found = {row["name"]: row.get("value") or {} for row in json.loads(run.stdout).get("results", [])} if run.returncode in (0, 1) else {}
        row = {result: repr(found[symbol]["number"]) if found.get(symbol := result.split(" / ")[0], {}).get("number") is not None else "" for result in results}
        yield {**row, "status": run.stdout + run.stderr if not found else ""}


def hold(standstill, name, sets, seed, folder):
    """The sets of one sheet, run and judged."""
    r = random.Random(f"{seed} {name}")
    cases = []
    while len(cases) < sets:
        cases.append(SHEETS[name](r))
    inputs, results = list(cases[0].inputs), list(cases[0].truth)
    if any(isinstance(value, list) for value in cases[0].inputs.values()):
        return judge(name, cases, results, one_by_one(standstill, name, cases, results))
    line, filled = Path(folder) / f"{name}.csv", Path(folder) / f"{name}-filled.csv"
    with line.open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow([*inputs, *results, "status"])
        for case in cases:
            writer.writerow([in_cell(head, v) for head, v in case.inputs.items()] + [""] * (len(results) + 1))
    run = subprocess.run([standstill, "range", line, name, "-o", filled], capture_output=True, text=True)
    if not filled.exists():
        return [f"{name}: {run.stderr or run.stdout}"], 0, 0
    with filled.open(newline="") as file:
        return judge(name, cases, results, csv.DictReader(file))


def in_cell(head, value):
    """A number as it is typed: one below 1 in a column of percent could be the share, and says its sign."""
    if head.endswith(" / %") and 0 < value <= 1:
        return f"{value!r} %"
    return repr(value) if isinstance(value, float) else value


def judge(name, cases, results, rows):
    """Which figures are on the unsafe side, in words, and how many sets had figures and how many were rightly refused."""
    bad, given, refused = [], 0, 0
    for at, (row, case) in enumerate(zip(rows, cases)):
        words = row["status"]
        refuses = not re.match(r"-?[\d.]+", row[results[0]]) or "holds the load" in words
        where = f"{name} row {at + 2}: {case.inputs}"
        if case.never:
            refused += 1
            if not refuses:
                bad.append(f"{where}\n  it never stands, and the sheet says: {words}")
            continue
        given += 1
        if not row[results[0]]:
            if not case.brink:
                bad.append(f"{where}\n  it stands, and the sheet says: {words}")
            continue
        for result in results:
            true, side = case.truth[result]
            if row[result].startswith("never"):
                continue  # no figure, with the sheet's reason: nobody can rely on one
            # a setting that is withheld names the number that must not be set: it is looked at as well
            value = float(row[result].removeprefix("NOT to be set (").split(" ")[0])
            if unsafe(value, true, side):
                bad.append(f"{where}\n  {result} = {value}, simulated {true} ({side})")
    return bad, given, refused


def main():
    ask = argparse.ArgumentParser()
    ask.add_argument("standstill")
    ask.add_argument("sheets", nargs="*")
    ask.add_argument("--sets", type=int, default=300)
    ask.add_argument("--seed", type=int, default=random.SystemRandom().randrange(10**6))
    asked = ask.parse_args()
    print(f"seed {asked.seed}, {asked.sets} sets a sheet")
    worst = 0
    with tempfile.TemporaryDirectory() as folder:
        for name in asked.sheets or SHEETS:
            bad, given, refused = hold(asked.standstill, name, asked.sets, asked.seed, folder)
            print(f"{name}: {given} sets with figures, {refused} that never stand, {len(bad)} wrong")
            for words in bad[:3]:
                print(" ", words)
            worst = max(worst, len(bad))
    sys.exit(1 if worst else 0)


if __name__ == "__main__":
    main()
