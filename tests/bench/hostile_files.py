"""Files that ask for more than they explain: how soon `fill` and `range` answer, and in how much memory.

    cargo build --release
    python tests/bench/hostile_files.py target/release/standstill

Each file must end in a message, within a second and in less than 256 MiB; the figures are printed. The files
are made here and thrown away. No figure of memory can be less than what this script itself takes, about 30 MiB. With `--slow`, for a build without optimisation, only memory is judged.
"""

import io
import os
import pathlib
import subprocess
import sys
import tempfile
import time
import zipfile
import zlib

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
RELATION = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
MIME = "application/vnd.openxmlformats-officedocument.spreadsheetml"
HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'

SECONDS = 1.0
MEBIBYTES = 256


def parts(cells, more=()):
    """The smallest workbook around the cells of one tab."""
    texts = "".join(f'<Override PartName="/{name}" ContentType="{MIME}.sharedStrings+xml"/>'
                    for name, _ in more if name.endswith("sharedStrings.xml"))
    related = "".join(f'<Relationship Id="rId2" Type="{RELATION}/sharedStrings" Target="sharedStrings.xml"/>'
                      for name, _ in more if name.endswith("sharedStrings.xml"))
    return [
        ("[Content_Types].xml", f'{HEAD}<Types xmlns="{PACKAGE}/content-types">'
         '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
         '<Default Extension="xml" ContentType="application/xml"/>'
         f'<Override PartName="/xl/workbook.xml" ContentType="{MIME}.sheet.main+xml"/>'
         f'<Override PartName="/xl/worksheets/sheet1.xml" ContentType="{MIME}.worksheet+xml"/>{texts}</Types>'),
        ("_rels/.rels", f'{HEAD}<Relationships xmlns="{PACKAGE}/relationships"><Relationship Id="rId1" '
         f'Type="{RELATION}/officeDocument" Target="xl/workbook.xml"/></Relationships>'),
        ("xl/workbook.xml", f'{HEAD}<workbook xmlns="{MAIN}" xmlns:r="{RELATION}"><sheets>'
         '<sheet name="T" sheetId="1" r:id="rId1"/></sheets></workbook>'),
        ("xl/_rels/workbook.xml.rels", f'{HEAD}<Relationships xmlns="{PACKAGE}/relationships">'
         f'<Relationship Id="rId1" Type="{RELATION}/worksheet" Target="worksheets/sheet1.xml"/>{related}</Relationships>'),
        ("xl/worksheets/sheet1.xml", f'{HEAD}<worksheet xmlns="{MAIN}">{cells}</worksheet>'),
        *more,
    ]


def container(content):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in content:
            archive.writestr(name, text)
    return out.getvalue()


def blanks(before, count, after, block=b" " * (1 << 20)):
    """A container whose tab holds so many blocks of blanks; never in memory as a whole."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        for name, text in parts(""):
            if name != "xl/worksheets/sheet1.xml":
                archive.writestr(name, text)
        with archive.open("xl/worksheets/sheet1.xml", "w", force_zip64=True) as part:
            part.write(before)
            for _ in range(count):
                part.write(block)
            part.write(after)
    return out.getvalue()


def text(cell, value):
    return f'<c r="{cell}" t="inlineStr"><is><t>{value}</t></is></c>'


# asks for a sheet, so that a file which is let through is calculated and written in full
ASKS = (f'<row r="1">{text("A1", "sheet run-down")}</row>'
        f'<row r="2">{text("A2", "J")}<c r="B2"><v>2</v></c>{text("C2", "kg*m^2")}</row>'
        f'<row r="3">{text("A3", "n_0")}<c r="B3"><v>1500</v></c>{text("C3", "r/min")}</row>'
        f'<row r="4">{text("A4", "T_0")}<c r="B4"><v>4</v></c>{text("C4", "N*m")}</row>'
        f'<row r="5">{text("A5", "t_stop")}{text("C5", "s")}</row>')

LAUGHS = ("<!DOCTYPE sst [<!ENTITY a0 \"ha\">" + "".join(
    f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 11))
    + f']><sst xmlns="{MAIN}"><si><t>&a10;</t></si></sst>')

# each function calls the one before ten times: 10^10 steps if they are all written out
TEN_DEEP = "\n".join(
    ["sheet deep", 'title "Ten levels of functions"', 'source "none"', "takes", "  x : ratio above 0 like 1", "works",
     "  f0(x) = x + 1"]
    + [f"  f{n}(x) = " + " + ".join([f"f{n - 1}(x)"] * 10) for n in range(1, 11)]
    + ["  y = f10(x)", "gives", "  y", ""])


def nested(levels):
    """A formula of so many functions, one within the other, over a cell that is written."""
    return f'<row r="6"><c r="E6"><f>{"ABS(" * levels}B5{")" * levels}</f><v>1</v></c></row>'


def files():
    """Name, bytes, exit codes that are an answer, words that the message must hold."""
    whole = container(parts(f"<sheetData>{ASKS}</sheetData>"))
    yield "honest.xlsx", whole, {0}, ""
    bomb = blanks(b"", 200, b"")
    yield "zip-bomb.xlsx", bomb, {4}, "hostile-file"
    inner = container([("0.xlsx", bomb)] * 1)
    yield "bomb-in-a-bomb.xlsx", container([("xl/workbook.xml", inner)]), {4}, "error"
    yield "truncated.xlsx", whole[: len(whole) // 2], {4}, "unreadable-file"
    yield "truncated-directory.xlsx", whole[:-30], {4}, "unreadable-file"
    yield "entity-expansion.xlsx", container(parts("<sheetData/>", [("xl/sharedStrings.xml", LAUGHS)])), {4}, "hostile-file"
    for cell in ("BDWGN1", "XFE1", "ZZZZZZZ1", "A1048577", "A99999999999"):
        row = "".join(sign for sign in cell if sign.isdigit())
        wide = f'<sheetData><row r="{row}"><c r="{cell}"><v>1</v></c></row></sheetData>'
        yield f"cell-{cell}.xlsx", container(parts(wide)), {4}, "unreadable-file"
    far = f'<sheetData>{ASKS}<row r="6"><c r="E6"><f>SUM(A1:BDWGN1048576)+SUM(A:XFD)+SUM(1:1048576)</f><v>1</v></c></row></sheetData>'
    yield "million-columns-in-a-formula.xlsx", container(parts(far)), {0, 4}, ""
    last = f'<dimension ref="A1:XFD1048576"/><sheetData>{ASKS}<row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>'
    yield "last-cell-of-all.xlsx", container(parts(last)), {0}, ""
    for at, name in enumerate(("../evil.xml", "/etc/evil.xml", "xl\\..\\..\\evil.xml", "C:/evil.xml")):
        yield f"path-traversal-{at}.xlsx", container(parts("<sheetData/>", [(name, "<a/>")])), {4}, "hostile-file"
    away = [(name, content.replace("worksheets/sheet1.xml", "../../../../etc/passwd") if name.endswith("workbook.xml.rels") else content)
            for name, content in parts("<sheetData/>")]
    yield "target-outside.xlsx", container(away), {4}, "unreadable-file"
    yield "functions-10-deep.xlsx", container(parts(f"<sheetData>{ASKS}{nested(10)}</sheetData>")), {0}, ""
    yield "functions-10000-deep.xlsx", container(parts(f"<sheetData>{ASKS}{nested(10_000)}</sheetData>")), {0, 4}, ""
    asks_deep = f'<sheetData><row r="1">{text("A1", "sheet deep")}</row><row r="2">{text("A2", "x")}<c r="B2"><v>1</v></c></row></sheetData>'
    yield "sheet-functions-10-deep.xlsx", container(parts(asks_deep)), {3}, "too-deep"
    head = f'{HEAD}<worksheet xmlns="{MAIN}"><sheetData>'.encode()
    yield "gigabyte-of-blanks.xlsx", blanks(head, 1024, b"</sheetData></worksheet>"), {4}, "hostile-file"
    opened = head + b'<row r="1"><c r="A1" t="inlineStr"><is><t xml:space="preserve">'
    yield "gigabyte-in-a-cell.xlsx", blanks(opened, 1024, b"</t></is></c></row></sheetData></worksheet>"), {4}, "hostile-file"
    noise = "".join(f"{' ' * 740}{number * 2654435761 % 2**32:08x}\n" for number in range(1400)).encode()
    yield "gigabyte-packed-badly.xlsx", blanks(head, 1024, b"</sheetData></worksheet>", noise), {4}, "hostile-file"
    rows = "".join(f"<row><c><v>{number * 40503 % 2**16:04x}{'0' * 985}</v></c></row>\n" for number in range(1024)).encode()
    yield "gigabyte-of-digits.xlsx", blanks(head, 1024, b"</sheetData></worksheet>", rows), {4}, "hostile-file"
    deep = "<a>" * 200_000 + "</a>" * 200_000
    yield "elements-200000-deep.xlsx", container(parts(deep)), {4}, "unreadable-file"


def gigabyte_of_blanks(path):
    block = b" " * (1 << 20)
    with open(path, "wb") as file:
        for _ in range(1024):
            file.write(block)


def run(binary, folder, words):
    with open(folder / "told", "wb") as told:
        begun = time.perf_counter()
        process = subprocess.Popen([binary, *words, "-o", "out.xlsx", "--force"], cwd=folder, stdout=told, stderr=told)
        _, status, used = os.wait4(process.pid, 0)
        seconds = time.perf_counter() - begun
    process.returncode = os.waitstatus_to_exitcode(status)
    return process.returncode, (folder / "told").read_text(encoding="utf-8"), seconds, used.ru_maxrss / 1024


def main():
    binary = str(pathlib.Path(sys.argv[1]).resolve())
    slow = "--slow" in sys.argv
    wrong = []
    print(f"{'file':42} {'bytes':>12} {'exit':>4} {'s':>7} {'MiB':>7}  answer")
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        (folder / "deep.sheet").write_text(TEN_DEEP, encoding="utf-8")
        queue = [(name, content, codes, words) for name, content, codes, words in files()]
        queue.append(("gigabyte-of-blanks.csv", None, {4}, "hostile-file"))
        for name, content, codes, words in queue:
            if content is None:
                gigabyte_of_blanks(folder / name)
            else:
                (folder / name).write_bytes(content)
            size = (folder / name).stat().st_size
            # what must not pass through one command must not pass through the other
            commands = [["fill", name]] + [["range", name, "run-down"]] * (codes == {4})
            for command in commands:
                code, told, seconds, memory = run(binary, folder, command)
                errors = [line for line in told.splitlines() if line.startswith("error")]
                answer = errors[0] if errors else "calculated and written"
                asked = " ".join(command[:2])
                print(f"{asked:42} {size:12} {code:4} {seconds:7.3f} {memory:7.1f}  {answer[:110]}")
                if code not in codes or words not in told:
                    wrong.append(f"{asked}: exit code {code}, told {told[:300]!r}")
                if memory > MEBIBYTES:
                    wrong.append(f"{asked}: {memory:.0f} MiB")
                if seconds > SECONDS and not slow:
                    wrong.append(f"{asked}: {seconds:.2f} s")
            (folder / name).unlink()
    for words in wrong:
        print("WRONG", words)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
