"""What a table-top says: what happens, how things stand, and what can be seen of a casualty."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from mci.catalogue.load import load_catalogue
from mci.drills.session import SAME
from mci.drills.signs import find_bodies, history_at, signs_at
from mci.plan.gauge import expected_gauge
from mci.plan.marks import find_marks, shorten
from mci.plan.orders import Action
from mci.plan.things import find_handlers, find_regulators, find_supplies
from mci.units import format_clock, format_duration, format_flow, format_moment, format_pressure

if TYPE_CHECKING:
    from mci.demand.people import Person
    from mci.drills.result import Casualty, Drill
    from mci.drills.session import Happening, Position, Session
    from mci.plan.orders import Order
    from mci.plan.things import Supply
    from mci.replay.standing import Connection, Standing
    from mci.scenario.model import Scenario

__all__ = ["SessionWords"]

#: Less than this is nothing [L].
_LITRES = 1e-6


class SessionWords:
    """Says in lines what players may know.

    Parameters
    ----------
    drill, session
        What is played, and its rules.
    """

    def __init__(self, drill: Drill, session: Session) -> None:
        self._session = session
        self._actual: Scenario = drill.actual
        self._marks = find_marks(drill.briefed)
        self._cards = {card.key: card for card in drill.casualties}
        self._bodies = find_bodies(drill.actual, drill.seed)
        used = {rung.device for ladder in drill.actual.ladders.values() for rung in ladder.rungs}
        self._single_use = {each.key: each.single_use for each in (*load_catalogue().devices.values(), *used)}
        longest = sorted(self._marks.by_name, key=len, reverse=True)
        self._names = re.compile(rf"(?<!\w)({'|'.join(map(re.escape, longest))})(?!\w)") if longest else None
        self._titles = {area.key: area.title for area in drill.actual.areas}

    def moment(self, clock: float) -> str:
        """Write a moment, with the clock time where the exercise has one."""
        time = format_clock(clock, self._actual.start)
        return f"{_moment(clock)}{f' ({time})' if time else ''}"

    def marked(self, text: str) -> str:
        """Put marks in place of names."""
        return self._names.sub(lambda found: self._marks.of(found[0]), text) if self._names else text

    # --- what happens ------------------------------------------------------------------------

    def happening(self, each: Happening) -> Iterator[str]:
        """Tell of something that happens."""
        when = _moment(each.minute)
        if each.done is not None:
            yield f"{when} Done: {self.order(each.done)}."
        elif each.leaves is not None:
            where = f"moves to {self._titles[each.to]}" if each.to else "leaves"
            yield f"{when} {each.leaves.key} {where}, and is off oxygen here."
        elif each.event is not None:
            yield f"{when} [{each.event.sender}, {each.event.means}] {each.event.what}"
            arriving = (p for p in self._session.people.values() if abs(p.arrive - each.minute) <= SAME)
            if not each.stops and each.event.means == "casualty card":
                named = [person for person in arriving if person.key in each.event.what.replace(",", " ").split()]
                yield from (f"  {self._in_short(person)}" for person in named)

    def _in_short(self, person: Person) -> str:
        card = self._cards.get(person.key)
        age = f", {card.age}" if card else ""
        found = f": {card.found}" if card else ""
        return f"{person.key}{age}{found} {self._needs(person, person.arrive)}"

    def _needs(self, person: Person, clock: float) -> str:
        stay = person.stay_at(clock + SAME)
        if stay is None:
            return ""
        rung = self._actual.ladders[stay.ladder].rungs[0]
        return f"{stay.category.capitalize()}; prescribed: {rung.device.key} {rung.setting}."

    def order(self, order: Order) -> str:
        """Say an order in marks."""
        supply, tool = self._marks.of(order.supply), self._marks.of(order.regulator)
        if order.action is Action.CHANGE:
            by = f", by {self._marks.of(order.by)}" if order.by else ""
            return f"{tool} goes on {supply}{by}" if order.regulator else f"{supply} is opened{by}"
        what = f"{order.action.value} {order.patient}"
        device = f" {order.device}" if order.device else ""
        flow = f" {format_flow(order.flow_lpm)}" if order.flow_lpm else ""
        if order.action is Action.DISCONNECT:
            return f"{what} ({order.reason})" if order.reason else what
        where = f" from {supply}" if order.supply else ""
        return f"{what}{device}{flow}{where}{f' by {tool}' if order.regulator else ''}"

    # --- how things stand --------------------------------------------------------------------

    def state(self, position: Position) -> Iterator[str]:
        """Tell who is on what, who waits, and what there is, area by area."""
        standing = self._session.stand(position)
        yield f"{self.moment(position.clock)}."
        for area, title in self._titles.items():
            if len(self._titles) > 1:
                yield f"{title}:"
            yield from self._patients(area, position, standing)
            yield from self._tools(area, position, standing)
            yield from self._gas(area, position, standing)
            yield from self._devices(area, position, standing)
            yield from self._people(area, position)

    def _patients(self, area: str, position: Position, standing: Standing) -> Iterator[str]:
        clock = position.clock
        waiting = []
        for person in self._session.here(clock):
            stay = person.stay_at(clock + SAME)
            if stay is None or stay.area != area:
                continue
            connection = standing.connected.get(person.key)
            if connection is None:
                without = format_duration(clock - self._since(person, standing))
                waiting.append(f"Waits: {person.key} for {without}. {self._needs(person, clock)}")
            else:
                yield f"On oxygen: {person.key}, {self._given(connection)}. {self._needs(person, clock)}"
        yield from waiting

    def _since(self, person: Person, standing: Standing) -> float:
        """Return since when a patient has been without oxygen [min]."""
        return max([person.arrive, *(each.end for each in standing.services if each.patient == person.key)])

    def _given(self, connection: Connection) -> str:
        tool = f" by {self._marks.of(connection.regulator)}" if connection.regulator else ""
        flow = f" {format_flow(connection.flow_lpm)}" if connection.flow_lpm else ""
        supply = f" from {self._marks.of(connection.supply)}{tool}" if connection.supply else ""
        return f"{connection.device}{flow}{supply}"

    def gauge(self, supply: Supply, litres: float) -> str:
        """Say what a gauge reads; empty where there is none."""
        psi = expected_gauge(supply, litres)
        if psi is None:
            return f"{max(litres, 0.0):.0f} L" if math.isfinite(litres) and supply.must_be_opened else ""
        return format_pressure(psi, metric=self._actual.pressures_in_bar)

    def _gauge(self, name: str, standing: Standing) -> str:
        return self.gauge(self._session.names.supplies[name], standing.litres[name])

    def _gauged(self, name: str, standing: Standing) -> str:
        text = self._gauge(name, standing)
        return f"{self._marks.of(name)}{f' ({text})' if text else ''}"

    def _tools(self, area: str, position: Position, standing: Standing) -> Iterator[str]:
        users = _users(standing)
        free = []
        for tool in find_regulators(self._session.known(position.clock)):
            if tool.area != area or tool.available_from > position.clock + SAME:
                continue
            mark, on = self._marks.of(tool.key), standing.fitted.get(tool.key, "")
            if tool.available_until <= position.clock + SAME:
                yield f"Of no use: {mark} ({tool.outlets.key})."
            elif on:
                who = ", ".join(users.get(tool.key, ())) or "nobody"
                yield f"In service: {mark} on {self._gauged(on, standing)}: {who}."
            else:
                free.append(mark)
        if free:
            yield f"Free regulators: {shorten(free)}."

    def _gas(self, area: str, position: Position, standing: Standing) -> Iterator[str]:
        users, taken = _users(standing), set(standing.fitted.values())
        known = self._session.known(position.clock)
        labels = {each.key: each for each in find_supplies(known)}  # nobody reads the gauge of what is not in service
        window = {lot.key: (lot.available_from, lot.available_until) for lot in known.lots if lot.area == area}
        alike: dict[tuple[str, str], list[str]] = {}
        for name, supply in self._session.names.supplies.items():
            begin, end = window.get(supply.lot.key, (math.inf, 0.0))
            if not begin <= position.clock + SAME < end or (supply.lot.built_in is None and name in taken):
                continue
            if supply.lot.built_in is not None and (name in taken or not supply.must_be_opened):
                who = ", ".join(users.get(name, ())) or "nobody"
                yield f"In service: {self._gauged(name, standing)}, {supply.lot.label}: {who}."
                continue
            kind = supply.lot.cylinder.key if supply.lot.cylinder else supply.lot.label
            untouched = standing.litres[name] >= supply.litres - _LITRES
            shown = self.gauge(labels[name], labels[name].litres) if untouched else self._gauge(name, standing)
            alike.setdefault((kind, shown), []).append(self._marks.of(name))
        for (kind, gauge), marks in alike.items():
            yield f"Not in service: {shorten(marks)}, {kind}{f', {gauge}' if gauge else ''}."

    def _devices(self, area: str, position: Position, standing: Standing) -> Iterator[str]:
        stock: dict[str, float] = {}
        for each in self._session.known(position.clock).devices:
            if each.area == area and each.available_from <= position.clock + SAME:
                stock[each.device] = stock.get(each.device, 0.0) + each.quantity
        people = {person.key: stay.area for person in self._session.here(position.clock)
                  if (stay := person.stay_at(position.clock + SAME)) is not None}  # fmt: skip
        left = []
        for device, count in stock.items():
            if math.isfinite(count):
                worn = [key for key, each in standing.connected.items() if each.device == device]
                used = sum(people.get(key) == area for key in worn)
                if self._single_use.get(device, False):
                    used = standing.handed_out.get((area, device), 0)
                left.append(f"{device} {count - used:g} of {count:g}")
        if left:
            yield f"Devices left: {', '.join(left)}."

    def _people(self, area: str, position: Position) -> Iterator[str]:
        for order in self._session.under_way(position):
            if order.area == area:
                yield f"Under way: {self.order(order)}, done at {_moment(order.minute)}."
        busy = {each.by for each in self._session.under_way(position)}
        clock = position.clock + SAME
        free = dict.fromkeys(
            self._marks.of(each.key)
            for each in find_handlers(self._session.known(position.clock))
            if each.area == area and each.available_from <= clock < each.available_until and each.key not in busy
        )
        yield f"Free to change cylinders: {', '.join(free) or 'nobody'}."

    # --- cards and marks ---------------------------------------------------------------------

    def card(self, key: str, position: Position) -> Iterator[str]:
        """Tell what can be seen of a casualty now."""
        person, clock = self._session.people[key], position.clock
        if person.arrive > clock + SAME:
            yield f"{key} is not here."
            return
        if person.stay_at(clock + SAME) is None:
            yield f"{key} has left."
            return
        standing = self._session.stand(position)
        yield self._headed(person, self._cards.get(key))
        yield f"  {self._needs(person, clock)}"
        connection = standing.connected.get(key)
        on = f"On {self._given(connection)}" if connection else "Without oxygen"
        history = history_at(person, self._actual, standing.services, clock)
        signs = signs_at(self._bodies[key], history)
        rates = f"{signs.breaths} breaths and pulse {signs.pulse} a minute"
        yield f"  {on}: saturation {signs.spo2} %, {rates}, {signs.looks}."

    def _headed(self, person: Person, card: Casualty | None) -> str:
        if card is None:
            return f"{person.key}."
        how = f" ({card.mechanism})" if card.mechanism else ""
        return f"{person.key}, {card.age}{how}, here since {_moment(person.arrive)}: {card.found}"

    def marks(self) -> Iterator[str]:
        """Tell what marks stand for."""
        for area, legends in self._marks.legends.items():
            prefix = f"{self._titles[area]}: " if len(self._titles) > 1 else ""
            yield from (f"{prefix}{each.marks}: {each.what}." for each in legends)


def _users(standing: Standing) -> dict[str, list[str]]:
    """Return who is on each regulator, or on each supply with outlets of its own."""
    users: dict[str, list[str]] = {}
    for patient, connection in standing.connected.items():
        users.setdefault(connection.regulator or connection.supply, []).append(patient)
    return users


def _moment(minutes: float) -> str:
    """Write a moment; with what is over whole minutes, where a change is done in between."""
    whole = format_moment(minutes)
    rest = minutes - math.floor(minutes + 1e-9)
    return f"{whole}.{math.floor(100 * rest + 1e-6):02d}" if rest > 0.005 else whole
