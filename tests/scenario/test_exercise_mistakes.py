"""One broken section ``exercise`` per kind of mistake, each with the place and the words that it must be told with."""

from __future__ import annotations

import pathlib
from collections.abc import Callable

import pytest
from made_exercise import CASUALTIES, PATIENTS, exercise_text

from mci.errors import InputError, Mistake
from mci.scenario import read_scenario

Write = Callable[..., pathlib.Path]
ALONE = f"exercise:\n{CASUALTIES}"
WASHER = "{inject: Wrong washer, at: T+5, regulator: field yoke regulator 0-15 L/min 1, found after: 10 min}"
LOW = "supply: field US D aluminium 4, pressure: 300 psi"
WORSENS = "at: T+35, patient: A2, category: immediate"

# what is replaced, by what, the path of the mistake within the section, words of its rule, words of its fix
BROKEN = [
    ("  casualties:", "  casualites:", "casualites", "not a word that can stand here", "'casualties'"),
    ("group: school bus, ", "", "casualties[0].group", "is missing", "Name of the group"),
    ("group: passers-by", "group: school bus", "casualties[1].group", "used twice", "own name"),
    ("mechanism: road crash", "mechanism: road rash", "casualties[0].mechanism", "no mechanism", "'road crash'"),
    ("mechanism: road crash", "mechanism: flood", "casualties[0].mechanism", "no mechanism", "Known: blast, chlorine"),
    ("hurt: 40", "hurt: 0", "casualties[0].hurt", "whole number from 1", ""),
    ("children: 80 %", "children: 80", "casualties[0].children", "is not a share", ""),
    ("area: hall, arrive: T+20", "area: hal, arrive: T+20", "casualties[1].area", "no area", "'hall'"),
    ("leave: T+90}", "leave: T+10}", "casualties[1]", "leaves before or at arrival", ""),
    ("leave: T+90}", "leave: T+90, stay: 10 min}", "casualties[1]", "both 'leave' and 'stay'", "Keep one"),
    (
        "{batch: walking,",
        '{batch: "school bus, immediate, high need",',
        "casualties[0].group",
        "would be called 'school bus, immediate, high need'",
        "another name",
    ),
    ("inject: area moves", "inject: area move", "injects[8].inject", "must be one of: regulator leaks", "'area moves'"),
    ("inject: area moves, ", "", "injects[8].inject", "'inject' is missing", "One of: regulator leaks"),
    ("inject: area moves, ", "injekt: area moves, ", "injects[8].injekt", "not a word that can", "'inject'"),
    (WASHER, "wrong washer", "injects[1]", "must be a mapping", ""),
    (", found after: 10 min", "", "injects[1].found after", "is missing", "until the right washer"),
    ("found after: 10 min", "found after: 0", "injects[1].found after", "longer than 0", ""),
    ("at: T+5, reg", "at: T+5, area: field, reg", "injects[1].area", "not a word that can stand here", ""),
    ("at: T+50, area: field, for", "area: field, for", "injects[8].at", "is missing", "players are told"),
    ("at: T+50, area: field, for", "at: T+120, area: field, for", "injects[8].at", "plan is over (T+120)", "earlier"),
    (", for: 10 min}", "}", "injects[8].for", "is missing", "How long"),
    ("L/min 1, found", "L/min 5, found", "injects[1].regulator", "no regulator of this name", "L/min 4'"),
    ("L/min 3}", "L/min county truck 1}", "injects[3].regulator", "there only from T+60", "later"),
    (LOW, "supply: US D aluminium 4, pressure: 9 bar", "injects[2].supply", "no supply", "field US D aluminium 4"),
    (LOW, f"{LOW}, area: field", "injects[2].area", "not a word", ""),
    ("pressure: 300 psi", "pressure: 1900 psi", "injects[2].pressure", "not below the 1900 psi", "really shows"),
    ("pressure: 300 psi", "pressure: 300", "injects[2].pressure", "unit is missing", ""),
    (LOW, "supply: hall concentrator 5 L/min 1, pressure: 9 bar", "injects[2].supply", "no cylinder", "Name a cyl"),
    ("delivery: county truck, late", "delivery: truck, late", "injects[4].delivery", "no delivery", "'county truck'"),
    ("at: T+60, delivery", "at: T+61, delivery", "injects[4].at", "has come by then (T+60)", "before it is due"),
    ("at: T+40, area: hall", "at: T+40, area: hell", "injects[5].area", "no area", "'hall'"),
    (WORSENS, "at: T+35, patient: A3, category: minimal", "injects[7].patient", "no single patient", "'A1'"),
    (WORSENS, "at: T+35, patient: walking, category: delayed", "injects[7].patient", "is a batch", "Known: A1"),
    (WORSENS, "at: T+12, patient: A2, category: immediate", "injects[7].at", "from T+12 to T+100 only", "after arr"),
    (WORSENS, "at: T+100, patient: A2, category: immediate", "injects[7].at", "from T+12 to T+100 only", "leaving"),
    (WORSENS, "at: T+35, patient: A2", "injects[7]", "does not say what changes", "category, ladder"),
    (WORSENS, f"{WORSENS}, ladder: lo need", "injects[7].ladder", "no ladder", "'low need'"),
    (WORSENS, "at: T+35, patient: A2, category: delayed", "injects[7]", "is delayed with low need already", "another"),
    ("{patient: P31,", "{patient: A1,", "injects[0].patients[0].patient", "used twice", "of their own"),
    (
        "{patient: P31,",
        '{patient: "passers-by, minimal, low need",',
        "injects[0].patients[0].patient",
        "used twice",
        "",
    ),
    ("{patient: P31,", "{patient: walking,", "injects[0].patients[0].patient", "used twice", "of their own"),
    ("arrive: T+50", "arrive: T+44", "injects[0].patients[0].arrive", "before players are told", "later"),
    ("arrive: T+50", "arrive: T+120", "injects[0].patients[0].arrive", "the plan is over", "earlier"),
    (
        "{after: 10 min, category",
        "{after: 0 min, category",
        "injects[0].patients[0].then[0].after",
        "longer than 0",
        "",
    ),
    ("mechanism: chlorine, then", "mechanism: gas, then", "injects[0].patients[0].mechanism", "no mechanism", ""),
    (
        "objective: on empty at",
        "objective: on empty",
        "objectives[4].objective",
        "must be one of",
        "'on empty at most'",
    ),
    ("minutes: 2 min", "minutes: 2 min, share: 3 %", "objectives[4].share", "not a word that can stand here", ""),
    ("minutes: 5 min, share: 90 %", "share: 90 %", "objectives[0].minutes", "is missing", "such as 5 min"),
    ("share: 95 %", "share: 195 %", "objectives[2].share", "is not a share", ""),
    ("category: delayed, minutes", "category: yellow, minutes", "objectives[3].category", "must be one of", ""),
    ("seed: 3", "seed: 3.5", "seed", "whole number of at most 18 digits", ""),
    ("difficulty: 12.3 %", "difficulty: hard", "difficulty", "is not a share", ""),
]


def _mistakes(path: pathlib.Path) -> list[Mistake]:
    with pytest.raises(InputError) as caught:
        read_scenario(path)
    return list(caught.value.mistakes)


def _one(mistakes: list[Mistake], path: str, rule: str, fix: str) -> Mistake:
    told = [m for m in mistakes if m.path == path and rule in m.rule and fix in m.fix]
    assert told, "\n".join(map(str, mistakes))
    return told[0]


@pytest.mark.parametrize(("old", "new", "path", "rule", "fix"), BROKEN, ids=[f"{b[2]}: {b[3]}"[:60] for b in BROKEN])
def test_a_mistake_is_told_where_it_stands(write: Write, old: str, new: str, path: str, rule: str, fix: str) -> None:
    """Its line, its path, the rule and what to write instead; and nothing else is told."""
    text = exercise_text()
    assert text.count(old) == 1
    line = text[: text.index(old)].count("\n") + 1
    mistakes = _mistakes(write(text.replace(old, new)))
    told = _one(mistakes, f"exercise.{path}", rule, fix)
    assert len(mistakes) == 1
    assert abs(told.line - line) <= 2 or "called" in rule
    assert told.column > 0


def test_all_are_told_at_once(write: Write) -> None:
    """Names, moments and doubles of several injects, in one error, by line."""
    text = exercise_text()
    for old, new in (
        ("L/min 1, found", "L/min 5, found"),
        (LOW, "supply: no such, pressure: 9 bar"),
        ("delivery: county truck, late", "delivery: lorry, late"),
        ("{patient: P31,", "{patient: A1,"),
        ("group: passers-by", "group: school bus"),
        ("at: T+50, area: field, for", "at: T+120, area: field, for"),
    ):
        text = text.replace(old, new)
    mistakes = _mistakes(write(text))
    assert len(mistakes) >= 6
    assert [m.line for m in mistakes] == sorted(m.line for m in mistakes)


def test_two_patients_of_one_name_in_two_waves(write: Write) -> None:
    """A name is used once, whoever comes when."""
    wave = "{inject: second wave, at: T+70, patients: [{patient: P31, category: minimal, area: hall, ladder: low need, "
    text = exercise_text().replace("    - {inject: Wrong", f"    - {wave}arrive: T+80}}]}}\n    - {{inject: Wrong")
    _one(_mistakes(write(text)), "exercise.injects[1].patients[0].patient", "used twice", "")


def test_somebody_of_a_wave_may_worsen(write: Write) -> None:
    """Once they are there, whatever the order of lines."""
    text = exercise_text().replace(WORSENS, "at: T+55, patient: P31, ladder: high need")
    exercise = read_scenario(write(text)).exercise
    assert exercise is not None
    assert [(i.category, i.ladder) for i in exercise.injects if i.thing == "P31"] == [("delayed", "high need")]
    text = exercise_text().replace(WORSENS, "at: T+49, patient: P31, ladder: high need")
    _one(_mistakes(write(text)), "exercise.injects[7].at", "from T+50 to T+110 only", "")


def test_casualties_have_no_names_before_they_are_drawn(write: Write) -> None:
    """An inject can only name who is listed."""
    worsens = "  injects: [{inject: patient worsens, at: T+40, patient: P07, category: immediate}]\n"
    told = _mistakes(write(exercise_text(ALONE + worsens, "")))
    _one(told, "exercise.injects[0].patient", "no single patient", "no names before they are drawn")
    known = _mistakes(write(exercise_text(ALONE + worsens.replace("P07", "walking"))))
    _one(known, "exercise.injects[0].patient", "is a batch", "no names before they are drawn")


@pytest.mark.parametrize(
    ("exercise", "patients", "path", "rule"),
    [
        ("", "", "patients", "'patients' is missing"),
        ("exercise: {seed: 3}\n", "", "patients", "'patients' is missing"),
        ("exercise: {casualties: []}\n", "", "patients", "'patients' is missing"),
        (ALONE, "patients: []\n", "patients", "must not be empty"),
        ("", PATIENTS.replace("patients", "patient"), "patient", "not a word that can stand here"),
    ],
)
def test_somebody_must_be_there(write: Write, exercise: str, patients: str, path: str, rule: str) -> None:
    """Patients, or casualties who stand for them; an empty list is no list."""
    mistakes = _mistakes(write(exercise_text(exercise, patients)))
    _one(mistakes, path, rule, "")
    assert len(mistakes) == 1


def test_nobody_needs_oxygen(write: Write) -> None:
    """So few are hurt that by the mean mix there is nothing to plan."""
    few = "exercise: {casualties: [{group: car, mechanism: road crash, hurt: 2, area: field, arrive: T+5}]}\n"
    told = _mistakes(write(exercise_text(few, "")))
    _one(told, "exercise.casualties", "none of the 2 hurt needs oxygen", "Let more be hurt")
    read_scenario(write(exercise_text(few)))
