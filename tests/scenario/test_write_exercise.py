"""A drawn exercise written as a scenario file reads back as what was drawn."""

from __future__ import annotations

import dataclasses
import math
import pathlib
from collections.abc import Callable, Mapping

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from made_exercise import CASUALTIES, exercise_text

from mci.scenario import read_scenario
from mci.scenario.draft import Draft, read_draft
from mci.scenario.exercise import Exercise, Inject, InjectKind, Measure, Objective
from mci.scenario.model import Arrival, Patients, Pattern, Scenario, Spell
from mci.scenario.objective_words import make_objective
from mci.scenario.write_exercise import write_exercise

Write = Callable[..., pathlib.Path]
REGULATORS = tuple(f"field yoke regulator 0-15 L/min {number}" for number in range(1, 5))
CYLINDERS = tuple(f"field US D aluminium {number}" for number in range(1, 7))
CATEGORIES = ("immediate", "delayed", "minimal")
LADDERS = ("high need", "moderate need", "low need", "paediatric low need")
NASTY = ("yes", "P07", "- x", "a: b", "# no", 'say "so"', "it's", "Zürich 🚑", "=1+1", "14:35", "T+5", "007", "x, y")


def _read(files: Mapping[str, str], folder: pathlib.Path) -> Scenario:
    for name, content in files.items():
        (folder / name).write_text(content, encoding="utf-8", newline="")
    return read_scenario(folder / next(iter(files)))


def _alike(one: object, other: object) -> bool:
    """Compare as text, in which NaN is NaN."""
    return repr(one) == repr(other)


def _hundredths(least: int, most: int) -> st.SearchStrategy[float]:
    return st.integers(least * 100, most * 100).map(lambda whole: whole / 100)


def _singles(names: list[str], last: int) -> st.SearchStrategy[tuple[Patients, ...]]:
    return st.tuples(*(_single(name, last) for name in names))


@st.composite
def _single(draw: st.DrawFn, name: str, last: int) -> Patients:
    moments = [0.0, *sorted(draw(st.lists(_hundredths(1, 60), max_size=3, unique=True)))]
    course = [Spell(0.0, draw(st.sampled_from(("field", "hall"))), *_need(draw))]
    for after in moments[1:]:
        before = course[-1]
        now = Spell(after, draw(st.sampled_from(("field", "hall"))), *_need(draw))
        course.append(dataclasses.replace(before, after=after) if draw(st.booleans()) else now)
    arrive = draw(_hundredths(0, last))
    stays = draw(st.sampled_from(("stay", "leave", "end")))
    stay = draw(_hundredths(1, 90)) if stays == "stay" else math.inf
    leave = round(arrive + draw(_hundredths(1, 90)), 2) if stays == "leave" else math.inf
    mechanism = draw(st.sampled_from(("", "smoke", "road crash")))
    return Patients(name, 1, Arrival.together(arrive), stay, leave, tuple(course), mechanism)


def _need(draw: st.DrawFn) -> tuple[str, str]:
    return draw(st.sampled_from(CATEGORIES)), draw(st.sampled_from(LADDERS))


@st.composite
def _injects(draw: st.DrawFn, patients: tuple[Patients, ...]) -> tuple[Inject, ...]:
    """Return some of every kind, in the order of time."""
    found = [
        Inject(InjectKind.REGULATOR_LEAKS, draw(_hundredths(0, 119)), "field", draw(st.sampled_from(REGULATORS))),
        Inject(InjectKind.WRONG_WASHER, draw(_hundredths(0, 119)), "field", REGULATORS[0], draw(_hundredths(1, 30))),
        Inject(
            InjectKind.CYLINDER_LOW,
            draw(_hundredths(0, 119)),
            "field",
            draw(st.sampled_from(CYLINDERS)),
            psi=draw(_hundredths(0, 1899)),
        ),
        Inject(InjectKind.DELIVERY_LATE, draw(_hundredths(0, 60)), "field", "county truck", draw(_hundredths(1, 30))),
        Inject(InjectKind.AREA_MOVES, draw(_hundredths(0, 119)), "hall", "", draw(_hundredths(1, 30))),
        Inject(
            InjectKind.POWER_FAILS, draw(_hundredths(0, 119)), "hall", "", draw(_hundredths(1, 30) | st.just(math.inf))
        ),
    ]
    wave = draw(_singles(["W1", "W: 2"], 119))
    told = min(each.arrival.at for each in wave)
    found.append(Inject(InjectKind.SECOND_WAVE, told, wave[0].course[0].area, patients=wave))
    for each in patients:
        at = round(each.arrival.at + 0.01, 2)
        now = each.course[0]
        if at < min(each.arrival.at + each.stay, each.leave, 120) and len(each.course) == 1:
            category = next(c for c in CATEGORIES if c != now.category)
            worse = {"category": category, "ladder": draw(st.sampled_from(LADDERS))}
            found.append(Inject(InjectKind.PATIENT_WORSENS, at, now.area, each.label, **worse))
    kept = [each for each in found if draw(st.booleans())]
    return tuple(sorted(kept, key=lambda inject: inject.at))


_MINUTES = {"minutes": _hundredths(1, 60)}
_SHARE = {"share": st.integers(0, 1000).map(lambda tenths: tenths / 1000)}
_ASKED = {
    Measure.ON_OXYGEN: {**_MINUTES, **_SHARE},
    Measure.STEPPED_UP: {**_MINUTES, **_SHARE},
    Measure.COVERAGE: _SHARE,
    Measure.WITHOUT: {"minutes": _hundredths(0, 60)},
    Measure.EMPTY: {"minutes": _hundredths(0, 60)},
    Measure.LEAST_FLOW: {"minutes": _hundredths(0, 60)},
}


@st.composite
def _objectives(draw: st.DrawFn) -> tuple[Objective, ...]:
    found = []
    for number, measure in enumerate(draw(st.lists(st.sampled_from(list(Measure)), max_size=6)), start=1):
        area, title = draw(st.sampled_from((("", ""), ("hall", "Hall"))))
        numbers = {key: draw(value) for key, value in _ASKED[measure].items()}
        whose = draw(st.sampled_from(("", *CATEGORIES)))
        found.append(make_objective(number, measure, category=whose, area=area, title=title, **numbers))
    return tuple(found)


@pytest.fixture
def draft(write: Write) -> Draft:
    return read_draft(write(exercise_text(f"exercise:\n{CASUALTIES}", "")))


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60, deadline=None)
@given(st.data())
def test_what_was_drawn_is_read_back(draft: Draft, tmp_path: pathlib.Path, data: st.DataObject) -> None:
    """Patients, injects and objectives, every moment to the hundredth, and all else of the scenario as it was."""
    names = data.draw(st.lists(st.sampled_from(NASTY), min_size=1, max_size=4, unique=True))
    patients = data.draw(_singles(names, 119))
    injects = data.draw(_injects(patients))
    seed = data.draw(st.none() | st.integers(0, 10**15))
    exercise = Exercise(injects=injects, objectives=data.draw(_objectives()), seed=seed, difficulty=12.3 / 100)
    scenario = draft.scenario()
    briefed = dataclasses.replace(scenario, patients=patients, exercise=exercise)
    again = _read(write_exercise(draft, briefed, exercise), tmp_path)
    assert _alike(again.patients, patients)
    assert _alike(again.exercise, exercise)
    apart = {"patients", "exercise", "file", "sha256", "assumptions", "ladders", "weights"}
    for field in dataclasses.fields(scenario):
        if field.name not in apart:
            assert _alike(getattr(again, field.name), getattr(scenario, field.name)), field.name
    assert again.ladders.items() <= scenario.ladders.items()
    assert again.weights.items() <= scenario.weights.items()


def test_the_whole_language_can_be_drawn_from(
    write: Write, example: str, beside: dict[str, str], tmp_path: pathlib.Path
) -> None:
    """Inventories go along as tables; what is uncertain and what could be packed does not."""
    draft = read_draft(write(example, **beside))
    scenario = draft.scenario()
    assert scenario.exercise is not None
    single = tuple(p for p in scenario.patients if p.count == 1 and p.label not in scenario.exercise.casualty_labels)
    exercise = dataclasses.replace(scenario.exercise, casualties=(), casualty_labels=())
    files = write_exercise(draft, scenario, exercise, single, file="drill.yaml")
    assert list(files) == ["drill.yaml", "drill-cylinders.csv"]
    folder = tmp_path / "again"
    folder.mkdir()
    again = _read(files, folder)
    assert _alike(again.exercise, exercise)
    assert _alike(again.patients, single)
    assert again.lots == scenario.lots
    assert again.regulators == scenario.regulators
    assert again.network == scenario.network
    assert again.uncertainty is again.stocking is None


def test_the_file_reads_well(draft: Draft) -> None:
    """A header says what it is and for whom; patients and injects have a line each."""
    a1 = Patients(
        "P01", 1, Arrival.together(4.0), 60.0, math.inf, (Spell(0.0, "hall", "minimal", "low need"),), "blast"
    )
    worse = (Spell(0.0, "field", "delayed", "low need"), Spell(20.5, "field", "immediate", "high need"))
    a2 = Patients("P02", 1, Arrival.together(7.25), math.inf, 80.0, worse)
    wave = dataclasses.replace(a1, label="P03", arrival=Arrival.together(50.0))
    injects = (
        Inject(InjectKind.CYLINDER_LOW, 10.0, "field", CYLINDERS[3], psi=300.0),
        Inject(InjectKind.SECOND_WAVE, 45.0, "hall", patients=(wave,)),
    )
    objectives = (make_objective(1, Measure.ON_OXYGEN, category="immediate", minutes=5.0, share=0.9),)
    exercise = Exercise(injects=injects, objectives=objectives, seed=3, difficulty=0.12345)
    text = write_exercise(draft, draft.scenario(), exercise, (a1, a2))["exercise.yaml"]
    head, _, body = text.partition("incident:")
    assert head.startswith("# Exercise data, invented; not for care of any patient: an exercise on 'Bus at the quay' ")
    assert "drawn with seed 3" in " ".join(head.replace("#", " ").split())
    assert all(line.startswith("#") for line in head.splitlines())
    assert (
        """\
patients:
  - {patient: P01, category: minimal, area: hall, ladder: low need, arrive: T+4, stay: 60 min, mechanism: blast}
  - patient: P02
    category: delayed
    area: field
    ladder: low need
    arrive: T+7.25
    leave: T+80
    then:
      - {after: 20.5 min, category: immediate, ladder: high need}
"""
        in body
    )
    assert (
        """\
exercise:
  injects:
    - {inject: cylinder low, at: T+10, supply: field US D aluminium 4, pressure: 300 psi}
    - inject: second wave
      at: T+45
      patients:
        - {patient: P03, category: minimal, area: hall, ladder: low need, arrive: T+50, stay: 60 min, mechanism: blast}
  objectives:
    - {objective: on oxygen within, category: immediate, minutes: 5 min, share: 90 %}
  seed: 3
  difficulty: 12.3 %
"""
        in body
    )
    assert max(map(len, text.splitlines())) <= 120
    assert "casualties:" not in body


def test_an_exercise_of_nothing_is_one_still(draft: Draft, tmp_path: pathlib.Path) -> None:
    """Without injects and objectives the section is there, empty; what a difficulty below nothing is, is nothing."""
    patients = (Patients("A", 1, Arrival.together(4.0), 60.0, math.inf, (Spell(0.0, "hall", "minimal", "low need"),)),)
    files = write_exercise(draft, draft.scenario(), Exercise(), patients)
    assert yaml.safe_load(files["exercise.yaml"])["exercise"] == {}
    assert _alike(_read(files, tmp_path).exercise, Exercise())
    easier = write_exercise(draft, draft.scenario(), Exercise(difficulty=-0.02), patients)
    assert yaml.safe_load(easier["exercise.yaml"])["exercise"] == {"difficulty": "0.0 %"}


def test_only_single_patients_are_written(draft: Draft) -> None:
    """A batch has no card."""
    with pytest.raises(ValueError, match="is a batch; a drawn exercise has single patients"):
        write_exercise(draft, draft.scenario(), Exercise())
    assert draft.scenario().patients[0].arrival.pattern is Pattern.EARLY
