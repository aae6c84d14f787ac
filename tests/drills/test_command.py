"""Typed lines: the same order however its words are put, and an answer that says what is missing."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mci.drills.command import NotUnderstoodError, parse_command, read_command
from mci.drills.names import Names
from mci.plan.orders import Action, Order
from mci.scenario.read import read_scenario

SCENARIOS = Path(__file__).parents[2] / "scenarios"
QUAY = Names(read_scenario(SCENARIOS / "ferry-fire.yaml"))
TUNNEL = Names(read_scenario(SCENARIOS / "tunnel-fire.yaml"))

YOKE = "quay yoke regulator 0-15 L/min 3"
D5 = "quay US D aluminium 5"
CONNECT = Order(60, "quay", Action.CONNECT, "cook", "non-rebreather", 15.0, D5, YOKE)
CHANGE = Order(60, "quay", Action.CHANGE, supply=D5, regulator=YOKE, by="quay staff T+0 1")

#: Lines and the order that each means at T+60.
LINES = {
    "connect cook non-rebreather 15 C5 R12": CONNECT,
    "put the cook on NRB 15 L/min from C5 on R12": CONNECT,
    "cook on reservoir mask @15L C5 R12": CONNECT,
    "change R12 to C5 by Staff 1": CHANGE,
    "swap R12 -> C5, staff 1": CHANGE,
    "quay new cylinder C5 R12 Staff1": CHANGE,
    "off cook": Order(60, "quay", Action.DISCONNECT, "cook"),
    "take cook off": Order(60, "quay", Action.DISCONNECT, "cook"),
    "stop Cook": Order(60, "quay", Action.DISCONNECT, "cook"),
    "flow cook 10": Order(60, "quay", Action.SET_FLOW, "cook", flow_lpm=10.0),
    "cook: increase flow to 10 lpm": Order(60, "quay", Action.SET_FLOW, "cook", flow_lpm=10.0),
    "change cook to NC 2": Order(60, "quay", Action.SET_FLOW, "cook", "nasal cannula", 2.0),
    "move cook C5 R12": Order(60, "quay", Action.MOVE, "cook", supply=D5, regulator=YOKE),
    "step down cook NC 4": Order(60, "quay", Action.STEP_DOWN, "cook", "nasal cannula", 4.0),
    "flow cook down to 4": Order(60, "quay", Action.STEP_DOWN, "cook", flow_lpm=4.0),
    "on girl of six NC 2 C5 R12": Order(60, "quay", Action.CONNECT, "girl of six", "child cannula", 2.0, D5, YOKE),
    "change R12 C5 1800 psi": Order(60, "quay", Action.CHANGE, supply=D5, regulator=YOKE, gauge_psi=1800.0),
    f"change {YOKE} {D5} Staff 1": CHANGE,
}


@pytest.mark.parametrize("line", LINES)
def test_what_a_line_means(line: str) -> None:
    """Names, marks, short forms and words of crews."""
    assert parse_command(line, QUAY, 60) == LINES[line]


WORDS = [("connect", "cook", "NRB", "15 L/min", "C5", "R12"), ("change", "R12", "C5", "Staff 1", "quay")]


@given(st.sampled_from(WORDS).flatmap(st.permutations))
@settings(max_examples=30)
def test_words_may_come_in_any_order(words: list[str]) -> None:
    """Every order of the phrases is the same order."""
    assert parse_command(" ".join(words), QUAY, 60) == (CONNECT if "cook" in words else CHANGE)


def test_slips_are_read_and_told() -> None:
    """A line with slips of the pen is the same order, and says what was read as what."""
    read = read_command("conect steward resevoir mask 15 C5 R12", QUAY, 60)
    assert (read.order.action, read.order.patient, read.order.device) == (Action.CONNECT, "steward", "non-rebreather")
    assert read.readings == (
        "'conect' is read as connect (by its spelling).",
        "'resevoir mask' is read as non-rebreather (by its spelling).",
    )
    assert read_command("off cook", QUAY, 60).readings == ()


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("", "What is to be done?"),
        ("C5 R12", "What is to be done?"),
        ("connect", "Which patient? Which device? From which cylinder?"),
        ("connect cook NRB C5", "Which flow?"),
        ("flow cook", "Which flow or device?"),
        ("off", "Which patient?"),
        ("change C5", "Which regulator goes on it?"),
        ("change R12", "Which cylinder goes on?"),
        ("change R12 cook", "names its regulator, not a patient"),
        ("xyzzy cook", "'xyzzy' is not understood."),
        ("connect cook NRB 15 C99", "'C99' is not understood (near: C1, C2, C3)."),
        ("move cook C4 C5", "There is more than one cylinder: 'C4', 'C5'."),
        ("connect disconnect cook", "One line is one order"),
        ("connect cook NRB 10 15 C5", "There is more than one flow"),
    ],
)
def test_what_is_not_understood_is_told(line: str, told: str) -> None:
    """Everything that is missing or strange, and what is near."""
    with pytest.raises(NotUnderstoodError) as caught:
        parse_command(line, QUAY, 60)
    assert told in str(caught.value)


def test_a_mark_is_that_of_the_area() -> None:
    """The same mark in two areas: where the patient is, or as named; without either, a question."""
    assert parse_command("connect N01 NRB 15 R2", TUNNEL, 60).regulator == "north manifold 6 outlets 2"
    assert parse_command("change south R2 K-101", TUNNEL, 60).regulator == "south manifold 10 outlets 2"
    with pytest.raises(NotUnderstoodError, match="'R2' may be north manifold 6 outlets 2, south manifold 10 outlets 2"):
        parse_command("change R2 staff 1", TUNNEL, 60)


def _order_or_answer(text: str) -> Order | str:
    """Return the order that a text means, or what it says to the player."""
    try:
        return parse_command(text, QUAY, 60)
    except NotUnderstoodError as told:
        return str(told)


@given(st.lists(st.sampled_from(sorted({word for line in LINES for word in line.split()})), max_size=5))
@settings(max_examples=40)
def test_any_words_are_an_order_or_an_answer(words: list[str]) -> None:
    """No line breaks the game; an order is one of that moment, in the area of its things."""
    answer = _order_or_answer(" ".join(words))
    assert (answer.minute, answer.area) == (60, "quay") if isinstance(answer, Order) else answer


@given(st.text(max_size=40))
@settings(max_examples=40)
def test_any_text_is_an_order_or_an_answer(text: str) -> None:
    """No text breaks the game."""
    assert _order_or_answer(text)
