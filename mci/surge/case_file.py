"""Cases that a planner names in a table: a row for each, a column for every number that differs."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from mci.errors import InputError, Mistake
from mci.scenario.known import nearest
from mci.scenario.numbers import Number, plain_path
from mci.scenario.quantity import read_value
from mci.scenario.table import Table, read_table
from mci.surge.cases import Case
from mci.surge.swings import AS_WRITTEN
from mci.surge.vary import refuse_more
from mci.units import UnitError

__all__ = ["read_cases"]

_NAME = "case"


def read_cases(path: Path, numbers: Mapping[str, Number], *, start: int | None = None) -> tuple[Case, ...]:
    """Read cases from a CSV file or the first sheet of a workbook.

    The column ``case`` names each; every other column is called like the path of a number.  An empty cell means as
    written.

    Parameters
    ----------
    numbers
        The numbers of the scenario, by path.
    start
        Clock time of T+0 [min after midnight], for moments written as clock times.

    Raises
    ------
    InputError
        With every mistake, each with its row and column.
    UsageError
        If there are too many cases.
    """
    table = read_table(path, str(path))
    known = {plain_path(each): number for each, number in numbers.items()}
    mistakes = _wrong_columns(table, known)
    if not table.rows:
        mistakes.append(table.mistake((), "holds no cases", "Write one case a row."))
    refuse_more(len(table.rows))
    cases: dict[str, Case] = {}
    for place, row in enumerate(table.rows):
        key = row.get(_NAME, "")
        if _NAME in table.columns:
            mistakes += _wrong_name(table, place, key, cases)
        found = {known[column]: text for column, text in row.items() if column in known}
        mistakes += [
            table.mistake((place, plain_path(number.path)), wrong, value=text)
            for number, text in found.items()
            if (wrong := _wrong_value(number, text, start))
        ]
        cases[key] = Case(key, {number.path: text for number, text in found.items()})
    if mistakes:
        raise InputError(mistakes)
    return tuple(cases.values())


def _wrong_columns(table: Table, known: Mapping[str, Number]) -> list[Mistake]:
    mistakes = []
    if _NAME not in table.columns:
        mistakes.append(table.mistake((), f"the column '{_NAME}' is missing", "It names each case."))
    for column in table.columns:
        if column and column != _NAME and column not in known:
            hint = f"{nearest(column, known)} `mci check FILE --numbers` lists them.".strip()
            mistakes.append(table.mistake((None, column), "is not the path of a number", hint, column))
    return mistakes


def _wrong_name(table: Table, place: int, key: str, others: Mapping[str, Case]) -> list[Mistake]:
    if not key:
        return [table.mistake((place, _NAME), "a case needs a name")]
    if key.lower() == AS_WRITTEN:
        return [table.mistake((place, _NAME), "is the name of the scenario itself", "Call it otherwise.", key)]
    if key in others:
        return [table.mistake((place, _NAME), "names two cases", "Use every name once.", key)]
    return []


def _wrong_value(number: Number, text: str, start: int | None) -> str:
    try:
        read_value(number.kind, text, start)
    except UnitError as error:
        return str(error)
    return ""
