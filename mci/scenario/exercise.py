"""What makes a scenario an exercise: who is hurt in a few lines, what happens unannounced, what is to be shown.

The rest of the scenario is what players are told beforehand; injects change it (:mod:`mci.drills.happen`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from mci.scenario.model import Arrival, Patients

__all__ = ["Casualties", "Exercise", "Inject", "InjectKind", "Measure", "Objective"]


class InjectKind(StrEnum):
    """What can happen that players are not told beforehand."""

    REGULATOR_LEAKS = "regulator leaks"  # from that moment on it is of no use
    CYLINDER_LOW = "cylinder low"  # it holds less than its label says, from the start; found when its gauge is read
    WRONG_WASHER = "wrong washer"  # a regulator seals only when the right washer is found, some minutes later
    DELIVERY_LATE = "delivery late"
    SECOND_WAVE = "second wave"  # more patients
    POWER_FAILS = "power fails"  # for some minutes, or to the end
    PATIENT_WORSENS = "patient worsens"
    AREA_MOVES = "area moves"  # what is built in stays behind; whoever changes cylinders carries for some minutes


@dataclass(frozen=True, slots=True)
class Inject:
    """Something that happens, told to the players at its moment.

    Parameters
    ----------
    at
        When players are told [min].
    area
        Where; that of the thing or patient.
    thing
        The regulator, supply, delivery or patient, by its name in orders; empty for whole areas and second waves.
    minutes
        How long: until the right washer is found, by how much a delivery is late, for how long power fails or an
        area moves [min].
    psi
        Of a low cylinder: what its gauge really shows [psi].
    category, ladder
        Of a patient who worsens: from then on.
    patients
        Of a second wave: who comes.
    """

    kind: InjectKind
    at: float
    area: str
    thing: str = ""
    minutes: float = math.inf
    psi: float = math.nan
    category: str = ""
    ladder: str = ""
    patients: tuple[Patients, ...] = ()


@dataclass(frozen=True, slots=True)
class Casualties:
    """Who is hurt, in a line: a number of people by a mechanism, whose mix says how badly.

    Parameters
    ----------
    label
        Name of the group.
    mechanism
        Key of the catalogue's mechanisms of injury.
    count
        Number hurt; those of them who need no oxygen by the mix are counted, and come as nobody's patients.
    children
        Share of them who are children, 0 to 1.
    stay, leave
        As for :class:`mci.scenario.model.Patients` [min].
    """

    label: str
    mechanism: str
    count: int
    area: str
    arrival: Arrival
    stay: float
    leave: float
    children: float = 0.0


class Measure(StrEnum):
    """What an objective measures; all are found in the replay of orders."""

    ON_OXYGEN = "on oxygen within"  # share of patients who get any oxygen within so many minutes of arrival
    STEPPED_UP = "stepped up within"  # share of patients who worsen and are at target within so many minutes
    COVERAGE = "coverage at least"  # share of the need
    WITHOUT = "without oxygen at most"  # patient-minutes
    EMPTY = "on empty at most"  # longest time [min] that anyone is connected to something that gives nothing
    LEAST_FLOW = "below least flow at most"  # patient-minutes on a device below its least flow


@dataclass(frozen=True, slots=True)
class Objective:
    """One thing to be shown, specific and measurable.

    Parameters
    ----------
    key
        ``O1``, ``O2`` and so on.
    text
        In words, with its numbers.
    category, area
        Whose; empty for everybody, everywhere.
    minutes
        Limit of a measure in minutes [min]; NaN where it has none.
    share
        What share is asked, 0 to 1; NaN where it has none.
    """

    key: str
    text: str
    measure: Measure
    category: str = ""
    area: str = ""
    minutes: float = math.nan
    share: float = math.nan


@dataclass(frozen=True, slots=True)
class Exercise:
    """Everything that makes a scenario an exercise.

    Parameters
    ----------
    casualties
        Groups from which casualties are drawn; empty in an exercise that was drawn.
    casualty_labels
        Labels of the patients of the scenario that stand for these groups, by the mean mix, so that the scenario
        can be planned as it is.
    injects
        What happens, in the order of time.
    objectives
        What is to be shown; empty where a drill takes those that fit.
    seed
        With which it was drawn; ``None`` where it was not.
    difficulty
        Share of the best possible weighted coverage that usual practice loses, as measured when it was drawn; NaN
        where it was not.
    """

    casualties: tuple[Casualties, ...] = ()
    casualty_labels: tuple[str, ...] = ()
    injects: tuple[Inject, ...] = ()
    objectives: tuple[Objective, ...] = ()
    seed: int | None = None
    difficulty: float = math.nan
