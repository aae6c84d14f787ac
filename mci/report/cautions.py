"""The cautions that go with every result, read from a data file that names the source of each."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from importlib.resources import files

__all__ = ["AID_STATEMENT", "Caution", "read_cautions"]

AID_STATEMENT = (
    "A planning and training aid: it decides no patient's care. "
    "Local protocol, medical direction and licensed practice decide."
)


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution: a catchword, the sentence, where it comes from and how far that was checked."""

    short: str
    text: str
    source: str
    basis: str


def read_cautions(name: str = "cautions.csv") -> tuple[Caution, ...]:
    """Read the cautions of a data file in the order in which they are shown."""
    text = files("mci.report").joinpath(name).read_text(encoding="utf-8")
    return tuple(Caution(**row) for row in csv.DictReader(text.splitlines()))
