"""What `standstill --json` prints, held against src/report/schema.json by an independent validator (jsonschema).

    python tests/command_line/schema.py target/debug/standstill
"""

import json
import subprocess
import sys
from pathlib import Path

from jsonschema import Draft202012Validator

ROOT = Path(__file__).resolve().parents[2]
schema = json.loads((ROOT / "src/report/schema.json").read_text(encoding="utf-8"))
Draft202012Validator.check_schema(schema)
validator = Draft202012Validator(schema)


def standstill(*words, given=""):
    done = subprocess.run([sys.argv[1], *words], input=given, capture_output=True, text=True, encoding="utf-8")
    return json.loads(done.stdout), done.returncode


def held(document, what):
    found = [error.message[:200] for error in validator.iter_errors(document)]
    assert not found, f"{what}: {found}"


listed, _ = standstill("list", "--json")
names = [sheet["name"] for sheet in listed["listed"]]
assert len(names) > 90, len(names)
for name in names:
    document, code = standstill("run", name, "--example", "--json")
    assert code == 0, (name, code)
    held(document, name)
    rows, code = standstill("run", "-", "--example", given=json.dumps({"sheet": name, "rows": [{}, {"no_such": 1}]}))
    held(rows, f"rows of {name}")
    assert code == 2 and "results" in rows["rows"][0] and "problems" in rows["rows"][1], name
    assert rows["rows"][0]["results"] == document["results"], name
for words in (["run", "no-such-sheet", "--json"], ["run", "ramp-stop", "t=1 furlong", "--json"]):
    document, code = standstill(*words)
    assert code == 2, (words, code)
    held(document, words)
# the schema refuses what it must
document, _ = standstill("run", "ramp-stop", "--example", "--json")
for key in ("results", "checks", "inputs", "sheets", "holds", "format", "disclaimer"):
    broken = {name: value for name, value in document.items() if name != key}
    assert not validator.is_valid(broken), key
print(f"{len(names)} sheets, their outputs and rows fit the schema")
