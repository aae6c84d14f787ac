"""Cases of the ferry fire that are put side by side: each planned once for all tests that look at them."""

from __future__ import annotations

import functools
from pathlib import Path

import mci
from mci.report.beside_cases import Chosen

__all__ = ["PEOPLE", "TRUCK", "chosen"]

TRUCK, PEOPLE = "deliveries.county oxygen truck.at", "staff.quay.people"
_CASES = {
    "as written": ("as written", {}),
    "late": ("truck at T+160 and one person", {TRUCK: "T+160", PEOPLE: "1"}),
    "calm": ("five patients only", {"patients.lounge.count": "1", "patients.lounge, badly affected.count": "1"}),
}


@functools.cache
def chosen(key: str) -> Chosen:
    """Return one of the cases, planned."""
    draft = mci.read_draft(Path(__file__).parent.parent / "scenarios" / "ferry-fire.yaml")
    title, values = _CASES[key]
    changes = tuple((path, draft.find(path).text, text) for path, text in values.items())
    href = "" if key == "as written" else f"{key}/report.html"
    return Chosen(key, title, changes, mci.run(draft.scenario(values)), href)
