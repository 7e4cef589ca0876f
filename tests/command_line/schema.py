"""What `standstill --json` prints, held against src/report/schema.json by an independent validator (jsonschema).

    python tests/command_line/schema.py target/debug/standstill
"""

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

from jsonschema import Draft202012Validator

ROOT = Path(__file__).resolve().parents[2]
schema = json.loads((ROOT / "src/report/schema.json").read_text(encoding="utf-8"))
Draft202012Validator.check_schema(schema)
validator = Draft202012Validator(schema)


def standstill(*words, given=""):
    done = subprocess.run([sys.argv[1], *words], input=given, capture_output=True, text=True, encoding="utf-8")
    return json.loads(done.stdout), done.returncode


def held(document, what, kind=None):
    """Against the schema, and against the one form in it that this command prints."""
    found = [error.message[:200] for error in validator.iter_errors(document)]
    if kind:
        one = Draft202012Validator({"$ref": f"#/$defs/{kind}", "$defs": schema["$defs"]})
        found += [f"{error.json_path}: {error.message[:200]}" for error in one.iter_errors(document)]
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
# the worst case of every sheet that has an input to be given a tolerance
worst = 0
for name in names:
    inputs = standstill("run", name, "--example", "--json")[0]["inputs"]
    wide = next((f"{it['name']}={it['value']} ± 0.1 %" for it in inputs if any(sign.isdigit() for sign in it["value"]) and "," not in it["value"]), None)
    if wide is None:
        continue
    document, code = standstill("run", name, "--example", wide, "--worst", "--json")
    held(document, (name, wide))
    for result in document.get("results", []):
        if "lowest" in result and result["nominal_value"] is not None:
            worst += 1
            low, nominal, high = (it and it["number"] for it in (result["lowest"]["end_value"], result["nominal_value"], result["highest"]["end_value"]))
            room = 1e-9 * abs(nominal)
            assert low is None or low <= nominal + room, (name, result)
            assert high is None or high >= nominal - room, (name, result)
assert worst > 100, worst
# the other commands, and that each is known by its own form
os.chdir(ROOT)
with tempfile.TemporaryDirectory() as folder:
    to = lambda name: ["-o", str(Path(folder) / name), "--json"]
    by = ["by", "J_load", "from", "0.05 kg·m²", "to", "0.5 kg·m²", "in", "steps", "of", "0.01 kg·m²", "--example", "--json"]
    asked = [
        ("listed", 0, ["list", "--json"]),
        ("listed", 0, ["list", "curtain", "--json"]),
        ("listed", 0, ["list", "kinds", "--json"]),
        ("listed", 0, ["list", "text-for-number", "--json"]),
        ("form", 0, ["form", "run-down", *to("form.xlsx")]),
        ("form", 0, ["form", "--all", *to("all.html")]),
        ("fill", 0, ["fill", "examples/carton-wrapper.xlsx", *to("filled.xlsx")]),
        ("refused", 4, ["fill", "no-such.xlsx", *to("no.xlsx")]),
        ("range", 1, ["range", "examples/roller-line.xlsx", *to("line.xlsx")]),
        ("refused", 2, ["range", "examples/carton-wrapper.xlsx", *to("no.xlsx")]),
        ("design", 0, ["design", "safe-stop", "S<=2300 mm", *by]),
        ("design", 1, ["design", "safe-stop", "S<=100 mm", *by]),
        ("measured", 1, ["measured", "examples/measured-stops/stops.toml", "--json"]),
        ("measured", 0, ["measured", "examples/measured-stops/coasting.toml", "--json"]),
        ("machines", 1, ["measured", "examples/measured-stops/coasting.toml", "examples/measured-stops/stops.toml", "--json"]),
        ("refused", 4, ["measured", "no-such.toml", "--json"]),
    ]
    asked += [("show", 0, ["show", name, "--json"]) for name in names]
    asked += [("slopes", 0, ["run", name, "--example", "--slopes", "--json"]) for name in ("run-down", "ramp-stop", "separation-curtain")]
    for kind, expected, words in asked:
        document, code = standstill(*words)
        assert code == expected, (words, code, document.get("problems"))
        held(document, words, kind)
# a line a problem, from the check of a sheet
with tempfile.TemporaryDirectory() as folder:
    sheet = Path(folder) / "empty.sheet"
    sheet.write_text('sheet empty\ntitle "nothing"\n', encoding="utf-8")
    done = subprocess.run([sys.argv[1], "prove", str(sheet), "--form", "json"], capture_output=True, text=True, encoding="utf-8")
    problem = Draft202012Validator({"$ref": "#/$defs/problem", "$defs": schema["$defs"]})
    lines = done.stdout.splitlines()
    assert done.returncode == 3 and lines and all(problem.is_valid(json.loads(line)) for line in lines), done
# the schema refuses what it must
document, _ = standstill("run", "ramp-stop", "--example", "--json")
for key in ("results", "checks", "inputs", "sheets", "holds", "remarks", "format", "disclaimer"):
    broken = {name: value for name, value in document.items() if name != key}
    assert not validator.is_valid(broken), key
print(f"{len(names)} sheets, and every command with --json, fit the schema")
