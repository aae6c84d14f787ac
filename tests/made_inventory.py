"""Invented caches for tests of inspections: the bundled one, small ones that are right, and files of both kinds."""

from __future__ import annotations

import csv
import datetime
import functools
import io
from pathlib import Path

from hypothesis import strategies as st
from xlsxwriter import Workbook

import mci
from mci.catalogue.load import load_catalogue
from mci.stocking.inspection import Asked, inspect
from mci.stocking.inspection_file import read_inventory
from mci.stocking.inspection_result import Inspection

Rows = list[dict[str, str]]

#: The day on which all are inspected.
ON = datetime.date(2026, 5, 1)
TRAILER = Path(mci.__file__).parents[1] / "scenarios" / "fair-trailer-inventory.xlsx"


@functools.cache
def trailer() -> Inspection:
    """Return the inspection of the bundled trailer."""
    return inspect(read_inventory([TRAILER]), Asked(on=ON))


def csv_of(rows: Rows, columns: tuple[str, ...] = ()) -> str:
    """Write rows as CSV, with the columns that occur."""
    names = list(dict.fromkeys([*columns, *(name for row in rows for name in row)]))
    stream = io.StringIO(newline="")
    writer = csv.DictWriter(stream, names, restval="")
    writer.writeheader()
    writer.writerows(rows)
    return stream.getvalue()


def write_cache(folder: Path, cylinders: Rows, equipment: Rows | None) -> list[Path]:
    """Write a cache as CSV files and return their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    tables = {"c.csv": csv_of(cylinders, ("id", "cylinder", "pressure", "test date"))}
    if equipment is not None:
        tables["e.csv"] = csv_of(equipment, ("item", "count"))
    for name, text in tables.items():
        (folder / name).write_text(text, encoding="utf-8", newline="")
    return [folder / name for name in tables]


def write_book(path: Path, cylinders: Rows, equipment: Rows) -> Path:
    """Write a cache as a workbook, numbers and dates as texts."""
    with Workbook(path) as book:
        for name, rows in (("Cylinders", cylinders), ("equipment", equipment)):
            sheet = book.add_worksheet(name)
            names = list(dict.fromkeys(key for row in rows for key in row))
            for column, key in enumerate(names):
                sheet.write_string(0, column, key)
                for number, row in enumerate(rows, start=1):
                    sheet.write_string(number, column, row.get(key, ""))
    return path


def inspected(folder: Path, cylinders: Rows, equipment: Rows | None, **asked: object) -> Inspection:
    """Inspect a cache that is written to a folder."""
    return inspect(read_inventory(write_cache(folder, cylinders, equipment)), Asked(on=ON, **asked))  # type: ignore[arg-type]


def months_before(months: int) -> str:
    """Return a month so many before that of the inspection."""
    years, month = divmod(ON.year * 12 + ON.month - 1 - months, 12)
    return f"{years:04d}-{month + 1:02d}"


@st.composite
def clean_cylinders(draw: st.DrawFn) -> Rows:
    """Draw cylinders that are fit for service, with whatever may be listed about them."""
    kinds = [c for c in load_catalogue().cylinders.values() if c.built_in or c.valve]
    rows: Rows = []
    for number in range(draw(st.integers(1, 8))):
        kind = draw(st.sampled_from(kinds))
        share = draw(st.floats(0.27, 1.09))
        star = draw(st.sampled_from(["", "yes", "no"]))
        interval = draw(st.sampled_from(["", "3", "5 years", "10 years"]))
        years = int(interval.split()[0]) if interval else 10 if star == "yes" else 5
        rows.append(
            {
                "id": f"S-{number}",
                "cylinder": kind.key,
                "pressure": f"{share * kind.full_psi:.0f} psi",
                "test date": months_before(draw(st.integers(0, 12 * years))),
                "star": star,
                "interval": interval,
                "valve": draw(st.sampled_from(["", kind.valve or "integral"])),
                "condition": draw(st.sampled_from(["", "ok", "In service"])),
                "area": draw(st.sampled_from(["", "rack 1"])),
            }
        )
    return rows


@st.composite
def clean_equipment(draw: st.DrawFn) -> Rows:
    """Draw equipment that is fit, so that for every valve there are two lines of regulators."""
    catalogue = load_catalogue()
    sets = [o for o in catalogue.outlet_sets.values() if o.fits]
    valves = sorted({valve for one in sets for valve in one.fits})
    items = [draw(st.sampled_from([o.key for o in sets if valve in o.fits])) for valve in (*valves, *valves)]
    items += draw(st.lists(st.sampled_from(sorted(catalogue.devices)), min_size=1, max_size=4))
    dates = st.sampled_from(["", ON.isoformat(), "2026-05", "2031-01-01"])
    return [
        {
            "item": item,
            "count": str(draw(st.integers(1, 30))),
            "expiry": draw(dates),
            "condition": draw(st.sampled_from(["", "good"])),
        }
        for item in items
    ]
