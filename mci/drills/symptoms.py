"""What was seen of each cause, patient by patient: every patient-minute below the top rung belongs to exactly one.

The causes are asked in a fixed order, and the first that fits is kept:

1. connected, and nothing came;
2. on oxygen, but below the least flow of the device, or at a flow that reaches no rung of the ladder;
3. without oxygen, or below target, while an outlet in service could have given more (with a device for it, and gas for
   at least a minute): late recognition for who has never been on oxygen yet, otherwise oxygen that lay idle;
4. the same with an idle regulator and a cylinder for it, fit for service, and somebody free to put both together;
5. something that came late would have been there;
6. nothing of all this: nothing was left to give at that moment.

Beside these, too high a flow is seen in who draws more than the top rung does, and in who is on the top rung while
somebody of a more urgent category in the same area goes without and nothing is left for them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.drills.debriefed import Cause
from mci.drills.free import Now, Store
from mci.drills.least_flow import is_below_least
from mci.drills.trace import SAME, trace
from mci.plan.credit import reached_rung
from mci.scenario.model import CATEGORIES

if TYPE_CHECKING:
    from mci.catalogue.model import Ladder, Rung
    from mci.demand.stays import Stay
    from mci.drills.trace import Piece
    from mci.plan.orders import Order
    from mci.replay.standing import Connection
    from mci.scenario.model import DeviceStock, Lot, RegulatorStock, Scenario

__all__ = ["Symptom", "find_symptoms"]

#: What a flow may exceed the top rung's by rounding [L/min].
_ROUNDED = 0.005


@dataclass(frozen=True, slots=True)
class Symptom:
    """A cause seen in one patient from ``start`` to ``end`` [min].

    ``rate`` is what it costs a minute [weighted credit-minutes per min]; what is missing to the top rung or, where the
    flow is too high, what is drawn too much, in credit of the same patient's top rung.
    """

    start: float
    end: float
    cause: Cause
    patient: str
    category: str
    rate: float

    def minutes(self, start: float, end: float) -> float:
        """Return how much of it lies in a stretch [min]."""
        return max(0.0, min(self.end, end) - max(self.start, start))


@dataclass(frozen=True, slots=True)
class _Late:
    """Something of an area that was told for ``told`` and came at ``came`` [min]."""

    area: str
    told: float
    came: float


def find_symptoms(scenario: Scenario, told: Scenario, orders: Sequence[Order]) -> tuple[Symptom, ...]:
    """Return everything seen, in the order of time.

    Parameters
    ----------
    scenario, told
        The incident as it happened, and as it was told beforehand (:func:`mci.drills.happen.as_told`).
    orders
        What was done.
    """
    store, late = Store(scenario, orders), tuple(_late(scenario, told))
    treated: set[str] = set()
    found: list[Symptom] = []
    for piece in trace(scenario, orders, [each.told for each in late]):
        found += _Seen(store, late, piece, treated).symptoms()
        treated |= {patient for patient, each in piece.standing.connected.items() if each.gas}
    return tuple(found)


def _late(scenario: Scenario, told: Scenario) -> Iterator[_Late]:
    expected = {each.key: each.available_from for each in _things(told)}
    for thing in _things(scenario):
        if thing.delivery and expected.get(thing.key, thing.available_from) < thing.available_from - SAME:
            yield _Late(thing.area, expected[thing.key], thing.available_from)


def _things(scenario: Scenario) -> tuple[Lot | RegulatorStock | DeviceStock, ...]:
    return (*scenario.lots, *scenario.regulators, *scenario.devices)


class _Seen:
    """What is seen in one piece of a replay."""

    def __init__(self, store: Store, late: Sequence[_Late], piece: Piece, treated: set[str]) -> None:
        self._store, self._piece, self._treated = store, piece, treated
        self._now = Now(store, piece)
        at = piece.start + SAME
        self._late_at = {each.area for each in late if each.told <= at < each.came}

    def symptoms(self) -> list[Symptom]:
        """Return the symptoms of everybody who is there."""
        found = [each for patient, stay in self._piece.present.items() for each in self._below(patient, stay)]
        without = self._left_without({each.patient for each in found if each.cause is Cause.SHORTAGE})
        found += [
            each
            for patient, stay in self._piece.present.items()
            for each in self._too_much(patient, stay, without.get(stay.area, len(CATEGORIES)))
        ]
        return found

    def _below(self, patient: str, stay: Stay) -> Iterator[Symptom]:
        """Yield what is missing to the top rung, with its cause."""
        ladder = self._store.scenario.ladders[stay.ladder]
        connection = self._piece.standing.connected.get(patient)
        rung = _rung(ladder, connection)
        missing = ladder.rungs[0].credit - (rung.credit if rung is not None else 0.0)
        if missing > 0:
            yield self._symptom(self._cause(patient, stay, connection, rung), patient, stay, missing)

    def _symptom(self, cause: Cause, patient: str, stay: Stay, credit: float) -> Symptom:
        rate = self._store.scenario.weights[stay.category] * credit
        return Symptom(self._piece.start, self._piece.end, cause, patient, stay.category, rate)

    def _cause(self, patient: str, stay: Stay, connection: Connection | None, rung: Rung | None) -> Cause:
        if connection is not None and not connection.gas:
            return Cause.EMPTY
        if connection is not None:
            device = self._store.devices.get(connection.device)
            if rung is None or is_below_least(device, connection.flow_lpm):
                return Cause.LEAST_FLOW
        above = rung.credit if rung is not None else 0.0
        if self._now.has_outlet(patient, stay, above):
            never = connection is None and patient not in self._treated
            return Cause.RECOGNITION if never else Cause.IDLE_OXYGEN
        if self._now.has_regulator(patient, stay, above):
            return Cause.IDLE_REGULATOR
        return Cause.DELIVERY if stay.area in self._late_at else Cause.SHORTAGE

    def _left_without(self, short: set[str]) -> dict[str, int]:
        """Return per area the most urgent category of which somebody goes without, nothing being left for them."""
        found: dict[str, int] = {}
        for patient in short:
            if patient not in self._piece.standing.connected:
                stay = self._piece.present[patient]
                rank = CATEGORIES.index(stay.category)
                found[stay.area] = min(found.get(stay.area, rank), rank)
        return found

    def _too_much(self, patient: str, stay: Stay, without: int) -> Iterator[Symptom]:
        """Yield what is drawn beyond the top rung, or all of it where somebody more urgent goes without."""
        top = self._store.scenario.ladders[stay.ladder].rungs[0]
        connection = self._piece.standing.connected.get(patient)
        if connection is None or not connection.gas or top.flow_lpm <= 0 or top.credit <= 0:
            return
        excess = connection.flow_lpm - top.flow_lpm
        rung = _rung(self._store.scenario.ladders[stay.ladder], connection)
        on_top = rung is not None and rung.credit >= top.credit
        if on_top and without < CATEGORIES.index(stay.category):
            excess = connection.flow_lpm
        if excess > _ROUNDED:
            yield self._symptom(Cause.HIGH_FLOW, patient, stay, top.credit * excess / top.flow_lpm)


def _rung(ladder: Ladder, connection: Connection | None) -> Rung | None:
    if connection is None or not connection.gas:
        return None
    return reached_rung(ladder, connection.device, connection.flow_lpm)
