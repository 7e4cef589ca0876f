"""Makes the pictures of the README: workbooks as an office suite shows them on paper.

    cargo build --release
    python examples/make_pictures.py target/release/standstill

Each workbook is made by the commands of the README from the examples beside this file, printed by
LibreOffice 7.4.7 and cut out of its page. Needs soffice, pdftotext and pdftoppm (poppler-utils).
"""

import os
import pathlib
import re
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).parent
# name, commands, workbook, words on the page that is shown, part of the page (left, top, width, height in mm), dots
# an inch
PICTURES = [
    ("form", [["form", "brake-resistor", "-o", "form.xlsx"]], "form.xlsx", "sheet brake-resistor", (10, 8, 190, 135), 96),
    ("fill", [["fill", str(HERE.resolve() / "carton-wrapper.xlsx"), "-o", "filled.xlsx"]], "filled.xlsx",
     "Safe stop: results", (15, 22, 175, 50), 110),
    ("chart", [["run", "safe-stop", "--example", "-o", "result.xlsx"]], "result.xlsx", "Speed over time in a stop",
     (10, 8, 190, 230), 90),
    ("range", [["range", str(HERE.resolve() / "roller-line.xlsx"), "-o", "line.xlsx"]], "line.xlsx", "status",
     (5, 16, 200, 104), 110),
]


def page_with(pdf, words):
    """The number of the first page that says so."""
    told = subprocess.run(["pdftotext", "-layout", pdf, "-"], check=True, capture_output=True, text=True).stdout
    for number, page in enumerate(told.split("\f"), 1):
        if words in page:
            return number
    raise SystemExit(f"no page of {pdf} says {words!r}")


def main():
    binary = str(pathlib.Path(sys.argv[1]).resolve())
    only = sys.argv[2:]
    (HERE / "pictures").mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        for name, commands, book, words, (left, top, width, height), an_inch in PICTURES:
            if only and name not in only:
                continue
            for command in commands:
                subprocess.run([binary, *command], cwd=folder, stdout=subprocess.DEVNULL)
            subprocess.run(["soffice", f"-env:UserInstallation=file://{folder}/profile", "--headless", "--convert-to",
                            "pdf", book], cwd=folder, check=True, capture_output=True)
            pdf = os.path.join(folder, pathlib.Path(book).stem + ".pdf")
            page = str(page_with(pdf, words))
            dots = [str(round(millimetres / 25.4 * an_inch)) for millimetres in (left, top, width, height)]
            cut = [part for pair in zip(("-x", "-y", "-W", "-H"), dots) for part in pair]
            target = HERE / "pictures" / name
            subprocess.run(["pdftoppm", "-png", "-gray", "-singlefile", "-r", str(an_inch), "-f", page, "-l", page, *cut,
                            pdf, str(target)], check=True)
            # what can be read in it, held against the workbook of today by tests/readme.rs
            words = subprocess.run(["pdftotext", "-layout", "-r", str(an_inch), "-f", page, "-l", page, *cut, pdf, "-"],
                                   check=True, capture_output=True, text=True).stdout
            pieces = [piece for line in words.splitlines() for piece in re.split(" {2,}", line.strip("\f "))]
            target.with_suffix(".txt").write_text("".join(f"{piece}\n" for piece in pieces if piece), "utf-8")
            print(f"{target}.png", os.path.getsize(f"{target}.png"), "bytes")


if __name__ == "__main__":
    main()
