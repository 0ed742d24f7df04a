"""Write the JSON Schema of the results file anew: `python tests/write_schema.py`, after the catalogue has changed."""

import json
from pathlib import Path

from reportgen.results_file import results_schema

TARGET = Path(__file__).resolve().parent.parent / "reportgen" / "results.schema.json"

if __name__ == "__main__":
    TARGET.write_text(json.dumps(results_schema(), indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
