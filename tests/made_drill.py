"""A small drill put together by hand from a real run, for tests of what is printed; exercise data, invented."""

from __future__ import annotations

import dataclasses
import functools
import tempfile
from pathlib import Path

import pandas as pd
from planned import plan_all

from mci.drills.result import Casualty, Decision, Difficulty, Drill, Event, Level, Signs, Stage
from mci.provenance import Provenance
from mci.replay.judged import Judged
from mci.scenario import read_scenario
from mci.scenario.exercise import Exercise, Inject, InjectKind, Measure, Objective
from mci.scenario.model import Arrival, Patients, Scenario, Spell

__all__ = ["AS_BRIEFED", "EVIL", "evil_drill", "made_drill"]

#: What a spreadsheet or a browser could run.
EVIL = "=1+1<script>alert(1)</script>&\"x'"

#: What players are told: one area, a cache, a truck; eight casualties.
AS_BRIEFED = """\
incident: {name: Bus in the square, start: 09:10, horizon: 100 min,
           summary: A bus has run into a market stall; one treatment area beside the fountain.}
areas: {field: Treatment area at the fountain}
patients:
  - {patient: P01, category: immediate, area: field, ladder: high need, arrive: T+4, stay: 60 min}
  - {patient: P02, category: delayed, area: field, ladder: moderate need, arrive: T+6, stay: 70 min}
  - {patient: P03, category: minimal, area: field, ladder: low need, arrive: T+8, stay: 60 min}
  - {patient: P04, category: immediate, area: field, ladder: high need, arrive: T+9, stay: 70 min}
  - {patient: P05, category: delayed, area: field, ladder: moderate need, arrive: T+12, stay: 60 min}
  - {patient: P06, category: delayed, area: field, ladder: paediatric moderate need, arrive: T+15, stay: 60 min}
  - {patient: P07, category: delayed, area: field, ladder: moderate need, arrive: T+18, stay: 70 min,
     then: [{after: 17 min, category: immediate, ladder: high need}]}
  - {patient: P08, category: minimal, area: field, ladder: low need, arrive: T+25, stay: 60 min}
supplies:
  - {cylinder: US D aluminium, count: 6, pressure: 1900 psi, area: field}
  - {cylinder: US E aluminium, count: 2, pressure: 1800 psi, area: field}
regulators:
  - {regulator: yoke regulator 0-15 L/min, count: 6, area: field}
devices:
  - {device: non-rebreather, count: 4, area: field}
  - {device: simple mask, count: 6, area: field}
  - {device: nasal cannula, count: 10, area: field}
  - {device: partial rebreather, count: 2, area: field}
  - {device: child simple mask, count: 2, area: field}
  - {device: child cannula, count: 4, area: field}
staff:
  - {people: 2, area: field}
  - {people: 1, area: field, from: T+20}
deliveries:
  - delivery: county truck
    at: T+45
    area: field
    brings:
      - {cylinder: US E aluminium, count: 4, pressure: full}
      - {regulator: yoke regulator 0-15 L/min, count: 2}
resupply: {cylinder: US E aluminium, regulator: yoke regulator 0-15 L/min}
"""
_WAVE = ("P31", "P32")
_STEP = 5.0


def _read() -> Scenario:
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "exercise.yaml"
        file.write_text(AS_BRIEFED, encoding="utf-8")
        return read_scenario(file)


def _wave() -> tuple[Patients, ...]:
    spell = (Spell(0.0, "field", "delayed", "moderate need"),)
    return tuple(Patients(name, 1, Arrival.together(50.0 + 4 * at), 45.0, 100.0, spell, "chlorine")
                 for at, name in enumerate(_WAVE))  # fmt: skip


def _injects() -> tuple[Inject, ...]:
    regulator = "field yoke regulator 0-15 L/min"
    return (
        Inject(InjectKind.WRONG_WASHER, 5.0, "field", f"{regulator} 1", minutes=10.0),
        Inject(InjectKind.CYLINDER_LOW, 10.0, "field", "field US D aluminium 4", psi=300.0),
        Inject(InjectKind.REGULATOR_LEAKS, 25.0, "field", f"{regulator} 3"),
        Inject(InjectKind.PATIENT_WORSENS, 35.0, "field", "P07", category="immediate", ladder="high need"),
        Inject(InjectKind.DELIVERY_LATE, 45.0, "field", "county truck", minutes=20.0),
        Inject(InjectKind.SECOND_WAVE, 48.0, "field", patients=_wave()),
    )


def _actual(briefed: Scenario) -> Scenario:
    """What happens, near enough for what is printed: the truck is late, more come."""
    late = {"available_from": 65.0}
    return dataclasses.replace(
        briefed,
        patients=briefed.patients + _wave(),
        lots=tuple(dataclasses.replace(lot, **late) if lot.delivery else lot for lot in briefed.lots),  # type: ignore[arg-type]
        regulators=tuple(dataclasses.replace(r, **late) if r.delivery else r for r in briefed.regulators),  # type: ignore[arg-type]
    )


def _casualty(scenario: Scenario, patients: Patients) -> Casualty:
    arrive = patients.arrival.at
    needs = []
    for spell in patients.course:
        ladder = scenario.ladders[spell.ladder]
        top = ladder.rungs[0]
        needs.append((arrive + spell.after, spell.category, ladder.title, f"{top.device.title}, {top.setting}"))
    severe = patients.course[0].category == "immediate"
    first = Signs(84 if severe else 91, 32 if severe else 24, 124 if severe else 100, "grey, speaks in single words"
                  if severe else "pale, short of breath, answers in full sentences")  # fmt: skip
    worse = Signs(first.spo2 - 6, first.breaths + 6, first.pulse + 14, "drowsy, lips blue")
    better = Signs(96, first.breaths - 6, first.pulse - 16, "less short of breath")
    stages = [Stage("on arrival", first), Stage("after 10 min without oxygen", worse)]
    stages += [Stage("after 5 min at what is prescribed", better)]
    if len(patients.course) > 1:
        stages.append(Stage("from T+35 on, whatever was given", worse))
    unannounced = patients.label in _WAVE
    found = "Sat by the window, thrown forward. Holds the left side of the chest; bruise over the ribs."
    if unannounced:
        found = "Helped to carry crates away from the stall. Coughs, eyes water, smells of bleach."
    return Casualty(
        key=patients.label,
        age="9 years" if "paediatric" in patients.course[0].ladder else "46 years",
        found=found,
        mechanism="Chlorine" if unannounced else "Road crash",
        area="field",
        arrive=arrive,
        leave=min(arrive + patients.stay, patients.leave),
        needs=tuple(needs),
        stages=tuple(stages),
        unannounced=unannounced,
    )


_TOLD = {
    InjectKind.WRONG_WASHER: ("Regulator R1 does not seal: the washer on it is cracked.",
                              "Takes it off, finds the right washer or another regulator."),
    InjectKind.CYLINDER_LOW: ("The gauge of C4 shows 300 psi, not 1900 psi.",
                              "Reads the gauge before use, takes another cylinder."),
    InjectKind.REGULATOR_LEAKS: ("R3 begins to hiss at the yoke and cannot be made tight.",
                                 "Closes the cylinder, moves the casualty to another outlet within two minutes."),
    InjectKind.PATIENT_WORSENS: ("P07 is drowsy now; lips blue.", "Steps the flow up, tells the lead."),
    InjectKind.DELIVERY_LATE: ("County truck is held up at the bridge; it comes 20 minutes late.",
                               "Plans anew what is left until T+65; steps down whom protocol lets step down."),
    InjectKind.SECOND_WAVE: ("Two more casualties are being brought from behind the stall, coughing.",
                             "Frees outlets; says what is short."),
}  # fmt: skip


def _events(cards: tuple[Casualty, ...], injects: tuple[Inject, ...]) -> tuple[Event, ...]:
    rows: list[tuple[float, str, str, str, str, str, tuple[str, ...], Inject | None]] = [
        (card.arrive, f"{card.key} is brought in.", "bearers", "treatment lead", "casualty card",
         "Looks, asks for the signs, decides on oxygen.", ("O1",), injects[-1] if card.unannounced else None)
        for card in cards
    ]  # fmt: skip
    for inject in injects:
        what, expected = _TOLD[inject.kind]
        means = "radio" if inject.kind in (InjectKind.DELIVERY_LATE, InjectKind.SECOND_WAVE) else "in person, slip"
        rows.append((inject.at, what, "controller", "oxygen crew", means, expected, ("O2",), inject))
    rows.append((65.0, "County truck unloads: 4 cylinders, 2 regulators.", "driver", "oxygen crew", "in person",
                 "Brings them into service.", (), None))  # fmt: skip
    spare = [(inject.at + 8.0, f"Only if nothing was done about T+{inject.at:g}: what is amiss here?", "controller",
              "oxygen crew", "in person", "As before.", (), inject) for inject in injects]  # fmt: skip
    both = sorted([(row, False) for row in rows] + [(row, True) for row in spare], key=lambda pair: pair[0][0])
    return tuple(Event(number, *row, contingency=late) for number, (row, late) in enumerate(both, start=1))


def _over_time(plans: tuple[Judged, ...], scenario: Scenario) -> pd.DataFrame:
    rows = []
    stays = [(p.arrival.at, min(p.arrival.at + p.stay, p.leave)) for p in scenario.patients]
    for judged in plans:
        for step in range(int(scenario.horizon / _STEP)):
            at = step * _STEP
            there = sum(a <= at < b for a, b in stays)
            now = [each for each in judged.verdict.services if each.start <= at < each.end]
            top = sum(each.at_target for each in now)
            rows.append((judged.name, at, there, sum(each.credit for each in now), top, len(now) - top,
                         there - len(now)))  # fmt: skip
    names = "plan time_min need credit at_target below_target without"
    return pd.DataFrame(rows, columns=names.split())


_OBJECTIVES = (
    Objective("O1", "90 % of Immediate casualties are on oxygen within 5 minutes of arrival", Measure.ON_OXYGEN,
              category="immediate", minutes=5.0, share=0.9),
    Objective("O2", "Who worsens is at what is prescribed within 5 minutes", Measure.STEPPED_UP, minutes=5.0,
              share=1.0),
    Objective("O3", "At least 90 % of the need of Immediate casualties is met", Measure.COVERAGE, category="immediate",
              share=0.9),
    Objective("O4", "No one is left on an empty cylinder for more than 2 minutes", Measure.EMPTY, minutes=2.0),
)  # fmt: skip


def _decisions(best: Judged) -> tuple[Decision, ...]:
    of = {name: tuple(row for row, order in enumerate(best.plan.orders, start=1) if order.patient == name)
          for name in ("P04", "P05")}  # fmt: skip
    return (
        Decision(9.0, "P04 is put on C7, not on the cylinder that is nearest", "Its cylinder lasts until P04 leaves.",
                 of["P04"], 41.5, 38.0, ("P04",)),
        Decision(38.0, "P05 is stepped down to a nasal cannula", "P07 has worsened and outlets are short.",
                 of["P05"][-2:], 12.25, -3.0, ("P05", "P07")),
    )  # fmt: skip


@functools.cache
def made_drill() -> Drill:
    """Return the drill; made once."""
    briefed = dataclasses.replace(_read(), exercise=Exercise(injects=_injects(), objectives=_OBJECTIVES, seed=3))
    actual = _actual(briefed)
    planned = plan_all(actual)
    again = Judged(dataclasses.replace(planned.usual[0].plan, name="planned again"), planned.usual[0].verdict)
    cards = tuple(_casualty(actual, patients) for patients in actual.patients)
    usual, best = planned.usual, planned.this
    reached = max(each.verdict.weighted for each in usual)
    lost = 1 - reached / best.verdict.weighted
    return Drill(
        briefed=briefed,
        actual=actual,
        seed=3,
        casualties=cards,
        events=_events(cards, _injects()),
        objectives=_OBJECTIVES,
        best=best,
        again=again,
        usual=usual,
        over_time=_over_time((best, again, *usual), actual),
        decisions=_decisions(best),
        difficulty=Difficulty(Level.MODERATE, Level.MODERATE, lost, reached, best.verdict.weighted, planned.bound, 7),
        exercise_text=AS_BRIEFED + "exercise: {seed: 3}\n",
        notes=("Two casualties come unannounced.",),
        provenance=Provenance("exercise.yaml", briefed.sha256, {"seed": 3}, {"name": "HiGHS"}, {"all_s": 1.0}),
    )


def evil_drill() -> Drill:
    """Return the drill with every free text hostile."""
    drill = made_drill()

    def named(scenario: Scenario) -> Scenario:
        return dataclasses.replace(
            scenario,
            name=EVIL,
            summary=EVIL,
            areas=tuple(dataclasses.replace(area, title=EVIL) for area in scenario.areas),
            lots=tuple(
                dataclasses.replace(lot, label=EVIL, delivery=EVIL if lot.delivery else "") for lot in scenario.lots
            ),
        )

    cards = tuple(dataclasses.replace(c, found=EVIL, age=EVIL, mechanism=EVIL,
                                      stages=tuple(dataclasses.replace(s, when=EVIL) for s in c.stages))
                  for c in drill.casualties)  # fmt: skip
    events = tuple(dataclasses.replace(e, what=EVIL, expected=EVIL, sender=EVIL, receiver=EVIL, means=EVIL)
                   for e in drill.events)  # fmt: skip
    return dataclasses.replace(
        drill,
        briefed=named(drill.briefed),
        actual=named(drill.actual),
        casualties=cards,
        events=events,
        objectives=tuple(dataclasses.replace(o, text=EVIL) for o in drill.objectives),
        decisions=tuple(dataclasses.replace(d, what=EVIL, why=EVIL) for d in drill.decisions),
        notes=(EVIL,),
    )
