"""How a replay went, piece by piece: between two moments at which anything changes, all stands as at the first."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from mci.demand.people import name_people
from mci.replay.judge import replay, stand_at

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from mci.demand.people import Person
    from mci.demand.stays import Stay
    from mci.plan.orders import Order
    from mci.replay.standing import Standing
    from mci.replay.verdict import Verdict
    from mci.scenario.model import Lot, PowerSupply, RegulatorStock, Scenario, StaffShift

__all__ = ["SAME", "Piece", "Spell", "dry_moments", "dry_spells", "trace"]

#: Moments closer than this are one [min], as in the replay.
SAME = 1e-5


@dataclass(frozen=True, slots=True)
class Piece:
    """From ``start`` to ``end`` [min] nothing changes but litres; ``standing`` is how things stand at the start.

    ``present`` has the stay of everybody who is there, by patient.
    """

    start: float
    end: float
    standing: Standing
    present: dict[str, Stay]

    @property
    def minutes(self) -> float:
        """How long it lasts [min]."""
        return self.end - self.start


@dataclass(frozen=True, slots=True)
class Spell:
    """A patient connected to something that gives nothing, from ``start`` to ``end`` [min]."""

    patient: str
    stay: Stay
    start: float
    end: float


def dry_moments(verdict: Verdict) -> tuple[float, ...]:
    """Return when supplies ran empty while somebody was on them [min]."""
    return tuple(sorted({finding.minute for finding in verdict.findings if finding.law == "content"}))


def trace(scenario: Scenario, orders: Sequence[Order], further: Sequence[float] = ()) -> tuple[Piece, ...]:
    """Carry orders out and return how everything stood, from 0 to the horizon without a gap.

    Parameters
    ----------
    scenario, orders
        As for :func:`mci.replay.judge.replay`.
    further
        Moments at which pieces are to be cut as well [min].
    """
    people = name_people(scenario)
    verdict = replay(scenario, orders)
    found = {0.0, scenario.horizon, *further, *dry_moments(verdict), *_changes(scenario)}
    found |= {moment for order in orders for moment in (order.minute, order.begin)}
    found |= {moment for person in people for stay in person.stays for moment in (stay.start, stay.end)}
    moments = _apart([each for each in sorted(found) if 0 <= each <= scenario.horizon])
    return tuple(
        Piece(start, end, stand_at(scenario, orders, start), _present(people, start))
        for start, end in pairwise(moments)
    )


def _changes(scenario: Scenario) -> Iterator[float]:
    """Yield when something comes or goes."""
    things: tuple[Lot | RegulatorStock | StaffShift | PowerSupply, ...]
    things = (*scenario.lots, *scenario.regulators, *scenario.staff, *scenario.power)
    for thing in things:
        yield from (thing.available_from, thing.available_until)
    yield from (stock.available_from for stock in scenario.devices)


def _apart(moments: Sequence[float]) -> list[float]:
    """Leave out moments that are the same as the one before."""
    kept: list[float] = []
    for each in moments:
        if not kept or each > kept[-1] + SAME:
            kept.append(each)
    return kept


def _present(people: Sequence[Person], minute: float) -> dict[str, Stay]:
    stays = ((person.key, person.stay_at(minute + SAME)) for person in people)
    return {key: stay for key, stay in stays if stay is not None}


def dry_spells(pieces: Sequence[Piece]) -> tuple[Spell, ...]:
    """Return who was connected to something that gave nothing, and how long without a break."""
    running: dict[str, Spell] = {}
    done: list[Spell] = []
    for piece in pieces:
        dry = {
            patient
            for patient, connection in piece.standing.connected.items()
            if not connection.gas and patient in piece.present
        }
        done += [running.pop(patient) for patient in sorted(running.keys() - dry)]
        for patient in sorted(dry):
            stay = piece.present[patient]
            before = running.get(patient)
            running[patient] = Spell(patient, stay, before.start if before else piece.start, piece.end)
    done += [running[patient] for patient in sorted(running)]
    return tuple(sorted(done, key=lambda each: (each.start, each.patient)))
