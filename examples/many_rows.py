"""Many calculations at once from another language: JSON in, JSON out.

    python3 examples/many_rows.py [PATH OF standstill]

Values go in as they are typed, with their units; nothing is assumed. A row that is wrong is named with its problems,
and the others are calculated. Exit code of `standstill run -`: 0 all checks hold, 1 one fails, 2 a row is wrong.
"""

import json
import subprocess
import sys

PROGRAM = sys.argv[1] if len(sys.argv) > 1 else "standstill"

request = {
    "sheet": "rated-torque",
    "rows": [
        {"P_n": f"{power} kW", "n_n": f"{speed} RPM"}
        for power in (0.75, 1.5, 4, 11)
        for speed in (960, 1450)
    ],
}
done = subprocess.run(
    [PROGRAM, "run", "-"], input=json.dumps(request), capture_output=True, text=True, encoding="utf-8"
)
answer = json.loads(done.stdout)
if "rows" not in answer:
    sys.exit(answer["problems"][0]["headline"])
for asked, row in zip(request["rows"], answer["rows"]):
    if "problems" in row:
        print(asked["P_n"], asked["n_n"], "|", row["problems"][0]["headline"])
        continue
    result = row["results"][0]
    print(asked["P_n"], asked["n_n"], "|", result["name"], "=", round(result["value"]["number"], 3), result["unit"])
sys.exit(done.returncode)
