"""Works every reference script again and compares what it prints with the file stored beside it.

    pip install -r requirements.txt
    python again.py

Numbers must agree to 1e-9 relative (scripts that integrate numerically differ in the last digits from one
release of their library to the next), words to the letter. Lines that begin with # name versions and may
differ.
"""

import pathlib
import subprocess
import sys

HERE = pathlib.Path(__file__).parent
# scripts that print source tables rather than reference values
OTHERS = {"again", "quadrature", "simulate", "simulated", "defaults"}


def same(stored, fresh):
    if stored == fresh:
        return True
    try:
        a, b = float(stored), float(fresh)
    except ValueError:
        return False
    return abs(a - b) <= 1e-9 * max(abs(a), abs(b)) or max(abs(a), abs(b)) < 1e-12


def lines(text):
    return [line.replace(",", " ").replace(";", " ").split() for line in text.splitlines() if line and not line.startswith("#")]


def main():
    passed, failed = 0, 0
    for script in sorted(HERE.glob("*.py")):
        table = script.with_suffix(".csv")
        if script.stem in OTHERS or not table.exists():
            continue
        done = subprocess.run([sys.executable, script.name], cwd=HERE, capture_output=True, text=True)
        if done.returncode:
            print(f"{script.name}: {done.stderr.strip().splitlines()[-1]}")
        fresh = done.stdout
        old, new = lines(table.read_text(encoding="utf-8")), lines(fresh)
        good = len(old) == len(new) and all(len(a) == len(b) and all(map(same, a, b)) for a, b in zip(old, new))
        passed, failed = passed + good, failed + (not good)
        if not good:
            for a, b in zip(old, new):
                if len(a) != len(b) or not all(map(same, a, b)):
                    print(f"{table.name}: stored {' '.join(a)}, now {' '.join(b)}")
                    break
            else:
                print(f"{table.name}: {len(old)} lines stored, now {len(new)}")
    print(f"reference: {passed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
