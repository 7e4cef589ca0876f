"""A default never shortens a distance, a time or a brake.

    python defaults.py STANDSTILL [--seed N]

For each numerical input with a default, in the sheets of stop, load, brake, regeneration, design and duty, the input is
moved over its range while all others are drawn around their examples. Where a figure that protects would become safer
by moving away from the default, the default is not the safe end: an error. Exit code 1: there is one.
"""

import argparse
import csv
import random
import re
import subprocess
import sys
import tempfile
from pathlib import Path

SHEETS = Path(__file__).resolve().parents[2] / "sheets"
FOLDERS = "stop load brake regeneration design duty".split()
LONGER = re.compile(
    r"(t_(stop|works|fails|lost|worst|ramp_works|ramp_fails|release|braked|brake|run|ramp|e|least|b|delay_least|need)|phi_.+|s_(drop|rise|stop|f|ramp.*)"
    r"|S|S_(works|fails)|T_(works|fails|used|need|hold|peak|stop|rest)|E|E_(b|res|motor|shaft)|P_(peak|mean)|n_peak|d_peak|t_free)$"
)
SHORTER = re.compile(r"(R_high|R|z_max|z_mean|S_hold|P_perm|stops_life|T_there|t_carry|a_goods|t_link|T_stop)$")
# sheet and input where a default is not at the end of the range, and why that is right
RIGHT = {
    ("run-down", "T_load"): "every sheet that uses it hands the load over; alone it is listed among the defaults taken",
    ("safe-stop", "t_reserve"): "a wish of the user, added to the delay",
    ("axis-stop", "t_reserve"): "a wish of the user, added to the delay",
    ("ramp-then-release", "t_reserve"): "a wish of the user, added to the delay",
    ("safe-stop", "t_delay_used"): "0 ms says that the sheet calculates the delay",
    ("axis-stop", "t_delay_used"): "0 ms says that the sheet calculates the delay",
    ("ramp-then-release", "t_delay_used"): "0 ms says that the sheet calculates the delay",
}
LINE = re.compile(r"^  (\w+)\s*: (?:[\w\s-]*? in (\S+)|(ratio|share|efficiency|count|coefficient of friction)\b)(.*)$")


def figure(text):
    """A figure of a filled table; of a setting that is withheld the number that must not be set."""
    text = text.removeprefix("NOT to be set (")
    return float("inf") if text.startswith("never") else float(text.split(" ")[0])


def number(text):
    m = re.match(r"\s*(-?[\d.]+)", text)
    return float(m.group(1)) if m else None


def inputs_of(text):
    """Name → (unit, default, example, low, high) of the numerical inputs, and the choices by their first example."""
    found, choices = {}, {}
    takes = text.split("\ntakes\n")[1].split("\nworks\n")[0]
    # the inputs of a group stand in its file
    takes = re.sub(r"(?m)^  group (\w+)\s*$", lambda it: (SHEETS / "groups" / f"{it[1]}.group").read_text(), takes)
    for line in takes.splitlines():
        body = line.split('"')[0]
        choice = re.match(r"^  (\w+)\s*: one of .*(?:=|like) (\S+)\s*$", body.rstrip())
        if choice:
            choices[choice.group(1)] = choice.group(2)
            continue
        m = LINE.match(body.rstrip())
        if not m or "series of" in body:
            continue
        rest, unit = m.group(4), m.group(2) or ""
        pick = lambda word: (re.search(rf"(?:^|\s){word} (\S+)", rest) or [None, ""])[1]
        default, example = number(pick("=")), number(pick("like"))
        if "%" in rest:
            unit = "%"
        low = number(pick("from")) if pick("from") else number(pick("above")) if pick("above") else None
        high = number(pick("to")) if pick("to") else number(pick("below")) if pick("below") else None
        found[m.group(1)] = (unit, default, example if example is not None else default, low, high)
    return found, choices


def main():
    ask = argparse.ArgumentParser()
    ask.add_argument("standstill")
    ask.add_argument("--seed", type=int, default=random.SystemRandom().randrange(10**6))
    asked = ask.parse_args()
    print(f"seed {asked.seed}")
    r, wrong, looked = random.Random(asked.seed), 0, 0
    with tempfile.TemporaryDirectory() as folder:
        for path in sorted(p for name in FOLDERS for p in (SHEETS / name).glob("*.sheet")):
            text = path.read_text()
            inputs, choices = inputs_of(text)
            defaults = [name for name, (_, default, *_) in inputs.items() if default is not None]
            if not defaults or "series of" in text.split("\nworks\n")[0]:
                continue
            gives = re.findall(r"(?:^|, ?|\n  )(\w+)(?: in ([^\s,]+))?", text.split("\ngives\n")[1])
            results = [name for name, _ in gives if LONGER.match(name) or SHORTER.match(name)]
            rows = []
            for name in defaults:
                unit, default, example, low, high = inputs[name]
                top = high if high is not None else max(2 * abs(default), 3 * abs(example), 1e-3)
                for _ in range(6):
                    base = {k: v[2] * r.choice((1, 1, 0.8, 1.2)) for k, v in inputs.items()}
                    for k, v in inputs.items():
                        base[k] = min(max(base[k], v[3] if v[3] is not None else base[k]), v[4] if v[4] is not None else base[k])
                    other = default + (top - default) * r.random() if r.random() < 0.7 or low is None else default + (low - default) * r.random()
                    rows.append((name, {**base, name: default}))
                    rows.append((name, {**base, name: other}))
            line, filled = Path(folder) / "d.csv", Path(folder) / "d-filled.csv"
            filled.unlink(missing_ok=True)
            units = dict(gives)
            column = lambda name, unit: f"{name} / ({unit})" if "(" in unit else f"{name} / {unit}" if unit else name
            with line.open("w", newline="") as file:
                writer = csv.writer(file)
                head = [column(k, v[0]) for k, v in inputs.items()] + list(choices)
                writer.writerow(head + [column(k, units[k]) for k in results] + ["status"])
                for _, row in rows:
                    writer.writerow([f"{x:.9g}" for x in row.values()] + list(choices.values()) + [""] * (len(results) + 1))
            run = subprocess.run([asked.standstill, "range", line, path.stem, "-o", filled], capture_output=True, text=True)
            if not filled.exists():
                print(f"{path.stem}: {run.stderr[:400]}")
                wrong += 1
                continue
            with filled.open(newline="") as file:
                out = list(csv.DictReader(file))
            for (name, one), a, b in zip(rows[::2], out[::2], out[1::2]):
                for key in results:
                    at = column(key, units[key])
                    if not a[at] or not b[at]:
                        continue
                    looked += 1
                    if not LONGER.match(key) and "never" in a[at] + b[at]:
                        continue
                    # what never stands is longer than anything
                    by_default, moved = (figure(x) for x in (a[at], b[at]))
                    if by_default == moved:
                        continue
                    room = 1e-9 * min(abs(by_default), abs(moved))
                    # friction that helps is the safer, the less of it is counted
                    longer = LONGER.match(key) and not (path.parent.name == "load" and key == "T_stop")
                    shortens = by_default < moved - room if longer else by_default > moved + room
                    if shortens and (path.stem, name) not in RIGHT:
                        print(f"{path.stem}: the default of `{name}` shortens {key}: {by_default} instead of {moved}")
                        wrong += 1
                        break
    print(f"{looked} figures looked at, {wrong} defaults shorten")
    sys.exit(1 if wrong or looked < 100 else 0)


if __name__ == "__main__":
    main()
