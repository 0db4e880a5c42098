"""Where the folder of tables, words and the demo lies: the one place that says so, for calc and for all that use it.

The same path holds in the bundle that runs in the browser: calc/ and shared/ lie side by side in both.
"""

from pathlib import Path

SHARED = Path(__file__).resolve().parents[1] / "shared"
REFERENCE = SHARED / "reference"
SAFETY = SHARED / "safety"
RECORDS = SHARED / "records"
SCALE_LINES = SHARED / "scale" / "lines.json"
CATALOGUES = SHARED / "language"
DEMO = SHARED / "demo" / "workshop.json"
