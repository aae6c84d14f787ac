"""Cases and what was found for them as one tidy table."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import pandas as pd

from mci.scenario.numbers import NumberKind
from mci.scenario.quantity import read_value
from mci.surge.measures import MEASURES

if TYPE_CHECKING:
    from mci.scenario.numbers import Number
    from mci.surge.cases import Case, Row

__all__ = ["case_table", "value_of"]

#: A gauge that says so has a value that depends on the cylinder.
FULL = "full"


def value_of(number: Number, values: Mapping[str, str], start: int | None) -> float | str:
    """Return the value of a number in a case, in its unit; a word where it is one, or says ``full``.

    Parameters
    ----------
    values
        Texts by path; a number that is not named is as written.
    start
        Clock time of T+0 [min after midnight].
    """
    text = values.get(number.path)
    if number.kind is NumberKind.WORD or (number.text if text is None else text) == FULL:
        return number.text if text is None else text
    return number.value if text is None else read_value(number.kind, text, start)


def case_table(
    cases: Sequence[Case], rows: Sequence[Row], numbers: Sequence[Number], start: int | None
) -> pd.DataFrame:
    """Return one row a case: ``case``, ``role``, a column per number, every measure in order.

    Measures that a case does not have are NaN, words that it does not have are empty.

    Parameters
    ----------
    cases, rows
        Of equal length, in order.
    numbers
        What is varied.
    start
        Clock time of T+0 [min after midnight].
    """
    columns: dict[str, list[float | str]] = {
        "case": [case.key for case in cases],
        "role": [case.role for case in cases],
        **{number.path: [value_of(number, case.values, start) for case in cases] for number in numbers},
    }
    for measure in MEASURES:
        absent = math.nan if measure.unit else ""
        columns[measure.name] = [row.get(measure.name, absent) for row in rows]
    return pd.DataFrame(columns)
