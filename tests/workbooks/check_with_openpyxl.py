"""Reads the workbooks filled by the tests with other programs: openpyxl 3.1.5 and LibreOffice 7.4.7.

    cargo test --test promises workbooks::
    python check_with_openpyxl.py corpus FOLDER            # FOLDER: target/tmp/filled
    python check_with_openpyxl.py corpus FOLDER --recalculate

Each filled workbook has a list beside it, one line a cell: tab, cell, kind, value. Cells on the
list must hold their value, all others what they held in the corpus, with the same style. With
`--recalculate`, LibreOffice opens each workbook and must show fresh results for every formula.
"""

import pathlib
import subprocess
import sys
import tempfile

import openpyxl


def expectations(path):
    wanted = {}
    for line in path.read_text(encoding="utf-8").splitlines():
        tab, cell, kind, value = line.split("\t")
        value = value.replace("\\n", "\n")
        wanted[tab, cell] = float(value) if kind == "number" else value
    return wanted


def contents(path):
    """Value, style and format of each cell; and the cells that array formulas fill, whose saved
    results go when the formula is to be calculated afresh."""
    book = openpyxl.load_workbook(path, rich_text=True)
    cells, filled = {}, set()
    for sheet in book.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                value = cell.value
                text = getattr(value, "text", value)
                formula = getattr(value, "ref", None)
                if formula:
                    corner, block = cell.coordinate, sheet[formula]
                    rows = block if isinstance(block, tuple) else ((block,),)
                    inside = {(sheet.title, c.coordinate) for line in rows for c in line}
                    filled |= inside - {(sheet.title, corner)}
                cells[sheet.title, cell.coordinate] = (
                    str(text) if formula or isinstance(text, str) else text,
                    cell.style_id,
                    cell.number_format,
                )
    return cells, filled


def check(original, filled, wanted):
    (before, _), (after, by_arrays) = contents(original), contents(filled)
    wrong = []
    for place, (value, style, number_format) in after.items():
        old = before.get(place, (None, style, number_format))
        if place in by_arrays and value is None:
            continue
        if place in wanted:
            if value != wanted[place]:
                wrong.append(f"{place}: {value!r} instead of {wanted[place]!r}")
            if place in before and old[0] is not None and old[1:] != (style, number_format):
                wrong.append(f"{place}: its style has changed")
        elif (value, style, number_format) != old:
            wrong.append(f"{place}: {value!r}, {style} instead of {old!r}")
    wrong += [f"{place} is gone" for place in (before.keys() | wanted.keys()) - after.keys()]
    return wrong


def recalculate(filled, scratch):
    out = pathlib.Path(scratch) / "out"
    subprocess.run(
        ["soffice", "--headless", "--convert-to", "xlsx", "--outdir", str(out), str(filled)],
        check=True, capture_output=True)
    return openpyxl.load_workbook(out / (filled.stem + ".xlsx"), data_only=True)


def check_results(book, wanted_results):
    wrong = []
    for (tab, cell), wanted in wanted_results.items():
        found = book[tab][cell].value
        same = found == wanted
        if isinstance(wanted, float) and isinstance(found, (int, float)):
            same = abs(found - wanted) <= 1e-9 * abs(wanted)
        if not same:
            wrong.append(f"{tab}!{cell} shows {found!r} instead of {wanted!r}")
    return wrong


def main(corpus, folder, options):
    wrong, seen = 0, 0
    for listing in sorted(folder.glob("*.cells.tsv")):
        name = listing.name.removesuffix(".cells.tsv")
        found = check(corpus / name, folder / name, expectations(listing))
        results = folder / f"{name}.results.tsv"
        if "--recalculate" in options and results.exists():
            with tempfile.TemporaryDirectory() as scratch:
                book = recalculate(folder / name, scratch)
                found += check_results(book, expectations(results))
        print(name, "differs" if found else "agrees")
        for line in found:
            print("   ", line)
        wrong += len(found)
        seen += 1
    if seen == 0:
        sys.exit("there are no filled workbooks; run the tests first")
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main(pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2]), sys.argv[3:])
