"""Doubts about who is served first while oxygen is short."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.scenario.doubt import Doubt, Question
from mci.scenario.doubts_gas import is_short
from mci.scenario.litre import Value, values
from mci.scenario.model import CATEGORIES

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

__all__ = ["ORDER_RULES"]

_MORE = 1 + 1e-9  # equal values may differ in their last digits


def milder_first(q: Question) -> Iterator[Doubt]:
    """By weights and credits a litre buys more for a lower category, or for a ladder that prescribes less."""
    for area, stays, lots in q.areas():
        if not lots or not is_short(q.scenario, area, stays, lots):
            continue
        there = values(q.scenario, stays)
        across, within = _across(there), ", ".join(_within(there))
        if across:
            what = across + (f"; and {within}, which only credits change" if within else "")
            yield Doubt("milder-first", what, area)
        elif within:
            first = "by what a litre buys, a weighted plan that is short of oxygen serves, "
            yield Doubt("milder-first", f"{first}{within}, who are prescribed more; only credits change that", area)


def _widest(pairs: Iterable[tuple[Value, Value]]) -> tuple[Value, Value] | None:
    """Return the pair of which a litre buys most more for the first, if it does for any."""
    found = [(first, then) for first, then in pairs if first.per_litre > _MORE * then.per_litre]
    return max(found, key=lambda pair: pair[0].per_litre - pair[1].per_litre, default=None)


def _across(there: Sequence[Value]) -> str:
    """Say for which lower category a litre buys more than for a higher one."""
    rank = CATEGORIES.index
    pair = _widest((a, b) for a in there for b in there if rank(a.category) > rank(b.category))
    if pair is None:
        return ""
    low, high = pair
    return (
        f"by weight x credit a litre buys more for {low.category} on {_named(low)} than for {high.category} on "
        f"{_named(high)}: while oxygen is short, a weighted plan serves {low.category} there first (change the "
        "weights, or plan with --priority strict)"
    )


def _within(there: Sequence[Value]) -> Iterator[str]:
    """Say where, in one category, a ladder that prescribes less comes before one that prescribes more."""
    for category in CATEGORIES:
        here = [value for value in there if value.category == category]
        pair = _widest((a, b) for a in here for b in here if a.top_lpm < b.top_lpm)
        if pair is not None:
            yield f"within {category} {_named(pair[0])} before {_named(pair[1])}"


def _named(value: Value) -> str:
    return f"'{value.ladder}' ({value.per_litre:.3g} a litre)"


ORDER_RULES = (milder_first,)
