"""Where coverage breaks is found by halving: exactly, with few cases, and whatever the coverage is like."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_numbers import number

from mci.scenario.numbers import NumberKind
from mci.scenario.quantity import read_value, write_value
from mci.surge.breaks import Break, Point, find_breaks
from mci.surge.cases import PLANNED, Case, Role, Row

KINDS = {
    "heads": NumberKind.COUNT,
    "stock": NumberKind.STOCK,
    "gauge": NumberKind.SHARE,
    "delay": NumberKind.DELAY,
    "begin": NumberKind.MOMENT,
    "flow": NumberKind.FLOW,
    "pattern": NumberKind.WORD,
}
NUMBERS = {path: number(path, kind) for path, kind in KINDS.items()}
#: How closely each is found, in its unit.
STEPS = {"heads": 1.0, "stock": 1.0, "gauge": 0.01, "delay": 1.0, "begin": 1.0}

#: Coverage by category at a value; none where it cannot be planned.
Cover = Callable[[float], Mapping[str, float] | None]


class Made:
    """Made coverage along some numbers, counting what it is asked."""

    def __init__(self, **covers: Cover) -> None:
        self._covers = covers
        self.asked: list[Case] = []

    def __call__(self, cases: Sequence[Case], *, here: bool = False) -> list[Row]:
        """Evaluate cases as an engine does."""
        assert here, "halving waits for every answer"
        self.asked += cases
        return [self._row(*each) for case in cases for each in case.values.items()]

    def points(self, values: Mapping[str, Sequence[float]]) -> dict[str, list[Point]]:
        """Return what is known beforehand at some values."""
        found = {path: [(v, write_value(KINDS[path], v)) for v in some] for path, some in values.items()}
        return {path: [(v, text, self._row(path, text)) for v, text in some] for path, some in found.items()}

    def find(self, goal: float = 1.0, **values: Sequence[float]) -> list[Break]:
        """Find the breaks, and hold what is always true of them."""
        breaks, cases, rows = find_breaks(NUMBERS, self.points(values), goal, self)
        assert cases == self.asked
        assert rows == [self._row(*each) for case in cases for each in case.values.items()]
        assert len({case.key for case in cases}) == len(cases)
        assert {case.role for case in cases} <= {Role.BETWEEN}
        for each in breaks:
            self._hold(each, goal, values[each.number])
        return breaks

    def _hold(self, found: Break, goal: float, values: Sequence[float]) -> None:
        """Hold that coverage is at the goal where it is kept, and is not where it is lost."""
        for value, kept in ((found.kept_to, True), (found.lost_at, False)):
            if not math.isnan(value):
                cover = self._covers[found.number](value)
                assert cover is not None
                assert (cover[found.category] >= goal - 1e-6) is kept
                assert min(values) <= value <= max(values)
        if math.isnan(found.lost_at):
            assert not found.lost_values
        else:
            text = found.lost_values[found.number]
            assert set(found.lost_values) == {found.number}
            assert read_value(KINDS[found.number], text) == pytest.approx(found.lost_at, abs=1e-9)

    def _row(self, path: str, text: str) -> Row:
        cover = self._covers[path](read_value(KINDS[path], text))
        if cover is None:
            return {"status": "cannot be planned"}
        return {"status": PLANNED, **{f"best_{category}": share for category, share in cover.items()}}


def _step(at: float, *, up: bool = True, low: float = 0.7, category: str = "all") -> Cover:
    """Return coverage that is lost from a value on as the number grows; as it falls below it if not ``up``."""
    return lambda value: {category: low if (value >= at) is up else 1.0}


def _one(breaks: Sequence[Break]) -> Break:
    assert len(breaks) == 1
    return breaks[0]


@given(st.integers(1, 500), st.integers(1, 500), st.data(), st.booleans())
def test_whole_numbers_break_exactly(low: int, span: int, data: st.DataObject, up: bool) -> None:
    """A step anywhere in a range of counts is found to the last one, with as few cases as halving needs."""
    at = data.draw(st.integers(low + 1, low + span))
    made = Made(heads=_step(at, up=up))
    found = _one(made.find(heads=[low, low + span]))
    assert (found.kept_to, found.lost_at) == ((at - 1, at) if up else (at, at - 1))
    assert (found.number, found.category, found.direction) == ("heads", "all", "up" if up else "down")
    assert len(made.asked) <= math.ceil(math.log2(span)) + 1


@given(
    st.sampled_from(sorted(STEPS)),
    st.floats(0, 1),
    st.floats(0.02, 1),
    st.floats(0.001, 0.999),
    st.booleans(),
    st.floats(0.1, 1),
)
def test_any_range_breaks_within_a_step(
    path: str,
    low: float,
    span: float,
    place: float,
    up: bool,
    goal: float,
) -> None:
    """In ranges that are no multiple of the step too, the two values are at most a step apart, with few cases."""
    scale = 0.5 if path == "gauge" else 100.0
    whole = path in ("heads", "stock")
    first, last = (round(scale * each, 0 if whole else 4) for each in (low, low + span))
    at = first + place * (last - first)
    made = Made(**{path: _step(at, up=up, low=goal - 0.01)})
    found = _one(made.find(goal, **{path: [first, last]}))
    assert abs(found.lost_at - found.kept_to) <= STEPS[path] + 1e-9
    assert min(found.kept_to, found.lost_at) <= at <= max(found.kept_to, found.lost_at)
    assert len(made.asked) <= math.ceil(math.log2(max(1.0, (last - first) / STEPS[path]))) + 1


@given(st.floats(0.011, 0.99), st.booleans())
def test_shares_break_within_a_hundredth(at: float, up: bool) -> None:
    """A share between 0 and 1 is asked in hundredths, at most eight times."""
    made = Made(gauge=_step(at, up=up))
    found = _one(made.find(gauge=[0.0, 1.0]))
    assert abs(found.lost_at - found.kept_to) == pytest.approx(0.01)
    assert len(made.asked) <= 8


@given(st.floats(1.0, 40.0), st.floats(0.02, 0.98), st.lists(st.floats(0.1, 0.9), max_size=3))
def test_other_kinds_break_within_a_64th(span: float, place: float, between: list[float]) -> None:
    """What has no step of its own is found to a part of its range, whatever was known within it."""
    last, *others = (round(1.0 + share * span, 6) for share in (1.0, *between))
    at = 1.0 + place * span
    made = Made(flow=_step(at))
    found = _one(made.find(flow=[1.0, *others, last]))
    assert 0 < found.lost_at - found.kept_to <= (last - 1.0) / 64 + 1e-9
    assert found.kept_to < at <= found.lost_at
    assert len(made.asked) <= 7


def test_always_and_never_covered_need_no_cases() -> None:
    """Where coverage is kept at both ends, or at neither, nothing is asked."""
    made = Made(heads=lambda _: {"all": 1.0}, gauge=lambda _: {"all": 0.4})
    always, never = made.find(heads=[3, 50], gauge=[0.2, 0.9])
    assert (always.kept_to, math.isnan(always.lost_at), always.lost_values) == (50, True, {})
    assert (math.isnan(never.kept_to), never.lost_at, never.lost_values) == (True, 0.2, {"gauge": "0.2"})
    assert not made.asked


def test_the_goal_is_what_is_lost() -> None:
    """A lower goal is lost later; what solvers leave is no loss."""

    def falling(value: float) -> Mapping[str, float]:
        return {"all": 1.0 - 5e-7 - 0.01 * value}

    assert [_one(Made(heads=falling).find(goal, heads=[0, 40])).kept_to for goal in (1.0, 0.95, 0.9)] == [0, 5, 10]


def test_categories_break_each_at_their_own() -> None:
    """Each category has a break of its own, those of one round are asked together, and each case serves all."""
    ends = {"immediate": 30, "delayed": 21, "minimal": 9, "all": 9}

    def cover(value: float) -> Mapping[str, float]:
        return {category: float(value < end) for category, end in ends.items()}

    made = Made(heads=cover)
    assert {each.category: each.lost_at for each in made.find(heads=[1, 40])} == ends
    assert len(made.asked) <= len(set(ends.values())) * (math.ceil(math.log2(39)) + 1)
    assert len(made.asked) == len({case.values["heads"] for case in made.asked})


def test_a_category_that_does_not_always_occur_has_no_break() -> None:
    """Where some value leaves nobody of a category, nothing is said of it."""
    made = Made(heads=lambda value: {"all": float(value < 7), **({"minimal": 0.0} if value > 5 else {})})
    assert [(each.category, each.lost_at) for each in made.find(heads=[1, 9])] == [("all", 7)]


def test_words_and_single_values_are_left_out() -> None:
    """Words have no order, and one value is no range, nor are two of which one cannot be planned."""
    made = Made(heads=_step(5), gauge=lambda value: {"all": 1.0} if value else None)
    points = made.points({"heads": [3], "gauge": [0.0, 1.0]})
    lost: Row = {"status": PLANNED, "best_all": 0.5}
    kept: Row = {"status": PLANNED, "best_all": 1.0}
    points["pattern"] = [(math.nan, "early", lost), (math.nan, "evenly", kept)]
    points["stock"] = [(math.inf, "unlimited", kept), (4.0, "4", lost)]
    assert find_breaks(NUMBERS, points, 1.0, made) == ([], [], [])


def test_known_values_are_not_asked_again() -> None:
    """Where every value is known, the break is read off; where some are, only the gap between two is halved."""
    made = Made(heads=_step(7))
    assert _one(made.find(heads=range(1, 12))).lost_at == 7
    assert not made.asked
    assert _one(made.find(heads=[1, 5, 8, 12])).lost_at == 7
    assert {case.values["heads"] for case in made.asked} <= {"6", "7"}


def test_a_case_that_fails_ends_the_search() -> None:
    """What cannot be planned is asked once; the break is then between what could be, and other numbers go on."""

    def gap(value: float) -> Mapping[str, float] | None:
        return None if 10 <= value <= 20 else {"all": float(value < 15)}

    made = Made(heads=gap, stock=_step(13))
    by_heads, by_stock = made.find(heads=[1, 31], stock=[1, 31])
    assert by_heads.kept_to < 10 < 20 < by_heads.lost_at
    assert (by_stock.kept_to, by_stock.lost_at) == (12, 13)
    assert len({case.key for case in made.asked}) == len(made.asked)


@given(st.lists(st.booleans(), min_size=3, max_size=60))
def test_coverage_that_comes_and_goes_has_a_break(kept: list[bool]) -> None:
    """Where coverage is lost more than once, one of those places is found, a step wide, and the search ends."""
    made = Made(heads=lambda value: {"all": float(kept[round(value)])})
    found = _one(made.find(heads=[0, len(kept) - 1]))
    if kept[0] is kept[-1]:
        assert math.isnan(found.lost_at if kept[0] else found.kept_to)
    else:
        assert found.lost_at - found.kept_to == (1 if kept[0] else -1)
    assert len(made.asked) <= math.ceil(math.log2(len(kept) - 1)) + 1


def test_several_numbers_share_their_rounds() -> None:
    """Ranges are halved side by side; a moment that is asked for is written as one."""
    made = Made(heads=_step(17), delay=_step(45.5), begin=_step(33, up=False))
    found = {each.number: each for each in made.find(heads=[1, 64], delay=[0, 90], begin=[0, 120])}
    assert (found["heads"].kept_to, found["heads"].lost_at) == (16, 17)
    assert found["delay"].kept_to < 45.5 <= found["delay"].lost_at
    assert (found["begin"].kept_to, found["begin"].lost_at, found["begin"].direction) == (33, 32, "down")
    assert found["begin"].lost_values == {"begin": "T+32"}
    assert {case.key for case in made.asked} >= {"heads = 16, between", "heads = 17, between"}
