"""Numbers of no particular scenario, for tests of what varies."""

from __future__ import annotations

import pandas as pd

from mci.scenario.numbers import Number, NumberKind
from mci.scenario.quantity import UNITS


def number(path: str, kind: NumberKind) -> Number:
    return Number(path, kind, "", 1.0, UNITS.get(kind, ""), "")


def numbers(**kinds: NumberKind) -> dict[str, Number]:
    return {path: number(path, kind) for path, kind in kinds.items()}


def table(values: object, **more: object) -> pd.DataFrame:
    """Make a table of samples in order, with one measure ``harm``."""
    harm = pd.Series(values, dtype=float)
    keys = [str(each) for each in range(1, len(harm) + 1)]
    return pd.DataFrame({"key": keys, "status": "planned", "harm": harm, **more})
