"""Makes the workbooks beside it that ask for sheets, with openpyxl 3.1.5. All data are invented.

    python make_asked.py asked
"""

import datetime
import pathlib
import sys
import zipfile

from openpyxl import Workbook
from openpyxl.workbook.defined_name import DefinedName

STAMP = datetime.datetime(2026, 11, 25, 6, 30)

RESISTOR = [
    ("sheet brake-resistor", None, None),
    ("name", "value", "unit"),
    ("J_load", 0.35, "kg·m²"),
    ("i", 5, None),
    ("J_m", 18, "kg·cm²"),
    ("n_0", 1450, "r/min"),
    ("t_ramp", 500, "ms"),
    ("t_cycle", 12, "s"),
    ("U_chop", 780, "V"),
    ("I_max", 10, "A"),
    ("R_min", 47, "Ω"),
    ("eta", 95, "%"),
    (None, None, None),
    ("results", None, None),
    ("E", None, "kJ"),
    ("P_peak", None, "kW"),
    ("P_mean", None, "W"),
    ("R", None, "Ω"),
    ("checks", None, None),
]


def book_with(rows, at=(2, 2), tab="Inputs"):
    book = Workbook()
    sheet = book.active
    sheet.title = tab
    for down, row in enumerate(rows):
        for across, value in enumerate(row):
            if value is not None:
                sheet.cell(at[0] + down, at[1] + across, value)
    return book


def changed(rows, **changes):
    out = []
    for name, value, unit in rows:
        if name in changes:
            value, unit = changes[name]
        out.append((name, value, unit))
    return out


def save(book, folder, name):
    book.properties.created = book.properties.modified = STAMP
    book.properties.creator = "machine office"
    book.save(folder / name)


SIGNATURE = {
    "_xmlsignatures/origin.sigs": b"",
    "_xmlsignatures/sig1.xml": b'<Signature xmlns="http://www.w3.org/2000/09/xmldsig#"/>',
    "_xmlsignatures/_rels/origin.sigs.rels": b'<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    b'<Relationship Id="r1" Type="http://schemas.openxmlformats.org/package/2006/relationships/digital-signature/signature"'
    b' Target="sig1.xml"/></Relationships>',
}


def named_run_down(results="Run-down", inputs="Run-down"):
    """Cells with defined names: inputs on one tab, results on the same or another."""
    rows = [("inertia", 2, "kg\u00b7m\u00b2"), ("speed n / (r/min)", 1500, None), ("friction", 4, "N\u00b7m"), ("stop", None, "s"), ("words", None, None)]
    book = book_with(rows, at=(3, 2), tab=inputs)
    if results != inputs:
        for down, (words, _, unit) in enumerate(rows[3:], 6):
            book.active.cell(down, 2).value = book.active.cell(down, 4).value = None
            tab = book[results] if results in book.sheetnames else book.create_sheet(results)
            tab.cell(down, 2, words)
            tab.cell(down, 4, unit)
    for row, name in enumerate(("J", "n_0", "T_0", "t_stop", "checks"), 3):
        tab = inputs if row < 6 else results
        book.defined_names[f"run_down.{name}"] = DefinedName(f"run_down.{name}", attr_text=f"'{tab}'!$C${row}")
    return book


def states(folder):
    """Workbooks in a state in which writing needs a second thought."""
    book = named_run_down()
    book.active.protection.sheet = True
    save(book, folder, "protected.xlsx")

    book = named_run_down()
    book.active.merge_cells("C5:C6")
    save(book, folder, "merged.xlsx")

    book = named_run_down(results="Report", inputs="Data")
    book.defined_names["run_down.checks"] = DefinedName("run_down.checks", attr_text="'Log'!$C$7")
    book.create_sheet("Log")
    book["Data"].sheet_state = "hidden"
    book["Log"].sheet_state = "veryHidden"
    book.active = 1
    save(book, folder, "hidden.xlsx")

    save(named_run_down(), folder, "signed.xlsx")
    with zipfile.ZipFile(folder / "signed.xlsx", "a", zipfile.ZIP_DEFLATED) as archive:
        for name, data in SIGNATURE.items():
            archive.writestr(zipfile.ZipInfo(name, STAMP.timetuple()[:6]), data)


def main():
    folder = pathlib.Path(sys.argv[1])
    folder.mkdir(exist_ok=True)
    save(book_with(RESISTOR), folder, "block.xlsx")

    five = changed(
        RESISTOR,
        n_0=(24.2, "Hz"),
        J_load=("0,35kgm2", None),
        t_cycle=(None, "s"),
        I_max=(10, "mm"),
        eta=(120, "%"),
    )
    save(book_with(five), folder, "five-mistakes.xlsx")

    odd = changed(
        RESISTOR,
        J_load=("=1/0", "kg·m²"),
        n_0=(datetime.date(2026, 11, 25), "r/min"),
        t_ramp=(True, "ms"),
        t_cycle=(12, None),
        U_chop=(780, "Volts"),
    )
    book = book_with(odd)
    save(book, folder, "odd-cells.xlsx")

    save(book_with([(n, v, u) for n, v, u in RESISTOR if n not in ("t_cycle", "I_max")]), folder, "rows-missing.xlsx")
    save(book_with(RESISTOR + [("P_maen", 3, "W")]), folder, "stranger.xlsx")

    headings = [
        ("sheet run-down", None, None),
        ("J / (kg·m²)", 2, None),
        ("n_0 in r/min", 1500, None),
        ("T_0 [N·m]", 4, None),
        ("b (N·m·s/rad)", 0, None),
        ("t_stop / s", None, None),
        ("phi_stop (r)", None, None),
    ]
    save(book_with(headings, at=(1, 1)), folder, "headings.xlsx")

    names = book_with([("inertia", 2, "kg·m²"), ("speed n / (r/min)", 1500, None), ("friction", 4, "N·m"), ("stop", None, "s"), ("words", None, None)], at=(3, 2), tab="Run-down")
    for row, name in enumerate(("J", "n_0", "T_0", "t_stop", "checks"), 3):
        names.defined_names[f"run_down.{name}"] = DefinedName(f"run_down.{name}", attr_text=f"'Run-down'!$C${row}")
    save(names, folder, "names.xlsx")
    names.defined_names["run_down.T_0"] = DefinedName("run_down.T_0", attr_text="'Gone'!$C$5")
    names.defined_names["run_down.n_0"] = DefinedName("run_down.n_0", attr_text="#REF!")
    save(names, folder, "broken-names.xlsx")

    series = [
        ("sheet measured-stops", None, None),
        ("t_k", 312, "ms"),
        (None, 318, None),
        (None, 305, None),
    ]
    values = [309, 315, 311, 320, 307, 313, 316]
    series += [(None, value, None) for value in values]
    save(book_with(series), folder, "series.xlsx")

    plain = Workbook()
    sheet = plain.active
    sheet.title = "Old sheet"
    for row, (words, value) in enumerate([("Load", 2), ("Speed", 1500), ("Friction", 4), ("Unit of friction", "N·m"), ("Stop", None)], 3):
        sheet.cell(row, 1, words)
        sheet.cell(row, 5, value)
    save(plain, folder, "plain.xlsx")

    results = book_with(RESISTOR)
    sheet = results.active
    sheet["C16"] = "=1+1"
    save(results, folder, "formula-in-result.xlsx")
    states(folder)


if __name__ == "__main__":
    main()
