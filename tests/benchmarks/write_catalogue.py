"""Writes a catalogue folder of generated parts; bench.py runs it: `write_catalogue.py NUMBER FOLDER`.

With the bundled parts there are NUMBER in all. The files are JSON, which is YAML too.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from generated import bundled_parts, generated_catalogue

PARTS_A_FILE = 1_000  # a file may have 2 MB


def write(number: int, folder: Path) -> None:
    """The generated parts alone, some in each file."""
    catalogue = generated_catalogue(number, seed=1)
    made = [catalogue.part(each) for each in sorted(catalogue.ids - bundled_parts().keys())]
    rows = [part.model_dump(mode="json", by_alias=True, exclude_unset=True) for part in made]
    (folder / "parts").mkdir(parents=True)
    for start in range(0, len(rows), PARTS_A_FILE):
        lines = ",\n".join(json.dumps(row, ensure_ascii=False) for row in rows[start : start + PARTS_A_FILE])
        text = f'{{"parts": [\n{lines}\n]}}\n'
        (folder / "parts" / f"generated-{start}.yaml").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    write(int(sys.argv[1]), Path(sys.argv[2]))
