"""Makes the product lines of the corpus in lines/: tables of variants as people keep them.

    pip install openpyxl==3.1.5 xlsxwriter==3.3.1
    python tests/workbooks/make_lines.py
"""

import datetime
import pathlib

import openpyxl
import xlsxwriter

HERE = pathlib.Path(__file__).with_name("lines")
STAMP = datetime.datetime(2026, 11, 25, 12, 0, 0)


def units_in_a_row():
    """A table that begins somewhere, with shared inputs above it, a row of units, and wrong rows."""
    book = openpyxl.Workbook()
    book.properties.created = book.properties.modified = STAMP
    notes = book.active
    notes.title = "Notes"
    notes["A1"] = "J / (kg·m²) is the inertia; see the tab Line"
    sheet = book.create_sheet("Line")
    sheet["B1"] = "Presses, an invented product line"
    sheet["B2"] = "sheet timed-stop"
    for row, (name, value, unit) in enumerate((("T_1", 40, "N·m"), ("inputs of all presses", None, None), ("t_max", 8000, "ms")), 3):
        sheet.cell(row, 2, name), sheet.cell(row, 3, value), sheet.cell(row, 4, unit)
    for column, (name, unit) in enumerate(
        (("press", None), ("J", "kg·m²"), ("n_0", "r/min"), ("J in words", None), ("t_stop", "ms"), ("twice", None)), 2
    ):
        sheet.cell(7, column, name), sheet.cell(8, column, unit)
    rows = [
        ("P1", 1.5, 1450),           # 9: holds
        ("P2", 2.5, 1450),           # 10: too long
        (None, None, None),          # 11: empty
        ("P3", 1.5, "1450rpm"),      # 12: a text
        ("P4", None, 1450),          # 13: an empty cell
        ("P5", 1.5, 3600),           # 14: out of range
        ("Series B", None, None),    # 15: a heading between
        ("P6", "=3/2", 0),           # 16: a formula without a saved result
        ("P7", 0.6, 3000),           # 17: holds
        ("P8", 250, 50),             # 18: too long
    ]
    for row, (name, inertia, speed) in enumerate(rows, 9):
        sheet.cell(row, 2, name), sheet.cell(row, 3, inertia), sheet.cell(row, 4, speed)
        sheet.cell(row, 5, "about as before" if name == "P2" else None)
        if name and name.startswith("P"):
            sheet.cell(row, 7, f"=2*F{row}")
    book.save(HERE / "units_in_a_row_openpyxl_3.1.5.xlsx")


def units_in_headings():
    """Headings in the trade's ways, a percentage, words, a status column, old results."""
    book = xlsxwriter.Workbook(HERE / f"units_in_headings_xlsxwriter_{xlsxwriter.__version__}.xlsx")
    book.set_properties({"created": STAMP})
    percent = book.add_format({"num_format": "0 %"})
    sheet = book.add_worksheet("Table")
    headings = ("no.", "machine", "J [kg·cm²]", "n_0/(r/min)", "T_1 in N·m", "share / %", "wet", "t_max (ms)", "E / J", "S / mm", "Status")
    sheet.write_row(3, 1, headings)
    rows = [
        (1, "slow", 15000, 1450, 40, 0.9, "no", 8000, 1, 2, "FAILS: old"),
        (2, "wet", 15000, 1450, 40, 0.9, "yes", 8000, None, None, None),
        (3, "damp", 15000, 1450, 40, 0.9, "maybe", 8000, 7, 8, "FAILS: old"),
        (4, "none", 15000, 1450, 40, 0, "no", 8000, 7, 8, "FAILS: old"),
    ]
    for row, values in enumerate(rows, 4):
        for column, value in enumerate(values, 1):
            if value is not None:
                sheet.write(row, column, value, percent if column == 6 else None)
    book.close()


if __name__ == "__main__":
    HERE.mkdir(exist_ok=True)
    units_in_a_row()
    units_in_headings()
