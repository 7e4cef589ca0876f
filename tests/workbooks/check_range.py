"""Reads product lines that `standstill range` has calculated with other programs: openpyxl 3.1.5 and
LibreOffice 7.4.7. Each must open without repair and show the same cells.

    python tests/workbooks/check_range.py target/debug/standstill
"""

import csv
import pathlib
import subprocess
import sys
import tempfile
import zipfile

import openpyxl

HERE = pathlib.Path(__file__).parent
EXAMPLE = HERE.parents[1] / "examples" / "roller-line.xlsx"
LINE = "sheet timed-stop\nT_1,40,N·m\nt_max,8,s\n\nname,J / (kg·m²),n_0 / (r/min)\n=1+2,1.5,1450\nB,1,1450\nC,3,1450\n"


def cells(path):
    book = openpyxl.load_workbook(path, data_only=True)
    found = {}
    for tab in book.worksheets:
        for row in tab.iter_rows():
            for cell in row:
                if cell.value is not None:
                    found[tab.title, cell.coordinate] = cell.value
    return found


def converted(path, kind, scratch):
    out = scratch / kind
    profile = f"-env:UserInstallation=file://{scratch}/profile"
    command = ["soffice", profile, "--headless", "--convert-to", kind, "--outdir", str(out), str(path)]
    subprocess.run(command, check=True, capture_output=True, timeout=300)
    return out / f"{path.stem}.{kind.split(':')[0]}"


def same(one, other):
    if isinstance(one, (int, float)) and isinstance(other, (int, float)):
        # an office suite saves 15 digits
        return abs(one - other) <= 1e-14 * max(abs(one), abs(other))
    return one == other


def differences(name, before, after, scratch):
    """Cells that LibreOffice shows otherwise, and cells of the owner that are gone."""
    ours, theirs = cells(after), cells(converted(after, "xlsx", scratch))
    wrong = [
        f"{name} {place}: {ours.get(place)!r} is {theirs.get(place)!r} there"
        for place in sorted(ours.keys() | theirs.keys())
        if not same(ours.get(place), theirs.get(place))
    ]
    if before:
        old = cells(before)
        wrong += [f"{name} {place} has changed" for place in old if not same(old[place], ours.get(place))]
    return wrong, len(ours)


def main(standstill):
    wrong = []
    with tempfile.TemporaryDirectory() as folder:
        scratch = pathlib.Path(folder)

        def run(*words):
            done = subprocess.run([standstill, "range", *words], capture_output=True, text=True, cwd=scratch)
            # 1: some variants fail
            assert done.returncode in (0, 1), done.stderr
            return done.stdout

        in_place = scratch / "rollers.xlsx"
        run(str(EXAMPLE), "-o", str(in_place))
        found, count = differences("roller-line.xlsx", EXAMPLE, in_place, scratch)
        wrong += found
        print(f"roller-line.xlsx: {count} cells agree" if not found else "roller-line.xlsx differs")

        (scratch / "timed-stop.sheet").write_text((HERE / "lines" / "timed-stop.sheet").read_text("utf-8"), "utf-8")
        (scratch / "line.csv").write_text(LINE, "utf-8")
        fresh = scratch / "fresh.xlsx"
        run("line.csv", "-o", str(fresh))
        found, count = differences("fresh.xlsx", None, fresh, scratch)
        tabs = openpyxl.load_workbook(fresh).sheetnames
        if tabs != ["Sheet1", "margins"]:
            found.append(f"fresh.xlsx has the tabs {tabs}")
        with zipfile.ZipFile(converted(fresh, "xlsx", scratch)) as parts:
            charts = [name for name in parts.namelist() if "charts/chart" in name]
            if not charts:
                found.append("the chart of margins is gone in LibreOffice")
        wrong += found
        print(f"fresh.xlsx: {count} cells agree, with its chart" if not found else "fresh.xlsx differs")

        run(str(EXAMPLE), "-o", "rollers.csv")
        table = cells(converted(scratch / "rollers.csv", "xlsx", scratch))
        with open(scratch / "rollers.csv", encoding="utf-8", newline="") as lines:
            held = [field for line in csv.reader(lines) for field in line if field]
        if len(held) != len(table):
            wrong.append(f"rollers.csv holds {len(held)} cells, LibreOffice sees {len(table)}")
        print(f"rollers.csv: {len(held)} cells")
    for line in wrong:
        print("   ", line)
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main(str(pathlib.Path(sys.argv[1]).resolve()))
