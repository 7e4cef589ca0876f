"""The decades of IEC 60063 as the library eseries (PyPI) prints them.

    pip install eseries && python3 eseries.py > eseries.csv
"""

import importlib.metadata
import sys

sys.path = [p for p in sys.path if p and not p.endswith("reference")]
import eseries

print(f"# eseries {importlib.metadata.version('eseries')}, written by eseries.py")
for key in ["E3", "E6", "E12", "E24", "E48", "E96"]:
    values = eseries.series(eseries.ESeries[key])
    print(key, *(round(v * (10 if values[0] == 10 else 1)) for v in values))
