"""Makes the corpus workbooks beside it, each by a writer that is not Standstill.

Writers and versions: openpyxl 3.1.5, XlsxWriter 3.3.1, LibreOffice 7.4.7.2 (converts the openpyxl
workbook). All data are invented. Run with the folder to write into:

    python make_corpus.py corpus
"""

import datetime
import pathlib
import re
import struct
import subprocess
import sys
import tempfile
import zipfile
import zlib

import openpyxl
import xlsxwriter
from openpyxl.chart import LineChart, Reference
from openpyxl.comments import Comment
from openpyxl.formatting.rule import ColorScaleRule
from openpyxl.styles import Alignment, Border, Font, PatternFill, Protection, Side
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.formula import ArrayFormula
from openpyxl.worksheet.table import Table

DAY = datetime.datetime(2026, 11, 25, 6, 30)


def picture():
    """A grey square of 8 by 8 points."""

    def chunk(kind, data):
        body = kind + data
        return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))

    head = struct.pack(">IIBBBBB", 8, 8, 8, 0, 0, 0, 0)
    rows = b"".join(b"\0" + b"\x80" * 8 for _ in range(8))
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(rows))
        + chunk(b"IEND", b"")
    )


def openpyxl_book(path, image):
    book = openpyxl.Workbook()
    book.properties.created = book.properties.modified = DAY
    inputs = book.active
    inputs.title = "Inputs"
    rows = [
        ("speed of rotation", "n_0", 1450, "r/min"),
        ("inertia", "J_load", 0.35, "kg m2"),
        ("efficiency", "eta", 0.95, None),
        ("commissioned", "day", DAY, None),
        ("checked", "ok", True, None),
        ("note", "note", " two  spaces & <tags> \u00b5 ", None),
    ]
    inputs.append(("what", "name", "value", "unit"))
    for row in rows:
        inputs.append(row)
    for cell in inputs[1]:
        cell.font = Font(bold=True, color="FFFFFF")
        cell.fill = PatternFill("solid", fgColor="305080")
        cell.border = Border(bottom=Side(style="thin"))
        cell.alignment = Alignment(horizontal="center")
    inputs["C4"].number_format = "0.0%"
    inputs["C5"].number_format = "yyyy-mm-dd hh:mm"
    inputs["C3"].number_format = '0.00" kg\u00b7m\u00b2"'
    inputs["E2"] = "=C2*2*PI()/60"
    inputs["E3"] = "=E2^2*C3/2"
    inputs["E4"] = '=IF(C4>1,"too good","fine")'
    inputs["E5"] = "=1/0"
    inputs["E6"] = "=C4>0.5"
    inputs["G2"] = ArrayFormula("G2:G4", "=C2:C4*2")
    inputs.column_dimensions["A"].width = 24
    inputs.column_dimensions["H"].number_format = "0.000"
    inputs["H2"].number_format = "0.000"
    inputs.freeze_panes = "B2"
    inputs.merge_cells("A9:D10")
    inputs["A9"] = "merged"
    inputs["C2"].comment = Comment("from the rating plate", "nobody")
    rule = DataValidation(type="decimal", operator="between", formula1="0", formula2="1")
    rule.add("C4")
    inputs.add_data_validation(rule)
    inputs.conditional_formatting.add(
        "C2:C4", ColorScaleRule("min", None, "FFFFFF", "max", None, "80B0FF")
    )
    inputs.print_area = "A1:E10"
    inputs.print_title_rows = "1:1"
    inputs.page_setup.orientation = "landscape"
    inputs.add_image(openpyxl.drawing.image.Image(image), "J2")

    results = book.create_sheet("Re'sults & more")
    results["A1"] = "twice"
    results["B1"] = "=Inputs!E2*2"
    results["B2"] = "=SUM(line_speed)"
    results["B3"] = "=SUM(Inputs!C:C)"
    results["B4"] = "=B1+1"
    results["B5"] = "=12*2"
    for row in range(6):
        results.append((row, row * row))
    chart = LineChart()
    chart.add_data(Reference(results, min_col=2, min_row=6, max_row=11))
    results.add_chart(chart, "D2")

    locked = book.create_sheet("Locked")
    locked["A1"] = 1
    locked["A2"] = 2
    locked["A2"].protection = Protection(locked=False)
    locked.protection.sheet = True

    line = book.create_sheet("Line")
    line.append(("machine", "speed"))
    for number in range(5):
        line.append((f"press {number}", 900 + 100 * number))
    line.append(("sum", "=SUM(B2:B6)"))
    line.add_table(Table(displayName="Presses", ref="A1:B6"))
    book.create_sheet("Hidden").sheet_state = "hidden"
    book["Hidden"]["A1"] = "=Line!B7/100"

    book.defined_names["n_0"] = DefinedName("n_0", attr_text="Inputs!$C$2")
    book.defined_names["line_speed"] = DefinedName("line_speed", attr_text="Line!$B$2:$B$6")
    book.defined_names["gone"] = DefinedName("gone", attr_text="Inputs!#REF!")
    book.defined_names["gravity"] = DefinedName("gravity", attr_text="9.81", hidden=True)
    inputs.defined_names["loc"] = DefinedName("loc", attr_text="Inputs!$C$3")
    line.defined_names["loc"] = DefinedName("loc", attr_text="Line!$B$3")
    book.save(path)


def xlsxwriter_book(path, image, macros):
    options = {"in_memory": True}
    book = xlsxwriter.Workbook(path, options)
    book.set_properties({"created": DAY, "title": "invented"})
    sheet = book.add_worksheet("Inputs")
    percent = book.add_format({"num_format": "0.0%", "locked": False})
    bold = book.add_format({"bold": True, "bg_color": "#D0D0FF"})
    row_format = book.add_format({"num_format": "0.000", "italic": True})
    sheet.write_row("A1", ["what", "value"], bold)
    sheet.write("A2", "speed")
    sheet.write("B2", 1450)
    sheet.write("A3", "efficiency")
    sheet.write("B3", 0.95, percent)
    sheet.write_rich_string("A4", "in", bold, "ert", "ia")
    sheet.write("B4", 0.35)
    sheet.write_blank("B5", None, bold)
    sheet.set_row(6, 20, row_format)
    sheet.set_column("F:G", 12, percent)
    sheet.write_formula("C2", "=B2*2", None, 2900)
    sheet.write_formula("C3", "=C2+n_0", None, 4350)
    sheet.write_formula("C4", '=B4&" kg"', None, "0.35 kg")
    sheet.write_array_formula("D2:D4", "{=B2:B4*2}", None, 2900)
    sheet.write("D3", 1.9)
    sheet.write("D4", 0.7)
    sheet.write_dynamic_array_formula("E2", "=_xlfn.UNIQUE(B2:B4)", None, 1450)
    sheet.write_boolean("B8", True)
    sheet.write_formula("C8", "=NA()", None, "#N/A")
    sheet.write_string("B9", "")
    sheet.merge_range("A11:C12", "merged", bold)
    sheet.write_comment("B2", "from the rating plate")
    sheet.data_validation("B3", {"validate": "decimal", "criteria": "between",
                                 "minimum": 0, "maximum": 1})
    sheet.conditional_format("B2:B4", {"type": "data_bar", "data_bar_2010": True})
    sheet.freeze_panes(1, 0)
    sheet.print_area("A1:E12")
    sheet.insert_image("H2", image, {"description": "a grey square"})
    sheet.add_sparkline("F2", {"range": "Inputs!B2:B4"})
    chart = book.add_chart({"type": "scatter"})
    chart.add_series({"categories": "=Inputs!$B$2:$B$4", "values": "=Inputs!$C$2:$C$3",
                      "trendline": {"type": "linear"}})
    sheet.insert_chart("H6", chart)

    table = book.add_worksheet("Line")
    table.add_table("A1:C5", {
        "name": "Presses", "total_row": True,
        "data": [["a", 900], ["b", 1000], ["c", 1100]],
        "columns": [{"header": "machine", "total_string": "sum"},
                    {"header": "speed", "total_function": "sum"},
                    {"header": "twice", "formula": "=[@speed]*2"}]})
    table.protect("", {"select_locked_cells": True})
    alone = book.add_chartsheet("Chart")
    other = book.add_chart({"type": "bar"})
    other.add_series({"values": "=Inputs!$B$2:$B$4"})
    alone.set_chart(other)
    empty = book.add_worksheet("Empty")
    empty.very_hidden()
    book.define_name("n_0", "=Inputs!$B$2")
    book.define_name("Line!loc", "=Line!$B$2")
    book.read_only_recommended()
    if macros:
        book.add_vba_project(macros)
        sheet.insert_button("H20", {"macro": "nothing"})
    book.close()


FLAT = """<?xml version="1.0" encoding="UTF-8"?>
<office:document xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"
 xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0"
 xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"
 xmlns:of="urn:oasis:names:tc:opendocument:xmlns:of:1.2" office:version="1.2"
 office:mimetype="application/vnd.oasis.opendocument.spreadsheet">
<office:body><office:spreadsheet>
%(tables)s
<table:named-expressions>
<table:named-range table:name="run_down.J" table:base-cell-address="$Inputs.$A$1" table:cell-range-address="$Inputs.$B$2"/>
<table:named-range table:name="run_down.n_0" table:base-cell-address="$Inputs.$A$1" table:cell-range-address="$Inputs.$B$3"/>
<table:named-range table:name="run_down.T_0" table:base-cell-address="$Inputs.$A$1" table:cell-range-address="$Inputs.$B$4"/>
<table:named-range table:name="run_down.t_stop" table:base-cell-address="$Inputs.$A$1" table:cell-range-address="$Inputs.$B$6"/>
</table:named-expressions>
<table:data-pilot-tables>
<table:data-pilot-table table:name="by hall" table:target-range-address="Pivot.A1:Pivot.B5" table:identify-categories="false">
<table:source-cell-range table:cell-range-address="Line.A1:Line.C6"/>
<table:data-pilot-field table:source-field-name="hall" table:orientation="row" table:used-hierarchy="0"/>
<table:data-pilot-field table:source-field-name="speed" table:orientation="data" table:used-hierarchy="0" table:function="sum"/>
</table:data-pilot-table>
</table:data-pilot-tables>
</office:spreadsheet></office:body></office:document>
"""


def flat_table(name, rows):
    """A tab of a flat OpenDocument text; a text that begins with `of:=` is a formula."""
    lines = [f'<table:table table:name="{name}">']
    for row in rows:
        lines.append("<table:table-row>")
        for value in row:
            if value is None:
                lines.append("<table:table-cell/>")
            elif isinstance(value, str) and value.startswith("of:="):
                text = value.replace("&", "&amp;").replace('"', "&quot;")
                lines.append(f'<table:table-cell table:formula="{text}"/>')
            elif isinstance(value, str):
                lines.append(f'<table:table-cell office:value-type="string"><text:p>{value}</text:p></table:table-cell>')
            else:
                lines.append(f'<table:table-cell office:value-type="float" office:value="{value}"/>')
        lines.append("</table:table-row>")
    return "\n".join(lines + ["</table:table>"])


def pivot_book(path, scratch):
    """A pivot table and a link to another workbook, written by LibreOffice; printer settings and custom
    XML, which it does not keep, are put in by hand."""
    other = scratch / "other.ods"
    flat = scratch / "other.fods"
    flat.write_text(FLAT.split("<table:named-expressions>")[0] % {"tables": flat_table("Rates", [["rate", 7]])}
                    + "</office:spreadsheet></office:body></office:document>", encoding="utf-8")
    convert(flat, "ods", scratch)
    tables = [
        flat_table("Inputs", [
            ["what", "value", "unit"], ["inertia", 2, "kg\u00b7m\u00b2"], ["speed", 1450, "r/min"],
            ["friction", 4, "N\u00b7m"], [], ["stop", None, "s"], [],
            ["twice the speed", "of:=[.B3]*2"], ["linked", f"of:=['file://{other}'#$Rates.B1]+[.B3]"]]),
        flat_table("Line", [["machine", "hall", "speed"]] + [
            [f"press {number}", "north" if number % 2 else "south", 900 + 100 * number] for number in range(5)]),
        flat_table("Pivot", [[]]),
    ]
    flat = scratch / "pivot.fods"
    flat.write_text(FLAT % {"tables": "\n".join(tables)}, encoding="utf-8")
    convert(flat, "xlsx", scratch)
    relation = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    more = {
        "xl/printerSettings/printerSettings1.bin": bytes(range(256)) * 2,
        "customXml/item1.xml": b'<?xml version="1.0"?><machine xmlns="urn:invented">carton wrapper</machine>',
        "xl/worksheets/_rels/sheet1.xml.rels": None,
    }
    changed = []
    with zipfile.ZipFile(scratch / "pivot.xlsx") as source, zipfile.ZipFile(path, "w") as target:
        names = set(source.namelist())
        assert any("pivotTable" in name for name in names) and any("externalLink" in name for name in names), names
        for info in source.infolist():
            data = source.read(info)
            if info.filename == "[Content_Types].xml":
                data = data.replace(b"</Types>", b'<Default Extension="bin" ContentType='
                                    b'"application/vnd.openxmlformats-officedocument.spreadsheetml.printerSettings"/></Types>')
                changed.append(info.filename)
            if info.filename == "xl/_rels/workbook.xml.rels":
                data = data.replace(b"</Relationships>", f'<Relationship Id="rIdCustom" Type="{relation}/customXml" '
                                    'Target="../customXml/item1.xml"/></Relationships>'.encode())
                changed.append(info.filename)
            if info.filename == "xl/externalLinks/_rels/externalLink1.xml.rels":
                # no path of the machine that made it
                data = re.sub(rb'Target="[^"]*"', b'Target="file:///plant/other.ods"', data)
                changed.append(info.filename)
            if info.filename == "xl/worksheets/sheet1.xml":
                data = re.sub(rb"(<pageSetup [^>]*?)/>", rb'\1 xmlns:r="%s" r:id="rIdPrinter"/>' % relation.encode(), data)
                if b"xmlns:r=" in data.split(b"<sheetData")[0]:
                    data = data.replace(b' xmlns:r="%s" r:id="rIdPrinter"' % relation.encode(), b' r:id="rIdPrinter"')
                assert b"rIdPrinter" in data
                changed.append(info.filename)
            if info.filename in more:
                raise SystemExit(f"{info.filename} is there already")
            target.writestr(zipfile.ZipInfo(info.filename, DAY.timetuple()[:6]), data, zipfile.ZIP_DEFLATED)
        more["xl/worksheets/_rels/sheet1.xml.rels"] = (
            '<?xml version="1.0" encoding="UTF-8"?>\n<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
            f'<Relationship Id="rIdPrinter" Type="{relation}/printerSettings" Target="../printerSettings/printerSettings1.bin"/>'
            "</Relationships>").encode()
        for name, data in more.items():
            target.writestr(zipfile.ZipInfo(name, DAY.timetuple()[:6]), data, zipfile.ZIP_DEFLATED)
    assert len(changed) == 4, changed


def convert(source, ending, folder):
    subprocess.run(["soffice", "--headless", "--convert-to", ending, "--outdir", str(folder), str(source)],
                   check=True, capture_output=True)


def by_hand_book(path):
    """Legal shapes that the writers above do not make: no `r`, prefixes, single quotes, shared
    formulas, comments, other part names, absolute targets."""
    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    relation = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    package = "http://schemas.openxmlformats.org/package/2006"
    mime = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    head = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
    parts = {
        "[Content_Types].xml": f'<Types xmlns="{package}/content-types">'
        '<Default Extension="rels" '
        'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        f'<Override PartName="/book/plan.xml" ContentType="{mime}.sheet.main+xml"/>'
        f'<Override PartName="/book/one.xml" ContentType="{mime}.worksheet+xml"/>'
        f'<Override PartName="/book/two.xml" ContentType="{mime}.worksheet+xml"/>'
        f'<Override PartName="/book/calcChain.xml" ContentType="{mime}.calcChain+xml"/></Types>',
        "_rels/.rels": f'<Relationships xmlns="{package}/relationships"><Relationship Id="r1" '
        f'Type="{relation}/officeDocument" Target="/book/plan.xml"/></Relationships>',
        "book/_rels/plan.xml.rels": f'<Relationships xmlns="{package}/relationships">'
        f'<Relationship Id="r1" Type="{relation}/worksheet" Target="one.xml"/>'
        f'<Relationship Id="r2" Type="{relation}/worksheet" Target="/book/two.xml"/>'
        f'<Relationship Id="r3" Type="{relation}/calcChain" Target="calcChain.xml"/>'
        "</Relationships>",
        "book/plan.xml": f'<x:workbook xmlns:x="{main}" xmlns:r="{relation}"><x:sheets>'
        '<x:sheet name="One" sheetId="1" r:id="r1"/><x:sheet name="Two" sheetId="2" r:id="r2"/>'
        "</x:sheets></x:workbook>",
        "book/one.xml": f"<x:worksheet xmlns:x='{main}'><x:dimension ref='A1:C4'/><x:sheetData>\n"
        "  <x:row r='2' spans='1:3'><x:c r='A2'><x:v>1</x:v></x:c><!-- a note -->\n"
        "    <x:c r='B2'><x:f t='shared' ref='B2:B4' si='0'>A2*2</x:f><x:v>2</x:v></x:c></x:row>\n"
        "  <x:row r='3'><x:c><x:v>3</x:v></x:c><x:c><x:f t='shared' si='0'/><x:v>6</x:v></x:c>"
        "</x:row><x:row><x:c><x:v>4</x:v></x:c><x:c r='B4'><x:f t='shared' si='0'></x:f>"
        "<x:v>8</x:v></x:c><x:c r='C4'><x:f>SUM(B2:B4)</x:f><x:v>16</x:v></x:c></x:row>\n"
        "  <x:row r='7' ht='20'/>\n</x:sheetData></x:worksheet>",
        "book/two.xml": f'<worksheet xmlns="{main}"><sheetData/></worksheet>',
        "book/calcChain.xml": f'<calcChain xmlns="{main}"><c r="C4" i="1"/></calcChain>',
    }
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in parts.items():
            archive.writestr(zipfile.ZipInfo(name, DAY.timetuple()[:6]), head + text,
                             zipfile.ZIP_DEFLATED)


def main(folder):
    folder.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch:
        scratch = pathlib.Path(scratch)
        image = scratch / "square.png"
        image.write_bytes(picture())
        macros = scratch / "vbaProject.bin"
        macros.write_bytes(b"not a real project, only bytes that must stay")
        first = folder / "everyday_openpyxl_3.1.5.xlsx"
        openpyxl_book(first, image)
        xlsxwriter_book(folder / "everything_xlsxwriter_3.3.1.xlsx", str(image), None)
        xlsxwriter_book(folder / "macros_xlsxwriter_3.3.1.xlsm", str(image), str(macros))
        by_hand_book(folder / "unusual_shapes_by_hand.xlsx")
        pivot_book(folder / "pivot_and_links_libreoffice_7.4.7.xlsx", scratch)
        for ending in ("xlsx", "ods"):
            subprocess.run(["soffice", "--headless", "--convert-to", ending, "--outdir",
                            str(scratch / "out"), str(first)], check=True)
            target = folder / f"everyday_libreoffice_7.4.7.{ending}"
            target.write_bytes((scratch / "out" / f"{first.stem}.{ending}").read_bytes())


if __name__ == "__main__":
    main(pathlib.Path(sys.argv[1]))
