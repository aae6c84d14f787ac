"""An exercise is said back, and what looks wrong in it is told; one test per doubt, with its words."""

from __future__ import annotations

import pathlib
from collections.abc import Callable

import pytest
from made_exercise import CASUALTIES, exercise_text

from mci.demand.stays import find_stays
from mci.scenario import read_scenario
from mci.scenario.check import doubts
from mci.scenario.describe import Table, describe, headline
from mci.scenario.model import Scenario

Write = Callable[..., pathlib.Path]
WORSENS = "patient: A2, category: immediate"


def _tables(scenario: Scenario) -> dict[str, Table]:
    return {table.key: table for table in describe(scenario, find_stays(scenario))}


def _codes(scenario: Scenario) -> dict[str, str]:
    return {doubt.code: doubt.what for doubt in doubts(scenario, find_stays(scenario))}


def test_casualties_injects_and_objectives_are_said_back(write: Write) -> None:
    """As people read them and as programs do, every number with its unit in the key."""
    tables = _tables(read_scenario(write(exercise_text())))
    bus, passers = tables["casualties"].records()
    assert (bus["hurt_patients"], bus["planned_patients"], bus["children_share"]) == (40, 10, 0.8)
    assert passers["need_oxygen_share"] == pytest.approx(0.63)
    comes, goes = tables["casualty_times"].records()
    assert (comes["arrive_from_min"], comes["arrive_over_min"], comes["arrive_pattern"]) == (5, 30, "early")
    assert (comes["stay_min"], comes["leave_min"], goes["stay_min"], goes["leave_min"]) == (80, None, None, 90)
    page = {column.title: texts for column, texts in tables["casualty_times"].page()}
    assert page["arrive"] == ["T+5 to T+35, early", "T+20"]
    assert page["leave"] == ["after 80 min", "T+90"]
    injects = {column.title: texts for column, texts in tables["injects"].page()}
    assert injects["at"][0] == "T+5 (09:15)"
    assert injects["what happens"] == [
        "seals only after 10 min",
        "holds 300 psi only, from the start",
        "is of no use any more",
        "is immediate with low need from then on",
        "no power for 30 min",
        "1 more patient at T+50",
        "what is built in stays behind, and nobody changes cylinders for 10 min",
        "comes 25 min later than announced",
        "no power to the end",
    ]
    assert [r["gauge_psi"] for r in tables["injects"].records()][:2] == [None, 300]
    assert [r["key"] for r in tables["objectives"].records()] == [f"O{number}" for number in range(1, 7)]


def test_the_headline_says_that_it_is_an_exercise(write: Write) -> None:
    """With how much of it; and what is none says nothing."""
    scenario = read_scenario(write(exercise_text()))
    assert headline(scenario, find_stays(scenario)).endswith(
        "Exercise: 50 hurt in 2 groups, planned by the mean mix, 9 injects that no plan knows of, 6 objectives, drawn "
        "with seed 3, usual practice loses 12.3 % of what is possible."
    )
    plain = read_scenario(write(exercise_text("")))
    assert "xercise" not in headline(plain, find_stays(plain))
    assert not {"casualties", "casualty_times", "injects", "objectives"} & set(_tables(plain))


def test_a_sound_exercise_raises_no_doubt_of_its_own(write: Write) -> None:
    """Neither as written, nor with casualties alone."""
    for exercise in (exercise_text(), exercise_text(f"exercise:\n{CASUALTIES}", "")):
        found = set(_codes(read_scenario(write(exercise))))
        assert not {code for code in found if code.startswith(("casualties", "inject", "objective", "worsens"))}


DOUBTS = [
    ("hurt: 10,", "hurt: 1,", "casualties-need-none", "of the 1 hurt of 'passers-by' nobody needs oxygen"),
    (
        "pressure: 300 psi",
        "pressure: 1750 psi",
        "inject-changes-little",
        "at T+10 changes little or nothing: its label",
    ),
    ("1900 psi, area: field", "540 psi, area: field", "inject-changes-little", "below 500 psi it is not brought into"),
    ("at: T+40, area: hall", "at: T+40, area: field", "inject-changes-little", "no machine that needs power is there"),
    ("    at: T+60", "    at: T+130", "inject-changes-little", "it is due at T+130, when the plan is over"),
    (WORSENS, "patient: A2, category: minimal", "worsens-to-milder", "from delayed with low need to minimal with low"),
    (WORSENS, "patient: A1, ladder: low need", "worsens-to-milder", "immediate with high need to immediate with low"),
    ("category: delayed, minutes", "category: expectant, minutes", "objective-of-nobody", "O4 asks about nobody: Exp"),
    ("share: 95 %", "share: 0", "objective-asks-nothing", "O3 is met by whatever is done"),
    ("minutes: 2 min", "minutes: 3 h", "objective-asks-nothing", "O5 is met by whatever is done"),
]


@pytest.mark.parametrize(("old", "new", "code", "words"), DOUBTS, ids=[f"{d[2]}: {d[3][:25]}" for d in DOUBTS])
def test_a_doubt_is_told(write: Write, old: str, new: str, code: str, words: str) -> None:
    """Only where it is one."""
    text = exercise_text()
    assert text.count(old) == 1
    assert code not in _codes(read_scenario(write(text)))
    assert words in _codes(read_scenario(write(text.replace(old, new))))[code]


def test_an_area_where_nobody_ever_is(write: Write) -> None:
    """May move without anybody noticing."""
    text = exercise_text().replace("hall: Hall}", "hall: Hall, yard: Yard}")
    moves = "inject: area moves, at: T+50, area: {}, for"
    assert "inject-changes-little" not in _codes(read_scenario(write(text)))
    found = _codes(read_scenario(write(text.replace(moves.format("field"), moves.format("yard")))))
    assert "no patient is there at any time" in found["inject-changes-little"]


def test_nobody_worsens(write: Write) -> None:
    """An objective for those who do asks about nobody."""
    exercise = """\
exercise:
  injects: [{inject: power fails, at: T+40, area: hall}]
  objectives: [{objective: stepped up within, minutes: 5 min, share: 100 %}]
"""
    one = "patients: [{patient: A, category: immediate, area: hall, ladder: low need, arrive: T+4}]\n"
    found = _codes(read_scenario(write(exercise_text(exercise, one))))
    assert "O1 asks about nobody, since no patient worsens" in found["objective-of-nobody"]
    assert "objective-of-nobody" not in _codes(read_scenario(write(exercise_text(exercise))))
