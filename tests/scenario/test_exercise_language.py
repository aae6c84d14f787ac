"""The section ``exercise`` as it is written becomes what it says, and the scenario can be planned as it stands."""

from __future__ import annotations

import math
import pathlib
from collections import Counter
from collections.abc import Callable

import jsonschema
import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st
from made_exercise import CASUALTIES, exercise_text

from mci.catalogue.mechanisms import load_mechanisms
from mci.demand.groups import count_demand
from mci.errors import InputError
from mci.plan.things import find_regulators, find_supplies
from mci.scenario import read_scenario
from mci.scenario.draft import read_draft
from mci.scenario.exercise import Casualties, InjectKind, Measure
from mci.scenario.jsonschema import json_schema
from mci.scenario.mean_mix import mean_patients
from mci.scenario.model import Arrival, Pattern
from mci.scenario.names import lot_names, numbered

Write = Callable[..., pathlib.Path]
ALONE = f"exercise:\n{CASUALTIES}"


def test_injects_are_what_they_say_in_the_order_of_time(write: Write) -> None:
    """Kinds, moments, areas and numbers; what is not said comes from the thing or the patient."""
    exercise = read_scenario(write(exercise_text())).exercise
    assert exercise is not None
    told = [(i.kind, i.at, i.area, i.thing, i.minutes) for i in exercise.injects]
    regulator, to_the_end = "field yoke regulator 0-15 L/min", math.inf
    assert told == [
        (InjectKind.WRONG_WASHER, 5, "field", f"{regulator} 1", 10),
        (InjectKind.CYLINDER_LOW, 10, "field", "field US D aluminium 4", to_the_end),
        (InjectKind.REGULATOR_LEAKS, 25, "field", f"{regulator} 3", to_the_end),
        (InjectKind.PATIENT_WORSENS, 35, "field", "A2", to_the_end),
        (InjectKind.POWER_FAILS, 40, "hall", "", 30),
        (InjectKind.SECOND_WAVE, 45, "field", "", to_the_end),
        (InjectKind.AREA_MOVES, 50, "field", "", 10),
        (InjectKind.DELIVERY_LATE, 60, "field", "county truck", 25),
        (InjectKind.POWER_FAILS, 90, "hall", "", to_the_end),
    ]
    assert exercise.injects[1].psi == 300
    worse = exercise.injects[3]
    assert (worse.category, worse.ladder) == ("immediate", "low need")  # the ladder of that moment stays
    (more,) = exercise.injects[5].patients
    assert (more.label, more.mechanism, more.arrival.at, more.stay) == ("P31", "chlorine", 50, 60)
    assert [(s.after, s.category) for s in more.course] == [(0, "delayed"), (10, "immediate")]


def test_objectives_are_said_in_words(write: Write) -> None:
    """Each has a key, its numbers, and words with units."""
    exercise = read_scenario(write(exercise_text())).exercise
    assert exercise is not None
    assert [(o.key, o.text) for o in exercise.objectives] == [
        ("O1", "At least 90 % of Immediate patients get oxygen within 5 min of arrival"),
        ("O2", "All patients who worsen get what is then prescribed within 5 min"),
        ("O3", "At least 95 % of the oxygen need of Immediate patients (Treatment area on the field) is met"),
        ("O4", "Delayed patients are without oxygen for at most 60 patient-minutes in all"),
        ("O5", "No patient is on something that gives nothing for longer than 2 min"),
        ("O6", "No patient is ever on a device below its least flow"),
    ]
    assert [o.measure for o in exercise.objectives] == list(Measure)
    assert (exercise.objectives[2].category, exercise.objectives[2].area) == ("immediate", "field")
    assert [o.minutes for o in exercise.objectives] == pytest.approx([5, 5, math.nan, 60, 2, 0], nan_ok=True)
    assert [o.share for o in exercise.objectives] == pytest.approx([0.9, 1, 0.95] + [math.nan] * 3, nan_ok=True)
    assert (exercise.seed, exercise.difficulty) == (3, pytest.approx(0.123))


def test_casualties_stand_among_the_patients_by_the_mean_mix(write: Write) -> None:
    """Of 40 hurt in a crash 10 by 25 % need oxygen, children apart; labels say group, category and ladder."""
    scenario = read_scenario(write(exercise_text()))
    exercise = scenario.exercise
    assert exercise is not None
    bus, passers = exercise.casualties
    assert (bus.label, bus.mechanism, bus.count, bus.children) == ("school bus", "road crash", 40, 0.8)
    assert bus.arrival == Arrival(Pattern.EARLY, 5, 30, 5)
    assert (passers.mechanism, passers.stay, passers.leave) == ("chlorine", math.inf, 90)
    drawn = {p.label: p for p in scenario.patients[3:]}
    assert tuple(drawn) == exercise.casualty_labels
    of_bus = {label: p.count for label, p in drawn.items() if p.mechanism == "road crash"}
    assert of_bus == {
        "school bus, immediate, high need": 1,
        "school bus, immediate, moderate need": 1,
        "school bus, immediate, paediatric high need": 2,
        "school bus, immediate, paediatric moderate need": 3,
        "school bus, delayed, paediatric moderate need": 1,
        "school bus, delayed, paediatric low need": 1,
        "school bus, minimal, paediatric low need": 1,
    }
    assert {p.arrival for p in drawn.values() if p.mechanism == "road crash"} == {bus.arrival}
    assert "P31" not in {p.label for p in scenario.patients}
    assert [p.mechanism for p in scenario.patients[:3]] == ["", "blast", "smoke"]
    assert any(a.what == "who of those hurt needs oxygen: road crash" for a in scenario.assumptions)


def test_casualties_alone_are_enough(write: Write) -> None:
    """Without `patients` the scenario has those who stand for the hurt, and can be counted and planned."""
    scenario = read_scenario(write(exercise_text(ALONE, "")))
    both = read_scenario(write(exercise_text(ALONE)))
    assert scenario.patients == both.patients[3:]
    assert len(count_demand(scenario).groups) >= 8


@given(
    st.integers(1, 400),
    st.sampled_from(sorted(load_mechanisms())),
    st.sampled_from([0.0, 0.1, 0.25, 0.5, 0.8, 1.0]) | st.floats(0, 1),
)
def test_the_mean_mix_is_within_one_of_its_shares(hurt: int, key: str, children: float) -> None:
    """Largest remainder: every number is its share rounded down or up, of adults and of children alike."""
    group = Casualties("G", key, hurt, "field", Arrival.together(5.0), 60.0, math.inf, children)
    found = list(mean_patients(group))
    assert len({p.label for p in found}) == len(found)
    counts = Counter({(p.course[0].category, p.course[0].ladder): p.count for p in found})
    mechanism = load_mechanisms()[key]
    young = [math.floor(hurt * children), math.ceil(hurt * children)]
    for child, numbers in ((True, young), (False, [hurt - number for number in young])):
        for need in mechanism.needs:
            count = counts[need.category, need.ladder_of(child=child)]
            assert any(math.floor(n * need.share) <= count <= math.ceil(n * need.share + 1e-9) for n in numbers)
        total = sum(counts[n.category, n.ladder_of(child=child)] for n in mechanism.needs)
        assert any(abs(total - number * (1 - mechanism.no_oxygen)) <= 1 + 1e-9 for number in numbers)


def test_whoever_may_be_drawn_has_ladder_weight_and_devices(write: Write) -> None:
    """Also needs that the mean mix has none of: a drawn exercise must be readable."""
    few = CASUALTIES.replace("hurt: 40", "hurt: 4").replace("road crash", "smoke")
    text = exercise_text(f"exercise:\n{few}", "")
    scenario = read_scenario(write(text))
    assert "paediatric low need" not in {s.ladder for p in scenario.patients for s in p.course if s.area == "field"}
    assert {"paediatric high need", "paediatric low need"} <= set(scenario.ladders)
    assert set(scenario.weights) == {"immediate", "delayed", "minimal"}
    with pytest.raises(InputError, match=r"ladder 'paediatric .* uses the device 'child cannula' at area 'field'"):
        read_scenario(write(text.replace("  - {device: child cannula, count: unlimited, area: field}\n", "")))
    read_scenario(write(text.replace("  - {device: child cannula, count: unlimited, area: hall}\n", "")))


def test_names_are_those_of_orders(write: Write) -> None:
    """One rule names things for injects and for orders."""
    scenario = read_scenario(write(exercise_text()))
    assert [s.key for s in find_supplies(scenario)] == [key for lot in scenario.lots for key in lot_names(lot)]
    names = [key for stock in scenario.regulators for key in numbered(stock.key, stock.quantity)]
    assert [r.key for r in find_regulators(scenario)] == names
    exercise = scenario.exercise
    assert exercise is not None
    known = {s.key for s in find_supplies(scenario)} | set(names)
    kinds = (InjectKind.WRONG_WASHER, InjectKind.CYLINDER_LOW, InjectKind.REGULATOR_LEAKS)
    assert {i.thing for i in exercise.injects if i.kind in kinds} <= known


def test_a_roster_may_say_how_they_were_hurt(write: Write) -> None:
    """A column `mechanism`, empty where nobody says."""
    roster = "patient,category,area,ladder,arrive,mechanism\nr1,delayed,hall,low need,T+20,crowd crush\n"
    roster += "r2,delayed,hall,low need,T+21,\n"
    text = exercise_text("", "patients:\n  - {roster: people.csv}\n")
    assert [p.mechanism for p in read_scenario(write(text, people__csv=roster)).patients] == ["crowd crush", ""]
    with pytest.raises(InputError, match=r"cell F2\): there is no mechanism of this name \(found 'crowd crash'\)"):
        read_scenario(write(text, people__csv=roster.replace("crush", "crash")))


def test_casualties_can_be_varied_and_what_players_are_not_told_cannot(write: Write) -> None:
    """Numbers of casualties are numbers of the incident; those of injects and objectives are none."""
    numbers = read_draft(write(exercise_text())).numbers
    assert {path for path in numbers if path.startswith("exercise")} == {
        "exercise.casualties.school bus.hurt",
        "exercise.casualties.school bus.children",
        "exercise.casualties.school bus.arrive.from",
        "exercise.casualties.school bus.arrive.over",
        "exercise.casualties.school bus.arrive.pattern",
        "exercise.casualties.school bus.stay",
        "exercise.casualties.passers-by.hurt",
        "exercise.casualties.passers-by.arrive",
        "exercise.casualties.passers-by.leave",
    }
    assert numbers["patients.count"].what == "all patients who are listed, in all"


def test_a_variant_has_other_casualties_and_no_injects(write: Write) -> None:
    """So that it need not have every single thing that an inject names."""
    draft = read_draft(write(exercise_text()))
    varied = draft.scenario({"exercise.casualties.passers-by.hurt": "100", "regulators.share": "25 %"})
    assert varied.exercise is not None
    assert varied.exercise.injects == varied.exercise.objectives == ()
    assert varied.exercise.casualties[1].count == 100
    assert sum(p.count for p in varied.patients if p.label.startswith("passers-by")) == 63


def test_a_variant_of_a_drawn_exercise_is_none(write: Write) -> None:
    """Fewer regulators than an inject names are no mistake of a variant."""
    drawn = exercise_text().replace(CASUALTIES, "")
    assert read_scenario(write(drawn)).exercise is not None
    assert read_draft(write(drawn)).scenario({"regulators.share": "25 %"}).exercise is None


def test_whoever_worsens_needs_devices_too(write: Write) -> None:
    """A ladder that only an inject asks for is known to the scenario, with its weight."""
    listed = "patients: [{patient: A2, category: minimal, area: hall, ladder: low need, arrive: T+4}]\n"
    worsens = (
        "exercise:\n  injects: [{inject: patient worsens, at: T+9, patient: A2, category: delayed, ladder: CPAP}]\n"
    )
    with pytest.raises(InputError, match="ladder 'CPAP' uses the device 'CPAP flow driven' at area 'hall'"):
        read_scenario(write(exercise_text(worsens, listed)))
    scenario = read_scenario(write(exercise_text(worsens.replace("CPAP", "high need"), listed)))
    assert set(scenario.ladders) == {"low need", "high need"}
    assert set(scenario.weights) == {"minimal", "delayed"}


def test_the_schema_for_editors_agrees() -> None:
    """What reads is valid by the JSON Schema; lines with a missing or a superfluous key are not."""
    schema = jsonschema.Draft202012Validator(json_schema())
    good = exercise_text().replace("Wrong", "wrong")  # capitals are for the reader only
    assert list(schema.iter_errors(yaml.safe_load(good))) == []
    assert list(schema.iter_errors(yaml.safe_load(exercise_text(ALONE, "")))) == []
    for old, new in (
        (", found after: 10 min", ""),
        ("area: hall, for: 30 min", "area: hall, for: 30 min, patient: A1"),
        ("inject: area moves", "inject: area dances"),
        ("minutes: 5 min, share: 90 %", "minutes: 5 min"),
        ("objective: on empty at most", "objective: on empty"),
        (", hurt: 40", ""),
        ("seed: 3", "seed: three"),
    ):
        assert old in good
        assert list(schema.iter_errors(yaml.safe_load(good.replace(old, new)))) != []
    assert list(schema.iter_errors(yaml.safe_load(exercise_text("", "")))) != []
