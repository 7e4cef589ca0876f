"""Makes roller-line.xlsx: forty variants of an invented carton wrapper's rollers, one a row.

Everything is made up: rollers of four diameters and five lengths, each for two loads; gears and motors
are chosen by plain rules below, so that some variants need a longer ramp than was wished.
Made with a general library (openpyxl), so that Standstill meets a workbook it has not written.

    pip install openpyxl==3.1.5
    python examples/make_product_line.py
"""

import datetime
import math
import pathlib

from openpyxl import Workbook
from openpyxl.styles import Alignment, Border, Font, Side

LINE = Border(bottom=Side(style="thin", color="999999"))
HEAD = Font(bold=True)

# inputs of the sheet safe-stop that all variants share
SHARED = [
    ("J_brake", 3, "kg·cm²", "rotor of the holding brake"),
    ("eta_back", 100, "%", "gear driven back by the load; its losses stand in T_0"),
    ("n_ref", 1500, "r/min", "speed that the ramp time refers to"),
    ("tol_ramp", 5, "%", None),
    ("t_resp", 20, "ms", "from the request to the start of the ramp"),
    ("tol_delay", 2, "%", None),
    ("t_ramp_step", 0.01, "s", None),
    ("t_ramp_low", 0.01, "s", None),
    ("t_ramp_high", 600, "s", None),
    ("t_delay_step", 10, "ms", None),
    ("t_delay_low", 10, "ms", None),
    ("t_delay_high", 300, "s", None),
    ("C_link", 470, "µF", None),
    ("U_0", 565, "V", "DC link, highest mains"),
    ("U_chop", 780, "V", None),
    ("U_trip", 820, "V", None),
    ("t_cycle", 6, "s", "time between stops"),
    ("t_sensor", 14, "ms", "light curtain"),
    ("t_logic", 20, "ms", "safety relay"),
    ("t_drive", 10, "ms", "safety input of the drive"),
    ("edition", 2010, None, "edition of ISO 13855"),
    ("d", 14, "mm", "resolution of the curtain"),
    ("stands_on", "fails", None, None),
    ("T_load", 0, "N·m", "load torque: none drives"),
    ("f", 0, "%", "straight ramp"),
    ("chopper", "yes", None, None),
    ("R_min", 0, "Ω", None),
    ("tol_R", 5, "%", None),
    ("t_network", 0, "ms", None),
    ("Z", 0, "mm", None),
]
HEADINGS = [
    "roller", "J_load / (kg·m²)", "i", "J_motor in kg·cm²", "n_0 [r/min]", "T_0 / (N·m)", "T_max / (N·m)",
    "t_ramp / ms", "I_max / A", "S_there / mm", "remark",
    "t_ramp_set / s", "t_delay / ms", "t_ramp_fails / s", "R / Ω", "P_mean / W", "S / mm", "status",
]
STEEL = 7850.0  # kg/m³, round figure


def variants():
    for diameter in (120, 160, 200, 240):
        for length in (400, 600, 800, 1000, 1200):
            for load in ("light", "heavy"):
                outer, inner = diameter / 2000, diameter / 2000 - 0.006
                mass = STEEL * math.pi * (outer**2 - inner**2) * length / 1000
                tube = mass * (outer**2 + inner**2) / 2
                cartons = (2.5 if load == "light" else 6.0) * outer**2
                inertia = round(tube + cartons, 4)
                gear = {120: 3, 160: 4, 200: 5, 240: 6}[diameter]
                motor = 12 if diameter < 200 else 18
                friction = round(0.6 + 0.0011 * length * (1.0 if load == "light" else 1.15), 2)
                ramp = 250 if load == "light" else 300
                yield [
                    f"RW-{diameter}-{length}-{'L' if load == 'light' else 'H'}", inertia, gear, motor, 1450, friction,
                    8 if diameter < 200 else 12, ramp, 5, 2700 if length < 1000 else 2900,
                    "long roller, check for whirling" if length == 1200 else None,
                ]


def main():
    book = Workbook()
    sheet = book.active
    sheet.title = "Rollers"
    stamp = datetime.datetime(2026, 11, 25, 12, 0, 0)
    book.properties.created = book.properties.modified = stamp
    book.properties.creator = "machine office"
    sheet["A1"] = "Rollers of the carton wrapper (an invented product line)"
    sheet["A1"].font = Font(bold=True, size=13)
    sheet["A2"] = "sheet safe-stop"
    sheet["A2"].font = HEAD
    for row, entry in enumerate(SHARED, 3):
        for column, value in enumerate(entry, 1):
            sheet.cell(row, column, value)
    header = 3 + len(SHARED) + 1
    for column, text in enumerate(HEADINGS, 1):
        cell = sheet.cell(header, column, text)
        cell.font, cell.border, cell.alignment = HEAD, LINE, Alignment(wrap_text=True, vertical="bottom")
    for row, values in enumerate(variants(), header + 1):
        for column, value in enumerate(values, 1):
            sheet.cell(row, column, value)
    for column, width in zip("ABCDEFGHIJKLMNOPQR", (18, 12, 6, 11, 10, 9, 9, 9, 8, 10, 28, 11, 10, 12, 8, 10, 9, 60)):
        sheet.column_dimensions[column].width = width
    sheet.freeze_panes = sheet.cell(header + 1, 2)
    sheet.page_setup.orientation, sheet.page_setup.paperSize = "landscape", sheet.PAPERSIZE_A4
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.print_title_rows = f"{header}:{header}"
    book.save(pathlib.Path(__file__).with_name("roller-line.xlsx"))


if __name__ == "__main__":
    main()
