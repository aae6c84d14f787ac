"""How long a cache carries a load: worked out on paper, against a crew played through, and in what always holds."""

from __future__ import annotations

import datetime
import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mci.catalogue.find import find_cylinder, find_outlet_set
from mci.catalogue.model import OutletSet
from mci.errors import UsageError
from mci.stocking.inspection_cover import Cover, Load, find_cover, parse_load
from mci.stocking.inspection_file import Listed
from mci.stocking.inspection_result import CylinderItem

YOKE = find_outlet_set("yoke regulator 0-15 L/min")
THREADED = find_outlet_set("threaded regulator 0-15 L/min")
MANIFOLD = find_outlet_set("manifold 3 outlets")
Regulators = list[tuple[int, OutletSet]]


def held(key: str, *litres: float) -> list[CylinderItem]:
    """Return cylinders of a kind with so many usable litres."""
    kind = find_cylinder(key)
    tested = datetime.date(2025, 1, 1)
    return [
        CylinderItem(Listed("f", n), str(n), "", kind, 1.0, kind.valve, kind.built_in, tested, tested, one, one)
        for n, one in enumerate(litres)
    ]


#: Load, cylinders, regulators, and minutes, minutes by litres alone, and patients at once, each worked out on paper.
BY_HAND: list[tuple[str, list[CylinderItem], Regulators, tuple[float, float, int]]] = [
    ("1 x 10 L/min", held("US E", 500), [(1, YOKE)], (50, 50, 1)),
    ("1 x 10 L/min", held("US E", 500, 300), [(1, YOKE)], (80, 80, 1)),
    ("2 x 10 L/min", held("US E", 600, 600), [(1, YOKE)], (0, 60, 1)),
    ("2 x 15 L/min", held("US E", 600, 300), [(2, YOKE)], (20, 30, 2)),
    ("2 x 10 L/min", held("US E", 600), [(4, YOKE)], (0, 30, 1)),
    ("3 x 10 L/min", held("US E", 600), [(1, MANIFOLD)], (20, 20, 3)),
    ("4 x 10 L/min", held("US E", 600), [(1, MANIFOLD)], (0, 15, 3)),
    ("1 x 20 L/min", held("US E", 600), [(1, YOKE)], (0, 30, 0)),
    ("1 x 10 L/min", held("US H", 6000), [(1, YOKE)], (0, 600, 0)),
    ("2 x 10 L/min", held("US E", 200) + held("US H", 6000), [(1, YOKE), (1, THREADED)], (20, 310, 2)),
    ("1 x 15 L/min, 1 x 5 L/min", held("US E", 300) + held("US H", 6000), [(1, YOKE), (1, THREADED)], (60, 315, 2)),
    ("1 x 10 L/min", held("UK CD", 400), [], (40, 40, 1)),
    ("1 x 10 L/min", held("UK CD", 400, 400) + held("US E", 200), [(1, YOKE)], (100, 100, 1)),
    ("2 x 10 L/min", [], [(1, YOKE)], (0, 0, 0)),
    ("1 x 10 L/min", held("US E", 600), [], (0, 60, 0)),
]


@pytest.mark.parametrize(("load", "cylinders", "regulators", "paper"), BY_HAND)
def test_cover_is_that_of_paper(
    load: str, cylinders: list[CylinderItem], regulators: Regulators, paper: tuple[float, float, int]
) -> None:
    """One outlet to a patient, one regulator to a cylinder, and no litre more than there is."""
    cover = find_cover(parse_load(load), cylinders, regulators)
    assert (cover.minutes, cover.by_litres, cover.connected) == pytest.approx(paper)


def played(load: Load, litres: list[float], regulators: int) -> float:
    """Play a crew with single outlets of one kind minute by minute: whoever draws most takes the fullest cylinder."""
    flows = [flow for count, flow in load.patients for _ in range(count)]
    left = sorted(litres, reverse=True)
    if len(flows) > regulators:
        return 0
    for minute in itertools.count():
        left.sort(reverse=True)
        if len(left) < len(flows) or any(have < flow for have, flow in zip(left, flows, strict=False)):
            return minute
        left = [have - flow for have, flow in itertools.zip_longest(left, flows, fillvalue=0.0)]
    raise AssertionError


caches = st.lists(st.integers(1, 600).map(float), min_size=1, max_size=6)
loads = st.lists(st.tuples(st.integers(1, 3), st.sampled_from([2.0, 6.0, 15.0])), min_size=1, max_size=2).map(
    lambda parts: parse_load(", ".join(f"{count} x {flow} L/min" for count, flow in parts))
)


@settings(max_examples=40)
@given(loads, caches, st.integers(1, 6))
def test_no_crew_beats_the_cover(load: Load, litres: list[float], regulators: int) -> None:
    """A crew that changes cylinders every minute, where all cylinders are alike up to what is in them."""
    cover = find_cover(load, held("US E", *litres), [(regulators, YOKE)])
    assert played(load, litres, regulators) <= cover.minutes + 1e-6
    assert cover.minutes <= cover.by_litres + 1e-6
    assert (cover.minutes > 0) == (cover.connected == load.count)


@given(st.integers(1, 5), st.integers(1, 40), st.integers(1, 4))
def test_crew_with_like_cylinders_reaches_the_cover(patients: int, tens: int, rounds: int) -> None:
    """As many full cylinders as patients, once or several times over: the best that can be is what a crew does."""
    load, litres = parse_load(f"{patients} x 10 L/min"), [10.0 * tens] * patients * rounds
    cover = find_cover(load, held("US E", *litres), [(patients, YOKE)])
    assert cover.minutes == pytest.approx(tens * rounds)
    assert played(load, litres, patients) == tens * rounds


@settings(max_examples=30)
@given(loads, caches, st.integers(0, 4), st.integers(0, 2))
def test_more_of_anything_never_covers_less(load: Load, litres: list[float], yokes: int, manifolds: int) -> None:
    """One more cylinder, regulator or manifold; and a load that is half as large lasts at least as long."""

    def minutes(of: Load, cylinders: list[float], *counts: int) -> Cover:
        return find_cover(of, held("US E", *cylinders), list(zip(counts, (YOKE, MANIFOLD), strict=True)))

    now = minutes(load, litres, yokes, manifolds)
    more = [
        minutes(load, [*litres, 300.0], yokes, manifolds),
        minutes(load, litres, yokes + 1, manifolds),
        minutes(load, litres, yokes, manifolds + 1),
        minutes(Load(tuple((count, flow / 2) for count, flow in load.patients)), litres, yokes, manifolds),
    ]
    assert all(one.minutes >= now.minutes - 1e-6 for one in more)
    assert all(one.connected >= now.connected for one in more)


def test_load_is_read_in_words() -> None:
    """Patients at flows, in any order; equal flows are added; other units of flow too."""
    load = parse_load("4 x 2 L/min, 6 × 15 lpm,1*2 L/min, 1 x 60 L/h")
    assert load.patients == ((6, 15.0), (5, 2.0), (1, 1.0))
    assert load.count == 12
    assert load.flow_lpm == 101.0
    assert str(load) == "6 × 15 L/min, 5 × 2 L/min, 1 × 1 L/min"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "is no load: write patients and flow, such as 6 x 15 L/min"),
        ("15 L/min", "'15 L/min' is no load"),
        ("0 x 15 L/min", "is no load"),
        ("6 x 15", "the unit is missing"),
        ("6 x 0 L/min", "must be above 0"),
        ("6 x 15 L/min; 4 x 2 L/min", "in the load is not a flow"),
        ("99999 x 1 L/min", "more than 10000 patients"),
    ],
)
def test_load_that_cannot_be_read_is_told(text: str, told: str) -> None:
    """With what is wrong and how to write it."""
    with pytest.raises(UsageError, match=told):
        parse_load(text)
