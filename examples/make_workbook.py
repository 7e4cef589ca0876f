"""Makes carton-wrapper.xlsx: the workbook of an invented machine, as its owner keeps it.

The machine is made up: a feed roller of a carton wrapper, driven through a gear. Made with a general
library (openpyxl), so that Standstill meets a workbook that it has not written itself.

    pip install openpyxl==3.1.5
    python examples/make_workbook.py
"""

import datetime
import pathlib

from openpyxl import Workbook
from openpyxl.chart import BarChart, Reference
from openpyxl.comments import Comment
from openpyxl.formatting.rule import CellIsRule
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.datavalidation import DataValidation

THIN = Side(style="thin", color="999999")
LINE = Border(bottom=THIN)
HEAD = Font(bold=True)

# symbol, value, unit, words; a unit in the symbol's own label where the owner wrote it so
MACHINE = [
    ("J_load", 0.2, "kg·m²", "roller, cartons and belt about the roller shaft"),
    ("i", 5, None, "gear ratio, motor speed over roller speed"),
    ("J_motor", 18, "kg·cm²", "rotor, from the motor's data sheet"),
    ("J_brake", 3, "kg·cm²", "rotor of the holding brake"),
    ("eta_back", 1, "%", "gear driven back by the load; its losses are in T_0 already"),
    ("n_0 / (r/min)", 1450, None, "highest motor speed"),
    ("T_0 in N·m", 1.6, None, "friction at the motor, least of three run-downs, warm"),
    ("T_max [N·m]", 12, None, "braking torque of motor and drive"),
    ("T_load", 0, "N·m", "load torque: nothing drives the roller, nothing helps"),
]
DRIVE = [
    ("t_ramp", 300, "ms", "ramp wanted"),
    ("n_ref", 1500, "r/min", "speed that the ramp time refers to"),
    ("tol_ramp", 5, "%", "tolerance of the ramp"),
    ("t_resp", 20, "ms", "from the request to the start of the ramp"),
    ("tol_delay", 2, "%", "tolerance of the delay"),
    ("t_ramp_step", 0.01, "s", "step of the ramp setting"),
    ("t_ramp_low", 0.01, "s", "least ramp setting"),
    ("t_ramp_high", 600, "s", "longest ramp setting"),
    ("t_delay_step", 10, "ms", "step of the delay setting"),
    ("t_delay_low", 10, "ms", "least delay setting"),
    ("t_delay_high", 300, "s", "longest delay setting"),
    ("C_link", 470, "µF", "DC link"),
    ("U_0", 565, "V", "DC link, highest mains"),
    ("U_chop", 780, "V", "chopper threshold"),
    ("U_trip", 820, "V", "overvoltage trip"),
    ("I_max", 5, "A", "chopper current"),
    ("t_cycle", 6, "s", "time between stops"),
    ("f", 0, "%", "rounding of the ramp: straight"),
    ("chopper", "yes", None, "brake chopper with its resistor fitted"),
    ("R_min", 0, "Ω", "least resistance by the manual: its current says it"),
    ("tol_R", 0.05, "%", "tolerance of the resistor"),
]
SAFETY = [
    ("t_sensor", 14, "ms", "light curtain"),
    ("t_logic", 20, "ms", "safety relay"),
    ("t_drive", 10, "ms", "safety input of the drive"),
    ("edition", 2010, None, "edition of ISO 13855"),
    ("d", 14, "mm", "resolution of the curtain"),
    ("stands_on", "fails", None, "the distance rests on a ramp that fails"),
    ("S_there", 98.5, "in", "distance at which the curtain stands"),
    ("t_network", 0, "ms", "safe network: there is none"),
    ("Z", 0, "mm", "supplement: none in the 2010 edition"),
]
RESULTS = [
    ("t_ramp_set", "s", "ramp to be set"),
    ("t_delay", "ms", "delay to be set"),
    ("t_ramp_works", "s", "stop time, ramp works"),
    ("t_ramp_fails", "s", "stop time, ramp fails"),
    ("t_release", "s", "run-down, torque removed at once"),
    ("phi_ramp_fails", "r", "revolutions of the roller, ramp fails"),
    ("E", "J", "regenerated energy of one stop"),
    ("P_peak", "W", "peak power"),
    ("R", "Ω", "braking resistor"),
    ("T_used", "ms", "response time the distance stands on"),
    ("K_used", "mm/s", "approach speed it stands on"),
    ("S_works", "mm", "separation distance, ramp works"),
    ("S_fails", "mm", "separation distance, ramp fails"),
    ("S", "mm", "separation distance to be kept"),
    ("checks", None, "all checks"),
]


def named(book, name, tab, cell):
    column, row = "".join(c for c in cell if c.isalpha()), "".join(c for c in cell if c.isdigit())
    book.defined_names[name] = DefinedName(name, attr_text=f"'{tab}'!${column}${row}")


def table(book, tab, title, rows):
    sheet = book.create_sheet(tab)
    sheet["A1"] = title
    sheet["A1"].font = Font(bold=True, size=13)
    for column, (text, width) in enumerate(zip(("symbol", "value", "unit", "remark"), (18, 14, 10, 58)), 1):
        cell = sheet.cell(3, column, text)
        cell.font, cell.border = HEAD, LINE
        sheet.column_dimensions["ABCD"[column - 1]].width = width
    for at, (label, value, unit, words) in enumerate(rows, 4):
        sheet.cell(at, 1, label)
        cell = sheet.cell(at, 2, value)
        cell.alignment = Alignment(horizontal="right")
        if unit == "%" and value is not None and value <= 1:
            cell.number_format = "0%"
        sheet.cell(at, 3, unit).alignment = Alignment(indent=1)
        sheet.cell(at, 4, words).alignment = Alignment(wrap_text=True, vertical="top")
        symbol = label.split(" ")[0]
        named(book, f"safe_stop.{symbol}", tab, f"B{at}")
    sheet.freeze_panes = "A4"
    return sheet


def main():
    book = Workbook()
    book.remove(book.active)
    stamp = datetime.datetime(2026, 11, 25, 12, 0, 0)
    book.properties.created = book.properties.modified = stamp
    book.properties.creator = "machine office"

    machine = table(book, "Machine", "Feed roller of the carton wrapper (an invented machine)", MACHINE)
    machine["B10"].comment = Comment("Measured warm; the least of three run-downs.", "machine office")
    table(book, "Drive", "Drive and braking resistor", DRIVE)
    safety = table(book, "Safety", "Light curtain and safety chain", SAFETY)
    words = DataValidation(type="list", formula1='"works,fails"', allow_blank=False)
    safety.add_data_validation(words)
    words.add("B9")

    results = table(book, "Results", "Safe stop: results", [(s, None, u, w) for s, u, w in RESULTS])
    first = 4
    for row in range(first, first + len(RESULTS) - 1):
        results.cell(row, 2).number_format = "0.###"
    results.cell(first + len(RESULTS) - 1, 2).alignment = Alignment(horizontal="left")
    distance = first + [s for s, _, _ in RESULTS].index("S")
    results.cell(distance, 2).font = HEAD
    results.cell(distance, 2).number_format = "0"
    results.cell(distance + 3, 1, "S / m")
    results.cell(distance + 3, 2, f"=B{distance}/1000")
    results.cell(distance + 3, 4, "the owner's own formula: the distance in metres")
    results.conditional_formatting.add(
        f"B{distance}", CellIsRule(operator="greaterThan", formula=["2500"], fill=PatternFill("solid", bgColor="DDDDDD"))
    )
    chart = BarChart()
    chart.title, chart.height, chart.width = "Separation distance / mm", 7, 12
    chart.add_data(Reference(results, min_col=2, min_row=distance - 2, max_row=distance - 1))
    chart.set_categories(Reference(results, min_col=4, min_row=distance - 2, max_row=distance - 1))
    chart.legend = None
    results.add_chart(chart, "F4")

    # a second curtain, as a labelled block of its own
    second = book.create_sheet("Second curtain")
    for at, width in zip("ABCD", (4, 26, 14, 10)):
        second.column_dimensions[at].width = width
    second["B2"] = "sheet separation-curtain"
    second["B2"].font = HEAD
    block = [
        ("edition", 2010, None),
        ("T / ms", 400, None),
        ("d", 30, "mm"),
        (None, None, None),
        ("results", None, None),
        ("S", None, "mm"),
        ("S_fit", None, "mm"),
        ("K", None, "mm/s"),
        ("checks", None, None),
    ]
    for at, row in enumerate(block, 3):
        for column, value in enumerate(row, 2):
            second.cell(at, column, value)
    second.merge_cells("B13:D13")
    second["B13"] = "The rear of the machine has a second curtain with 30 mm resolution."

    for sheet in book.worksheets:
        sheet.page_setup.paperSize = sheet.PAPERSIZE_A4
        sheet.page_setup.fitToWidth = 1
        sheet.page_setup.fitToHeight = 0
        sheet.sheet_properties.pageSetUpPr.fitToPage = True
    book.save(pathlib.Path(__file__).with_name("carton-wrapper.xlsx"))


if __name__ == "__main__":
    main()
