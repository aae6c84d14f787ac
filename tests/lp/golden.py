"""Rows of the programme as lines of text, so that a human can check them."""

from __future__ import annotations

from collections.abc import Sequence

from mci.demand.groups import count_demand
from mci.lp.care_rows import care_rows
from mci.lp.index import make_index
from mci.lp.programme import Columns, Rows
from mci.lp.supply_rows import supply_rows
from mci.lp.variables import make_variables
from mci.scenario.model import Scenario

__all__ = ["families", "lines", "one_more", "written"]


def families(scenario: Scenario) -> tuple[Columns, list[Rows]]:
    """Return the columns and every family of rows of an incident."""
    index = make_index(scenario, count_demand(scenario))
    columns = Columns()
    variables = make_variables(index, columns)
    return columns, [*supply_rows(index, variables), *care_rows(index, variables)]


def _term(value: float, name: str) -> str:
    sign = "+" if value > 0 else "-"
    return f"{sign} {name}" if abs(value) == 1 else f"{sign} {abs(value):g} {name}"


def lines(scenario: Scenario, family: str) -> list[str]:
    """Return the rows of an incident whose names begin with the family."""
    return written(*families(scenario), family)


def written(columns: Columns, every: Sequence[Rows], family: str) -> list[str]:
    """Return the rows whose names begin with the family, one line each: ``name: + a - 2 b <= 3``."""
    found = []
    for rows in every:
        for number, (name, rhs) in enumerate(zip(rows.names, rows.rhs.tolist(), strict=True)):
            if name.split("_")[0] == family:
                terms = [
                    _term(value, columns.names[column])
                    for row, column, value in zip(rows.row, rows.column, rows.value, strict=True)
                    if row == number
                ]
                found.append(f"{name}: {' '.join(terms)} {'=' if rows.equal else '<='} {rhs:g}")
    return found


def one_more(scenario: Scenario) -> dict[str, list[str]]:
    """Return per resource which rows one more of it widens, and by how much."""
    found: dict[str, list[str]] = {}
    for rows in families(scenario)[1]:
        for resource, change in rows.grows.items():
            widened = [f"{name} +{by:g}" for name, by in zip(rows.names, change.tolist(), strict=True) if by]
            found.setdefault(f"{resource.kind} {resource.area} {resource.key}", []).extend(widened)
    return found
