"""The treatment areas as orders change them: who is on what, what sits on what, and what is left.

Gas flows without a break between orders, so every supply remembers its flow and the moment up to which
its litres are reckoned (:meth:`Floor.settle`).  Nothing here judges an order, except that a supply which
runs dry is reported: it happens between orders.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from mci.plan.credit import reached_rung
from mci.plan.things import find_handlers, find_regulators, find_supplies
from mci.replay.gauge import litres_at_start
from mci.replay.verdict import Finding, Holding, Service
from mci.replay.words import at

if TYPE_CHECKING:
    from mci.catalogue.model import Device, OutletSet
    from mci.demand.people import Person
    from mci.demand.stays import Stay
    from mci.plan.things import Handler, Supply
    from mci.scenario.model import Scenario

__all__ = ["TOLERANCE", "Draw", "Floor", "Head", "Tank"]

#: Moments closer together than this are one [min]: orders in a file carry ten digits, so a moment in the
#: second week is known to 5e-6 min.
TOLERANCE = 1e-5
#: Litres that arithmetic may lose [L].
LITRE_NOISE = 1e-6


@dataclass(slots=True, eq=False)
class Tank:
    """One supply: litres left at the moment ``at``, and what is drawn from it since.

    ``row`` is the last order that changed what is drawn, ``slack`` the litres that the rounding of moments
    may have cost, ``stopped`` whether it gives nothing any more (empty, or taken away), ``dark`` whether it gives
    nothing as long as there is too little power.
    """

    supply: Supply
    litres: float
    own: Head | None = None
    heads: list[Head] = field(default_factory=list)
    at: float = 0.0
    flow: float = 0.0
    slack: float = LITRE_NOISE
    stopped: bool = False
    dark: bool = False
    row: int = 0


@dataclass(slots=True, eq=False)
class Head:
    """What patients are connected to: a regulator, or the outlets of a supply's own.

    ``outlets`` is ``None`` where the orders do not say which regulator it is, and ``vague`` tells that they do
    not say what it sits on.  ``row`` is the last order that connected somebody, ``gone`` whether it passes nothing
    any more because it is not there.
    """

    key: str
    area: str
    outlets: OutletSet | None
    available_from: float = 0.0
    available_until: float = math.inf
    tank: Tank | None = None
    users: dict[str, Draw] = field(default_factory=dict)
    vague: bool = False
    row: int = 0
    since: float = math.nan
    litres_then: float = 0.0
    gone: bool = False

    @property
    def flow(self) -> float:
        """What its patients draw [L/min]."""
        return 0.0 if self.gone else sum(draw.flow for draw in self.users.values())


@dataclass(slots=True, eq=False)
class Draw:
    """A patient on oxygen; ``since`` is when the running service began, NaN while no gas comes.

    ``dry`` is since when no gas comes, NaN while it does.
    """

    person: Person
    stay: Stay
    device: str
    flow: float
    head: Head | None
    credit: float
    at_target: bool
    since: float = math.nan
    dry: float = math.nan


@dataclass(slots=True, eq=False)
class Touched:
    """What the orders of one moment touched, to be judged after all of them."""

    heads: dict[Head, None] = field(default_factory=dict)
    tanks: dict[Tank, int] = field(default_factory=dict)  # those that got a regulator, with the order's row
    devices: dict[tuple[str, str], int] = field(default_factory=dict)
    areas: dict[str, int] = field(default_factory=dict)  # those where somebody was connected


class Floor:
    """Everything that orders change, and the trace of it."""

    def __init__(self, scenario: Scenario, people: dict[str, Person]) -> None:
        self.scenario = scenario
        self.people = people
        self.areas = {area.key for area in scenario.areas}
        self.devices: dict[str, Device] = {
            rung.device.key: rung.device for ladder in scenario.ladders.values() for rung in ladder.rungs
        }
        self.tanks = {supply.key: Tank(supply, litres_at_start(supply)) for supply in find_supplies(scenario)}
        self.heads = {
            each.key: Head(each.key, each.area, each.outlets, each.available_from, each.available_until)
            for each in find_regulators(scenario)
        }
        self.handlers: dict[str, list[Handler]] = {area.key: [] for area in scenario.areas}
        for handler in find_handlers(scenario):
            self.handlers[handler.area].append(handler)
        self.draws: dict[str, Draw] = {}
        self.lost: set[str] = set()  # patients of whom an order was refused: what follows from it is not told
        self.in_use: dict[tuple[str, str], int] = {}  # patients per area and device
        self.owned: set[tuple[str, str]] = set()  # patient and single-use device
        self.handed_out: dict[tuple[str, str], int] = {}  # per area and single-use device
        self.busy: dict[str, list[tuple[float, float, int]]] = {}  # per person: begin, end, row
        self.last_row: dict[str, int] = {}  # the latest order for each patient
        self.passed_over: set[int] = set()  # rows of orders that came too late, already told
        self.touched = Touched()
        self.findings: list[Finding] = []
        self.services: list[Service] = []
        self.holdings: list[Holding] = []
        self._standing: set[tuple[str, str]] = set()
        self.machines: dict[str, list[Tank]] = {}  # per area, what takes electrical power
        self.last_machine: dict[str, int] = {}  # per area, the last order that connected somebody
        for tank in self.tanks.values():
            lot = tank.supply.lot
            if lot.watts_each > 0:
                self.machines.setdefault(lot.area, []).append(tank)
            if lot.built_in is not None:
                tank.own = Head("", lot.area, lot.built_in)
                if not tank.supply.must_be_opened:
                    tank.own.tank = tank
                    tank.heads.append(tank.own)

    def report(
        self, law: str, row: int, minute: float, reason: str, *, standing: str = "", judged: bool = True
    ) -> None:
        """Note what was found; what stands until somebody mends it (``standing`` names it) is noted once."""
        if standing:
            if (law, standing) in self._standing:
                return
            self._standing.add((law, standing))
        self.findings.append(Finding(law, row, minute, reason, judged))

    def mended(self, law: str, standing: str) -> None:
        """Forget what stood, so that it is told when it happens again."""
        self._standing.discard((law, standing))

    def put_on(self, draw: Draw, now: float, row: int) -> None:
        """Connect a patient; gas flows from now on."""
        person, area = draw.person.key, draw.stay.area
        self.draws[person] = draw
        key = (area, draw.device)
        self.in_use[key] = self.in_use.get(key, 0) + 1
        self.touched.devices[key] = row
        device = self.devices.get(draw.device)
        if device is not None and device.single_use and (person, draw.device) not in self.owned:
            self.owned.add((person, draw.device))
            self.handed_out[key] = self.handed_out.get(key, 0) + 1
        head = draw.head
        if head is not None:
            if head.tank is not None and not head.users and head is head.tank.own:
                self._hold(head, now)
            head.users[person] = draw
            head.row = row
            self.touched.heads[head] = None
            self.touched.areas[head.area] = row
            if not head.gone:
                self._change_flow(head.tank, draw.flow, now, row)
        self._begin(draw, now)

    def take_off(self, draw: Draw, now: float, row: int) -> None:
        """Disconnect a patient."""
        self._end(draw, now)
        del self.draws[draw.person.key]
        self.in_use[draw.stay.area, draw.device] -= 1
        self.touched.devices.setdefault((draw.stay.area, draw.device), row)
        head = draw.head
        if head is not None:
            del head.users[draw.person.key]
            self.touched.heads[head] = None
            self.touched.areas.setdefault(head.area, row)
            if not head.gone:
                self._change_flow(head.tank, -draw.flow, now, row)
            if head.tank is not None and not head.users and head is head.tank.own:
                self._release(head, now)

    def follow_stay(self, draw: Draw, stay: Stay, now: float) -> None:
        """Go on in the next stay in the same area: the need changed."""
        self._end(draw, now)
        draw.stay = stay
        self.rate(draw)
        self._begin(draw, now)

    def rate(self, draw: Draw) -> None:
        """Set what the device and flow of a patient are worth in the present stay."""
        ladder = self.scenario.ladders[draw.stay.ladder]
        rung = reached_rung(ladder, draw.device, draw.flow)
        draw.credit = rung.credit if rung else 0.0
        draw.at_target = rung is not None and rung.credit >= ladder.rungs[0].credit

    def attach(self, head: Head, tank: Tank | None, now: float, row: int) -> None:
        """Put a regulator on a supply (``None``: on one that is not named); its patients go on from there."""
        for draw in head.users.values():
            self._end(draw, now)
        flow = head.flow
        if head.tank is not None:
            self._leave(head, now)
            self._change_flow(head.tank, -flow, now, row)
        head.tank, head.vague = tank, tank is None
        if tank is not None:
            tank.heads.append(head)
            self._hold(head, now)
            self._change_flow(tank, flow, now, row)
            self.touched.tanks[tank] = row
        self.touched.heads[head] = None
        for draw in head.users.values():
            self._begin(draw, now)

    def detach(self, head: Head, now: float) -> None:
        """Take a regulator that serves nobody off its supply."""
        self._leave(head, now)
        head.tank = None

    def stop(self, tank: Tank, now: float) -> None:
        """Let a supply give nothing any more: its patients stay connected without gas."""
        for head in tank.heads:
            for draw in head.users.values():
                self._record(draw, now)
                self._run_dry(draw, now)
        tank.stopped = True

    def switch(self, area: str, now: float, *, on: bool) -> None:
        """Let the machines of an area run, or stand still for want of power: patients stay connected without gas."""
        for tank in self.machines.get(area, ()):
            if tank.dark != on:
                continue
            tank.dark = not on
            for draw in (draw for head in tank.heads for draw in head.users.values()):
                if not on:
                    self._record(draw, now)
                self._begin(draw, now)

    def lose(self, head: Head, now: float) -> None:
        """Let a regulator pass nothing any more: its patients stay connected without gas."""
        for draw in head.users.values():
            self._end(draw, now)
            self._run_dry(draw, now)
        self._change_flow(head.tank, -head.flow, now, head.tank.row if head.tank is not None else 0)
        head.gone = True

    def settle(self, tank: Tank, now: float) -> None:
        """Reckon what was drawn from a supply until now; report it where it ran dry."""
        drawn = tank.flow * (now - tank.at)
        if tank.stopped or drawn <= 0 or math.isinf(tank.litres):
            tank.at = max(tank.at, now)
            return
        if drawn > tank.litres + tank.slack:
            lasts = max(tank.litres, 0.0) / tank.flow
            empty = tank.at + lasts
            reason = (
                f"{tank.supply.key} is down to its residual pressure at {at(empty)}: {max(tank.litres, 0.0):.1f} L at "
                f"{at(tank.at)} last {lasts:.2f} min at {tank.flow:.3g} L/min, {now - tank.at:.2f} min are drawn"
            )
            tank.litres = 0.0
            self.stop(tank, empty)
            self.report("content", tank.row, empty, reason)
        else:
            tank.litres -= drawn
        tank.at = now

    def finish(self, end: float) -> None:
        """End everything at a moment, the horizon or earlier: nothing can be carried out any more."""
        for tank in self.tanks.values():
            self.settle(tank, end)
        for draw in self.draws.values():
            self._record(draw, end)
        for tank in self.tanks.values():
            for head in tank.heads:
                self._release(head, end)

    def _change_flow(self, tank: Tank | None, by: float, now: float, row: int) -> None:
        if tank is None:
            return
        self.settle(tank, now)
        tank.flow = max(tank.flow + by, 0.0) if any(head.users for head in tank.heads) else 0.0
        tank.slack += TOLERANCE * abs(by)
        tank.row = row

    def _begin(self, draw: Draw, now: float) -> None:
        tank = draw.head.tank if draw.head is not None else None
        stopped = (tank is not None and (tank.stopped or tank.dark)) or (draw.head is not None and draw.head.gone)
        if stopped or (draw.head is not None and tank is None and not draw.head.vague):
            self._run_dry(draw, now)
        else:
            draw.since, draw.dry = now, math.nan

    @staticmethod
    def _run_dry(draw: Draw, now: float) -> None:
        if math.isnan(draw.dry):
            draw.dry = now

    def _end(self, draw: Draw, now: float) -> None:
        if draw.head is not None and draw.head.tank is not None:
            self.settle(draw.head.tank, now)
        self._record(draw, now)

    def _record(self, draw: Draw, now: float) -> None:
        """Close the running service."""
        if now > draw.since:  # never true while nothing runs
            head = draw.head
            self.services.append(
                Service(
                    patient=draw.person.key,
                    area=draw.stay.area,
                    category=draw.stay.category,
                    ladder=draw.stay.ladder,
                    device=draw.device,
                    flow_lpm=draw.flow,
                    credit=draw.credit,
                    at_target=draw.at_target,
                    supply=head.tank.supply.key if head is not None and head.tank is not None else "",
                    regulator=head.key if head is not None else "",
                    start=draw.since,
                    end=now,
                )
            )
        draw.since = math.nan

    def _leave(self, head: Head, now: float) -> None:
        if head.tank is not None:
            self.settle(head.tank, now)
            self._release(head, now)
            head.tank.heads.remove(head)

    def _hold(self, head: Head, now: float) -> None:
        if head.tank is not None and math.isnan(head.since):
            self.settle(head.tank, now)
            head.since, head.litres_then = now, head.tank.litres

    def _release(self, head: Head, now: float) -> None:
        """Close the holding; the outlets of a cylinder that was opened stay in service."""
        tank = head.tank
        if tank is None or math.isnan(head.since):
            return
        opened = head is tank.own and tank.supply.must_be_opened
        if opened and now < self.scenario.horizon:
            return
        if now > head.since:
            before, after = max(head.litres_then, 0.0), max(tank.litres, 0.0)
            area = tank.supply.lot.area
            self.holdings.append(Holding(tank.supply.key, head.key, area, head.since, now, before, after))
        head.since = math.nan
