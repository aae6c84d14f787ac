"""Axes are put together to cases, and the swings of single numbers are found among them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_numbers import number

from mci.errors import UsageError
from mci.scenario.numbers import Number, NumberKind
from mci.surge.cases import Case, Role
from mci.surge.combine import How, combine
from mci.surge.swings import AS_WRITTEN, add_swings, find_swings
from mci.surge.vary import Axis

SIZES = st.lists(st.integers(1, 6), min_size=1, max_size=4)
NUMBERS: dict[str, Number] = {
    "a": Number("a", NumberKind.COUNT, "5", 5, "", ""),
    "b": Number("b", NumberKind.DELAY, "0", 0, "min", ""),
    "w": Number("w", NumberKind.WORD, "evenly", math.nan, "", ""),
}


def _axis(path: str, count: int) -> Axis:
    return Axis(path, tuple(map(str, range(count))), tuple(map(float, range(count))))


@given(SIZES)
def test_number_of_cases(sizes: list[int]) -> None:
    """All combinations are the product, each once; one alone are the sum; keys are used once."""
    axes = [_axis(f"n{place}", size) for place, size in enumerate(sizes)]
    every = combine(axes)
    assert len({tuple(case.values.items()) for case in every}) == len(every) == math.prod(sizes)
    alone = combine(axes, How.ONE)
    assert len(alone) == sum(sizes)
    assert all(len(case.values) == 1 for case in alone)
    assert len({case.key for case in every}) == len(every)


def test_pairs_go_together() -> None:
    """Pairs join n-th with n-th, and need as many of each."""
    pairs = combine([_axis("a", 3), _axis("b", 3)], How.PAIRS)
    assert [dict(case.values) for case in pairs] == [{"a": str(n), "b": str(n)} for n in range(3)]
    with pytest.raises(UsageError, match="2 of a, 3 of b"):
        combine([_axis("a", 2), _axis("b", 3)], How.PAIRS)


def test_too_many_and_twice_are_refused() -> None:
    """The number of cases is told before any is made; a number varies on one axis only."""
    with pytest.raises(UsageError, match="1,000,000 cases"):
        combine([_axis("a", 1000), _axis("b", 1000)])
    with pytest.raises(UsageError, match="a is varied twice"):
        combine([_axis("a", 2), _axis("a", 2)])


def test_swings_are_ends_alone() -> None:
    """Every number swings to its lowest and highest value and every word to each, in cases made where none is there."""
    cases = combine([Axis("a", ("5", "9", "2"), (5, 9, 2)), Axis("b", ("1 h", "2 h"), (60, 120))])
    cases = (*cases, Case("mine", {"w": "early"}))
    whole = add_swings(cases, NUMBERS)
    assert whole[0] == Case(AS_WRITTEN, role=Role.AS_WRITTEN)
    assert whole[1:8] == cases
    made = {case.key: dict(case.values) for case in whole[8:]}
    assert made == {"a = 2": {"a": "2"}, "a = 9": {"a": "9"}}
    assert all(case.role is Role.SWING for case in whole[8:])
    swings = [(each.path, each.text, each.key) for each in find_swings(whole, NUMBERS)]
    assert swings == [
        ("a", "2", "a = 2"),
        ("a", "9", "a = 9"),
        ("b", "1 h", "1"),  # with 5 patients as written
        ("b", "2 h", "2"),
        ("w", "early", "mine"),
    ]


def test_what_is_as_written_needs_no_case() -> None:
    """The scenario itself shows the end of a range at which a number is as written; 60 min and 1 h are one value."""
    cases = (Case("1", {"b": "0"}), Case("2", {"b": "60 min", "a": "7"}), Case("3", {"b": "1 h"}))
    whole = add_swings(cases, NUMBERS)
    assert [case.key for case in whole] == [AS_WRITTEN, "1", "2", "3", "a = 7"]
    assert {each.key for each in find_swings(whole, NUMBERS)} == {AS_WRITTEN, "3", "a = 7"}


def test_names_of_swings_are_free() -> None:
    """A planner's own name is never used again."""
    whole = add_swings([Case("a = 7", {"a": "7", "b": "1 h"})], NUMBERS)
    assert [case.key for case in whole] == [AS_WRITTEN, "a = 7", "a = 7 alone", "b = 1 h"]


@given(st.lists(st.dictionaries(st.sampled_from("abc"), st.integers(0, 4), max_size=3), max_size=8))
def test_every_swing_is_shown_once(values: list[dict[str, int]]) -> None:
    """After adding, both ends of every number that varies are shown, and adding again adds nothing."""
    numbers = {path: number(path, NumberKind.COUNT) for path in "abc"}  # each 1 as written
    cases = [Case(str(n), {p: str(v) for p, v in each.items()}) for n, each in enumerate(values)]
    whole = add_swings(cases, numbers)
    shown = {(each.path, each.value) for each in find_swings(whole, numbers)}
    ranges = {path: [each[path] for each in values if path in each] for path in "abc"}
    assert shown == {(path, float(end(found))) for path, found in ranges.items() if found for end in (min, max)}
    assert add_swings(whole[1:], numbers) == whole
    assert len({case.key for case in whole}) == len(whole)
