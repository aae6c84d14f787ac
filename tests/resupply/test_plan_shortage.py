"""Shortage windows of a plan: whole patients by hand, blips, and the judge's patient-minutes."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st
from incidents import ladder, patients, scenario, vessel
from planned import plan

from mci.demand.people import name_people
from mci.replay.score import coverage_table
from mci.replay.verdict import Service
from mci.resupply.plan_shortage import SHORTEST, plan_shortage, plan_windows
from mci.scenario.model import Scenario, Spell

COLUMNS = ["start_min", "end_min", "most_below_target", "most_without", "below_patient_min", "without_patient_min"]
RUNGS = (("mask", 10.0, 1.0), ("cannula", 4.0, 0.5))
Piece = tuple[float, float, bool]  # start, end, at target


def _incident(count: int = 3) -> Scenario:
    batch = patients(count, "one")
    return scenario(horizon=60, ladders=[ladder("one", *RUNGS)], patients=[batch], lots=[])


def _services(*people: Sequence[Piece], area: str = "a", category: str = "immediate") -> list[Service]:
    """Return what each patient of the batch gets."""
    names = ["batch"] if len(people) == 1 else [f"batch {number + 1}" for number in range(len(people))]
    return [
        Service(name, area, category, "one", "mask", 10, 1.0 if top else 0.5, top, "s", "r", start, end)
        for name, pieces in zip(names, people, strict=True)
        for start, end, top in pieces
    ]


def test_three_patients_by_hand() -> None:
    """One on a lower rung from T+20, one without from T+30 to T+40 and one second at T+10, one well throughout.

    T+20 to T+30: 1 below; T+30 to T+40: 2 below, 1 of them without; T+40 to T+60: 1 below.  The second is in none.
    """
    served = _services(
        [(0, 20, True), (20, 60, False)],
        [(0, 10, True), (10 + 1 / 60, 30, True), (40, 60, True)],
        [(0, 60, True)],
    )
    windows = plan_windows(_incident(), served)
    assert windows[COLUMNS].to_numpy().tolist() == [
        [20, 30, 1, 0, 10, 0],
        [30, 40, 2, 1, 10, 10],
        [40, 60, 1, 0, 20, 0],
    ]
    assert set(windows["area"]) == {"a"}
    assert set(windows["category"]) == {"immediate"}


def test_a_gap_of_seconds_tears_no_window_apart() -> None:
    """Served for 30 s amid 20 min without: one window, 19.5 patient-minutes."""
    windows = plan_windows(_incident(1), _services([(0, 10, True), (20, 20.5, True), (30, 60, True)]))
    assert windows[COLUMNS].to_numpy().tolist() == [[10, 30, 1, 1, 0, 19.5]]


def test_one_after_the_other_is_one_window() -> None:
    """The first is without to T+30, the second from T+30.5: one window of one patient at a time."""
    windows = plan_windows(_incident(2), _services([(30, 60, True)], [(0, 30.5, True)]))
    assert windows[COLUMNS].to_numpy().tolist() == [[0, 60, 1, 1, 0, 59.5]]


def test_served_now_and_then_for_seconds_is_short_throughout() -> None:
    """Half a minute with and half a minute without, for an hour: no blip hides that."""
    flicker = [(minute, minute + 0.5, True) for minute in range(60)]
    windows = plan_windows(_incident(1), _services(flicker))
    assert windows[COLUMNS].to_numpy().tolist() == [[0.5, 60, 1, 1, 0, 30]]


def test_windows_of_seconds_are_joined_to_their_neighbour() -> None:
    """One on a lower rung from T+10, the other without from T+10.5: what lasts 30 s is no window of its own."""
    windows = plan_windows(_incident(2), _services([(0, 10, True), (10, 60, False)], [(0, 10.5, True)]))
    assert windows[COLUMNS].to_numpy().tolist() == [[10, 60, 2, 1, 50, 49.5]]


def test_who_moves_is_short_in_each_place() -> None:
    """Nobody gets anything, first at a and from T+20 at b: a window at each."""
    batch = patients(1, "one", then=(Spell(20, "b", "delayed", "one"),))
    made = scenario(horizon=60, ladders=[ladder("one", *RUNGS)], patients=[batch], lots=[], areas=("a", "b"))
    windows = plan_windows(made, [])
    assert windows[["area", "category", *COLUMNS[:2]]].to_numpy().tolist() == [
        ["a", "immediate", 0, 20], ["b", "delayed", 20, 60],
    ]  # fmt: skip


def test_all_at_target_has_no_window() -> None:
    """Nobody short: no row, all columns."""
    windows = plan_windows(_incident(1), _services([(0, 60, True)]))
    assert windows.empty
    assert [name in windows for name in COLUMNS] == [True] * len(COLUMNS)
    assert plan_shortage(_incident(1), _services([(0, 60, True)])).empty


def _pieces() -> st.SearchStrategy[list[Piece]]:
    """Make services of one patient that do not overlap, in steps of a tenth of a minute."""

    def cut(moments: list[int], kinds: list[int]) -> list[Piece]:
        pairs = zip(sorted(moments), sorted(moments)[1:], kinds, strict=False)
        return [(start / 10, end / 10, kind == 1) for start, end, kind in pairs if kind < 2]

    moments = st.lists(st.integers(0, 600), min_size=2, max_size=14, unique=True)
    return st.builds(cut, moments, st.lists(st.integers(0, 2), min_size=14, max_size=14))


@given(st.lists(_pieces(), min_size=3, max_size=3), st.sampled_from([0.0, SHORTEST]))
def test_windows_and_blips_add_up_to_the_judges_minutes(people: list[list[Piece]], shortest: float) -> None:
    """Patient-minutes without, in all windows and outside them, are those of the coverage; outside are blips only."""
    served, incident = _services(*people), _incident()
    windows = plan_windows(incident, served, shortest)
    told = coverage_table(name_people(incident), served).iloc[-1]
    outside, longest = 0.0, 0.0
    spans = [(round(10 * row["start_min"]), round(10 * row["end_min"])) for row in windows.to_dict("records")]
    inside = {tenth for start, end in spans for tenth in range(start, end)}
    for pieces in people:
        on = {tenth for start, end, _ in pieces for tenth in range(round(10 * start), round(10 * end))}
        run = 0
        for tenth in range(600):
            run = 0 if tenth in on or tenth in inside else run + 1
            outside, longest = outside + (run > 0) / 10, max(longest, run / 10)
    assert windows["without_patient_min"].sum() + outside == pytest.approx(told["without_patient_min"], abs=1e-6)
    assert windows["below_patient_min"].sum() <= told["below_target_patient_min"] + 1e-6
    assert longest < max(shortest, 0.1)
    assert all(end - start >= 10 * shortest for start, end in spans)


def test_a_plan_from_end_to_end_adds_up() -> None:
    """Five patients, four outlets, 900 L for an hour: without blips left out, minutes are those of the verdict."""
    incident = scenario(horizon=60, ladders=[ladder("one", *RUNGS)], patients=[patients(5, "one")], lots=[vessel(900)])
    verdict = plan(incident).verdict
    windows, told = plan_windows(incident, verdict.services, 0.0), verdict.coverage.iloc[-1]
    assert windows["without_patient_min"].sum() == pytest.approx(told["without_patient_min"])
    assert windows["below_patient_min"].sum() == pytest.approx(told["below_target_patient_min"])
    assert told["without_patient_min"] > 0
