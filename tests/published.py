"""Read the published values that the tests compare with; each row names its source."""

from __future__ import annotations

import csv
from pathlib import Path

FOLDER = Path(__file__).parent / "reference"


def published(name: str) -> list[dict[str, str]]:
    """Return the rows of a reference file, every one with its source."""
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert rows
    assert all(row["source"] for row in rows)
    return rows
