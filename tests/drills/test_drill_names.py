"""Names as written: whatever is read is meant for sure, and two things are never guessed between."""

from __future__ import annotations

import dataclasses
import itertools
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mci.catalogue.load import load_catalogue
from mci.drills.actions import ACTION_WORDS, find_action
from mci.drills.book import Book, Entry, How
from mci.drills.device_words import DEVICE_WORDS
from mci.drills.names import Names
from mci.drills.spelling import fold, slips
from mci.plan.orders import Action
from mci.scenario.model import Scenario
from mci.scenario.read import read_scenario

SCENARIOS = Path(__file__).parents[2] / "scenarios"
FERRY = read_scenario(SCENARIOS / "ferry-fire.yaml")
TUNNEL = read_scenario(SCENARIOS / "tunnel-fire.yaml")
ON_QUAY, IN_TUNNEL = Names(FERRY), Names(TUNNEL)


@pytest.mark.parametrize("scenario", [FERRY, TUNNEL], ids=["ferry", "tunnel"])
def test_every_name_and_every_mark_is_itself(scenario: Scenario) -> None:
    """Names as orders use them, and marks at their area, are read as what they stand for."""
    names = Names(scenario)
    for things, find in ((names.supplies, names.supply), (names.regulators, names.regulator)):
        for key, thing in things.items():
            area = thing.lot.area if hasattr(thing, "lot") else thing.area
            assert find(key).name == key
            assert find(names.on_paper(key), area).name == key
            assert find(f"{area} {names.on_paper(key)}").name == key
    for key, person in names.handlers.items():
        assert names.handler(names.on_paper(key), person.area).name == key
    assert all(names.patient(key).name == key for key in names.people)


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("C3", "quay US D aluminium 3"),
        (" c-03 ", "quay US D aluminium 3"),
        ("QUAY US D ALUMINIUM 3", "quay US D aluminium 3"),
        ("US D aluminum 3", "quay US D aluminium 3"),
        ("D 3", "quay US D aluminium 3"),
        ("M steel 2", "quay US M steel 2"),
        ("CO3", "quay US D aluminium 3"),
        ("US M stele 2", "quay US M steel 2"),
    ],
)
def test_a_cylinder_in_other_spellings(text: str, key: str) -> None:
    """Capitals, spaces, dashes, zeros, two spellings of a metal, a part of the name, a slip of the pen."""
    assert ON_QUAY.supply(text).name == key


@pytest.mark.parametrize("text", ["C99", "R3", "US alumnium 3", "steel", "aluminium 3", "C", "", "...", "M60"])
def test_what_may_be_two_cylinders_or_none_is_not_read(text: str) -> None:
    """A number that no cylinder has, a mark of something else, a part that several share."""
    assert ON_QUAY.supply(text).name == ""


def test_what_is_not_read_names_what_is_near() -> None:
    """Whoever typed it sees what could be meant."""
    assert ON_QUAY.patient("cok").near == ("cook",)
    assert IN_TUNNEL.regulator("R2").near == ("north manifold 6 outlets 2", "south manifold 10 outlets 2")
    assert IN_TUNNEL.regulator("R2", "south").name == "south manifold 10 outlets 2"


@pytest.mark.parametrize(
    ("text", "device"),
    [
        ("NRB", "non-rebreather"),
        ("non rebreather", "non-rebreather"),
        ("Reservoir mask", "non-rebreather"),
        ("NC", "nasal cannula"),
        ("canula", "nasal cannula"),
        ("prongs", "nasal cannula"),
        ("bvm", "bag-valve-mask"),
        ("Simple face mask", "simple mask"),
        ("simpel mask", "simple mask"),
        ("mask", ""),
        ("NRBB", ""),
    ],
)
def test_short_forms_of_devices(text: str, device: str) -> None:
    """What crews write for a device; where that may be several, nothing."""
    assert ON_QUAY.device(text).name == device


def test_words_of_a_device_in_another_order() -> None:
    """A form filled in by kind first, then for whom, names the device all the same."""
    assert ON_QUAY.device("simple mask, child").name == "child simple mask"
    assert not ON_QUAY.device("mask, child").is_sure


def test_a_short_form_is_the_device_that_is_prescribed() -> None:
    """Prongs for a child are the child's, where the child's ladder has them; a full name is what it says."""
    prescribed = ON_QUAY.prescribed("girl of six", 60)
    assert ON_QUAY.device("NC", prescribed).name == "child cannula"
    assert ON_QUAY.device("nasal cannula", prescribed).name == "nasal cannula"


def test_short_forms_mean_devices_of_the_catalogue_each_one_thing() -> None:
    """Every device exists, and no two short forms are the same but for spelling, nor the name of another device."""
    devices = load_catalogue().devices
    assert {each for meant in DEVICE_WORDS.values() for each in meant} <= set(devices)
    folded = [fold(word) for word in DEVICE_WORDS]
    for one, other in itertools.combinations(DEVICE_WORDS, 2):
        if fold(one) == fold(other):
            assert DEVICE_WORDS[one] == DEVICE_WORDS[other]
    for device in devices:
        if fold(device) in folded:
            assert DEVICE_WORDS[list(DEVICE_WORDS)[folded.index(fold(device))]][0] == device


def test_words_of_actions_mean_one_action_each() -> None:
    """No word stands for two actions, and each is read as its own."""
    for action, words in ACTION_WORDS.items():
        assert all(find_action(word).name == action for word in (*words, action.value, action.value.upper()))


@pytest.mark.parametrize(
    ("text", "action"),
    [
        ("disconect", Action.DISCONNECT),
        ("conect", Action.CONNECT),
        ("chagne cylinder", Action.CHANGE),
        ("Stepdown", Action.STEP_DOWN),
        ("set-flow", Action.SET_FLOW),
        ("dsconnect", ""),
        ("jump", ""),
    ],
)
def test_slips_in_actions(text: str, action: str) -> None:
    """A slip of the pen is read; what lies between two actions is not."""
    assert find_action(text).name == action


LETTERS = st.text("abcdef", min_size=1, max_size=9)


@given(st.lists(LETTERS, min_size=1, max_size=6, unique=True), LETTERS)
def test_a_slip_is_read_only_where_nothing_else_is_half_as_near(names: list[str], text: str) -> None:
    """Whatever is read by its spelling is the nearest, and everything else is more than twice as far."""
    found = Book(tuple(map(Entry, names))).find(text)
    far = sorted((slips(text, name), name) for name in names)
    if text in names:
        assert (found.name, found.how) == (text, How.WRITTEN)
    elif found.how is How.NEAR:
        assert far[0][1] == found.name
        assert all(apart > 2 * far[0][0] for apart, _ in far[1:])


@given(LETTERS, LETTERS)
def test_slips_are_counted_both_ways_alike(one: str, other: str) -> None:
    """No slip where texts are equal, the same from either side, never more than all letters."""
    assert slips(one, one) == 0
    apart = slips(one, other)
    assert apart == slips(other, one)
    assert apart > 6 or (one != other) <= apart <= max(len(one), len(other))


@given(st.integers(1, 99), st.integers(1, 99), st.sampled_from(["P", "C", "Staff ", "yoke regulator "]))
def test_numbers_are_never_corrected(one: int, other: int, word: str) -> None:
    """Things alike differ by their numbers: with another number it is another thing, or none."""
    found = Book((Entry(f"{word}{one}"),)).find(f"{word}{other:02d}")
    assert bool(found.name) == (one == other)
    assert (slips(fold(f"{word}{one}"), fold(f"{word}{other}")) == 0) == (one == other)
    assert one == other or slips(fold(f"{word}{one}"), fold(f"{word}{other}")) > 6


def test_two_that_differ_by_a_zero_only() -> None:
    """P7 and P07: each as written is itself, and what may be both is neither."""
    book = Book((Entry("P7"), Entry("P07")))
    assert book.find("P07").name == "P07"
    assert book.find("P7").name == "P7"
    assert book.find("p 7").how is How.SEVERAL


def test_names_of_one_patient_more_are_known() -> None:
    """A second wave makes names of its own known."""
    more = dataclasses.replace(TUNNEL, patients=(*TUNNEL.patients, dataclasses.replace(TUNNEL.patients[0], label="W1")))
    assert Names(more).patient("w 01").name == "W1"
