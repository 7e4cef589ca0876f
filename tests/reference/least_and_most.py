"""An input that is said to be the least serves every check as the least, and one that is the most as the most.

    python least_and_most.py STANDSTILL [--seed N] [SHEET ...]

Of each sheet whose example holds, an input whose note says `the least` (the lowest, shortest, smallest) is raised and
one whose note says `the most` (the longest, highest, largest) is lowered, while all others are drawn around their
examples. A check that held and then fails stood on the wrong end: a coefficient of friction, the least, tells nothing
of a brake that locks. Exit code 1: there is one.
"""

import argparse
import json
import random
import re
import subprocess
import sys

INPUT = re.compile(r'\s+(\w+)\s*:\s*[a-z ]+?(?: in (\S+))? .*?(?:like|=) ([-0-9.]+)\b.*?\s+"(.*)"')
LEAST = re.compile(r"the least|the lowest|the shortest|the smallest")
MOST = re.compile(r"the most|the longest|the highest|the largest|the greatest")
# where another end is looked at on purpose
RIGHT = {
    ("detection-capability", "d"): "the smallest body that is found: a property of the field, not its least",
    ("gate-with-locking", "t_fails"): "a stop that ends before the guard is open leaves the distance to the opening alone: a caution",
    ("guard-opening", "t_stop"): "as above",
}

asked = argparse.ArgumentParser()
asked.add_argument("standstill")
asked.add_argument("sheets", nargs="*")
asked.add_argument("--seed", type=int, default=20)
asked = asked.parse_args()
draw = random.Random(asked.seed)


def called(*arguments):
    return subprocess.run([asked.standstill, *arguments], capture_output=True, text=True).stdout


def checks(sheet, values):
    """Verdict of each check, or nothing where the inputs are refused."""
    given = [f"{name}={value:.6g} {unit}".strip() for name, (value, unit) in values.items()]
    found = called("run", sheet, "--example", *given, "--json")
    return {(it["path"], it["text"]): it["verdict"] for it in json.loads(found).get("checks") or []} if found else {}


def inputs(sheet):
    text = called("show", sheet, "--text")
    for line in text.partition("takes\n")[2].partition("\nworks")[0].splitlines():
        if found := INPUT.match(line):
            name, unit, example, note = found.groups()
            yield name, unit or "", float(example), note


tried, wrong = 0, []
for sheet in asked.sheets or [it["name"] for it in json.loads(called("list", "--json"))["listed"]]:
    known = list(inputs(sheet))
    for name, unit, _, note in known:
        way = 1 if LEAST.search(note) else -1 if MOST.search(note) else 0
        if not way or (sheet, name) in RIGHT:
            continue
        for _ in range(5):
            values = {it: (value * draw.choice([1, 1, 0.7, 0.85, 1.2, 1.4]), of) for it, of, value, _ in known}
            before = checks(sheet, values)
            for by in (1.5, 3) if before else ():
                values[name] = (values[name][0] * by**way, unit)
                after = checks(sheet, values)
                tried += bool(after)
                wrong += [
                    f"{sheet}: {name} ({note}) by {by**way:.2g}: {text!r} held, and {after[path, text]}"
                    for (path, text), verdict in before.items()
                    if verdict == "holds" and after.get((path, text), "holds") != "holds"
                ]
for words in sorted(set(wrong)):
    print(words)
print(f"{tried} inputs moved from the end that they are said to be, {len(set(wrong))} checks on the wrong end")
if not tried or wrong:
    sys.exit(1)
