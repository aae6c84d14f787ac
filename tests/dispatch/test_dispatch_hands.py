"""The people who change cylinders: on shift, one thing at a time, found as early or as late as can be."""

from __future__ import annotations

import dataclasses
import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from incidents import cylinders, ladder, patients, scenario

from mci.dispatch.hands import Booking, Hands
from mci.plan.things import ANYONE
from mci.scenario.model import Scenario, StaffShift

INF = math.inf
SHIFTS = st.lists(
    st.tuples(st.sampled_from([0.05, 1.0, 2.0]), st.integers(0, 20), st.sampled_from([25, 40, INF])),
    min_size=1,
    max_size=2,
)
#: What is asked for: as early as possible or as late as possible, at what moment, for how long, from when on.
ASKED = st.lists(
    st.tuples(st.booleans(), st.integers(0, 50), st.integers(1, 6), st.integers(0, 50)), min_size=1, max_size=12
)


def _incident(shifts: list[tuple[float, float, float]]) -> Scenario:
    made = scenario(
        horizon=60, ladders=[ladder("l", ("mask", 10, 1.0))], patients=[patients(1, "l")], lots=[cylinders(1, 600)]
    )
    staff = tuple(StaffShift(f"shift {n}", "a", *shift) for n, shift in enumerate(shifts))
    return dataclasses.replace(made, staff=staff)


def _people(shifts: list[tuple[float, float, float]]) -> dict[str, tuple[float, float]]:
    """Return from when to when everybody is on shift."""
    people = {}
    for n, (count, begin, end) in enumerate(shifts):
        for number in range(int(count)):
            people[f"shift {n}" if int(count) == 1 else f"shift {n} {number + 1}"] = begin, end
    return people


def _ends(
    people: dict[str, tuple[float, float]], done: list[Booking], minutes: int, earliest: float
) -> list[tuple[int, str]]:
    """Return every whole minute at which somebody could be done, by trying them all."""
    return [
        (begin + minutes, who)
        for who, (start, until) in people.items()
        for begin in range(120)
        if begin >= max(start, earliest) and begin + minutes <= until
        if all(begin + minutes <= each.begin or begin >= each.end for each in done if each.by == who)
    ]


@given(SHIFTS, ASKED)
def test_nothing_better_can_be_found(
    shifts: list[tuple[float, float, float]], asked: list[tuple[bool, int, int, int]]
) -> None:
    """The first end not before a moment, or the last one not after it, of all that could be; none only if none is."""
    hands, people, done = Hands(_incident(shifts)), _people(shifts), []
    for late, at, minutes, earliest in asked:
        ends = _ends(people, done, minutes, earliest)
        if late:
            best = max((end for end, _ in ends if end <= at), default=None)
            found = hands.prepare("a", at, minutes, earliest)
        else:
            best = min((end for end, _ in ends if end >= at), default=None)
            found = hands.look("a", at, minutes, earliest)
        assert (found.end if found else None) == best
        if found is not None:
            assert (found.end, found.by) in ends
            assert found.begin == found.end - minutes
            hands.book("a", found)
            done.append(found)


@given(SHIFTS, ASKED)
def test_one_thing_at_a_time_within_the_shift(
    shifts: list[tuple[float, float, float]], asked: list[tuple[bool, int, int, int]]
) -> None:
    """Whatever is booked, nobody does two things at once or works off shift."""
    hands, people = Hands(_incident(shifts)), _people(shifts)
    done: dict[str, list[Booking]] = {who: [] for who in people}
    for late, at, minutes, earliest in asked:
        found = (hands.prepare if late else hands.look)("a", at, minutes, earliest)
        if found is not None:
            hands.book("a", found)
            done[found.by].append(found)
    for who, bookings in done.items():
        start, until = people[who]
        ordered = sorted(bookings, key=lambda each: each.begin)
        assert all(start <= each.begin and each.end <= until for each in ordered)
        assert all(one.end <= two.begin for one, two in pairwise(ordered))


def test_what_is_freed_can_be_had_again() -> None:
    """A booking taken back leaves no trace."""
    hands = Hands(_incident([(1.0, 0, INF)]))
    first = hands.look("a", 5, 5, 0)
    assert first == Booking("shift 0", 0, 5)
    hands.book("a", first)
    assert hands.look("a", 5, 5, 0) == Booking("shift 0", 5, 10)
    hands.free("a", first)
    assert hands.look("a", 5, 5, 0) == first


def test_anyone_is_never_busy() -> None:
    """Where the planner set no limit, any number of changes go on at once."""
    hands = Hands(_incident([(INF, 0, INF)]))
    for _ in range(3):
        found = hands.look("a", 5, 5, 0)
        assert found == Booking(ANYONE, 0, 5)
        hands.book("a", found)


@pytest.mark.parametrize("people", [0.05, 0.99])
def test_part_of_a_person_is_nobody(people: float) -> None:
    """Half a person cannot change a cylinder; what takes no time needs nobody."""
    hands = Hands(_incident([(people, 0, INF)]))
    assert hands.look("a", 5, 2, 0) is None
    assert hands.prepare("a", 5, 2, 0) is None
    assert hands.look("a", 5, 0, 0) == Booking("", 5, 5)
    assert hands.look("a", 5, 0, 8) == Booking("", 8, 8)
    assert hands.prepare("a", 5, 0, 8) is None


def test_who_has_two_shifts_does_one_thing_at_a_time_in_both() -> None:
    """One name, away from T+20 to T+30: nobody is booked in between, and after it not twice at once."""
    made = _incident([(1.0, 0, 20)])
    again = dataclasses.replace(made.staff[0], available_from=30, available_until=INF)
    hands = Hands(dataclasses.replace(made, staff=(*made.staff, again)))
    found = []
    for at in (18, 18, 18, 35, 35):
        booking = hands.look("a", at, 5, 10)
        assert booking is not None
        hands.book("a", booking)
        found.append((booking.by, booking.begin, booking.end))
    assert found == [
        ("shift 0", 13, 18),
        ("shift 0", 30, 35),
        ("shift 0", 35, 40),
        ("shift 0", 40, 45),
        ("shift 0", 45, 50),
    ]
