"""The floor: what is where at a moment, and what can be done with it.

Regulators on cylinders, patients on outlets, litres left.  Nothing here decides; the floor only
knows what is possible, keeps the books, and lets time pass.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from mci.catalogue.model import OutletSet
from mci.catalogue.usable import usable_litres
from mci.plan.things import Regulator, Supply, find_regulators, find_supplies
from mci.scenario.model import Scenario

__all__ = ["HUNDREDTH", "Floor", "Link", "Source", "Tool", "least_litres", "takes"]

#: Moments of orders are whole hundredths of a minute, rounded so that no cylinder runs below its residual.
HUNDREDTH = 0.01
#: A supply with less than this many minutes at the flow asked for is empty.
WORTH_MINUTES = 2.0


@dataclass(slots=True)
class Tool:
    """A regulator or manifold, the source that it is on, whether a change is under way, and since when it is idle."""

    thing: Regulator
    source: Source | None = None
    busy: bool = False
    since: float = 0.0

    def there(self, time: float) -> bool:
        """Whether it may be used at a moment."""
        return self.thing.available_from <= time + 1e-9 and time < self.thing.available_until - 1e-9


@dataclass(slots=True, eq=False)
class Source:
    """A supply with what is left in it (besides what is kept as a reserve) and who draws from it.

    With less than ``least`` litres it is not brought into service (again): ``in service minimum`` of the scenario.
    ``since`` when nobody has drawn from it, and ``steady`` since when always as much [min].
    """

    supply: Supply
    left: float
    kept: float = 0.0
    least: float = 0.0
    tool: Tool | None = None
    opened: bool = False
    busy: bool = False
    since: float = 0.0
    steady: float = 0.0
    low: int = 0
    strong: int = 0
    flow: float = 0.0
    people: dict[str, None] = field(default_factory=dict)

    @property
    def outlets(self) -> OutletSet | None:
        """Outlets that it has now."""
        return self.supply.lot.built_in or (self.tool.thing.outlets if self.tool else None)

    @property
    def ready(self) -> bool:
        """Whether patients can be connected to it without a change of cylinder."""
        return (self.opened or not self.supply.must_be_opened) and self.outlets is not None and not self.busy

    @property
    def made(self) -> bool:
        """Whether its gas is made or piped and never runs out."""
        return math.isinf(self.left)

    def there(self, time: float) -> bool:
        """Whether it may be drawn from at a moment."""
        lot = self.supply.lot
        return lot.available_from <= time + 1e-9 and (
            time < lot.available_until - 1e-9 or math.isinf(lot.available_until)
        )

    @property
    def fit(self) -> bool:
        """Whether it may be brought into service."""
        return self.left + self.kept >= self.least - 1e-6

    def lasts(self, flow: float) -> float:
        """Return for how long it would last with that flow more [min]."""
        return self.left / (self.flow + flow) if not self.made else math.inf


def takes(outlets: OutletSet, source: Source, flow: float, *, strong: bool) -> bool:
    """Tell whether outlets with the patients of a source can take one more at a flow."""
    if source.flow + flow > outlets.total_max_lpm + 1e-9:
        return False
    if strong:
        return source.strong < outlets.high_pressure_outlets
    return source.low < outlets.outlets and flow <= outlets.outlet_max_lpm + 1e-9


@dataclass(frozen=True, slots=True)
class Link:
    """A patient on a device at a flow from a source."""

    rung: int
    device: str
    flow: float
    strong: bool
    credit: float
    source: Source


def least_litres(scenario: Scenario, supply: Supply) -> float:
    """Return the litres that a cylinder holds at the in-service minimum, or all it has where that is less."""
    lot = supply.lot
    if lot.cylinder is None or lot.residual_psi is None or scenario.in_service_psi <= lot.residual_psi:
        return 0.0
    held = usable_litres(lot.cylinder, scenario.in_service_psi, lot.residual_psi, lot.temperature_c, lot.gas_model)
    return min(held, supply.litres)


class Floor:
    """All areas of an incident while time passes.

    Attributes
    ----------
    time
        Now [min].
    sources, tools
        Per area.
    links
        Per patient on oxygen.
    """

    def __init__(self, scenario: Scenario) -> None:
        self.time = 0.0
        self._scenario = scenario
        self.sources: dict[str, list[Source]] = {area.key: [] for area in scenario.areas}
        self.tools: dict[str, list[Tool]] = {area.key: [] for area in scenario.areas}
        self.links: dict[str, Link] = {}
        for supply in find_supplies(scenario):
            if supply.litres > 0:
                source = Source(supply, supply.litres, least=least_litres(scenario, supply))
                self.sources[supply.lot.area].append(source)
        self.lots: dict[str, list[Source]] = {}
        self._lot_flow: dict[str, float] = {}
        self._lot_drawn: dict[str, float] = {}
        for sources in self.sources.values():
            for source in sources:
                self.lots.setdefault(source.supply.lot.key, []).append(source)
        self.keep_reserve()
        for regulator in find_regulators(scenario):
            self.tools[regulator.area].append(Tool(regulator))

    def learn(self, scenario: Scenario) -> None:
        """Take in a scenario with more supplies and regulators, or other ends of what is known."""
        self._scenario = scenario
        sources = {source.supply.key: source for members in self.sources.values() for source in members}
        for supply in find_supplies(scenario):
            if supply.key in sources:
                sources[supply.key].supply = supply
            elif supply.litres > 0:
                source = Source(supply, supply.litres, least=least_litres(scenario, supply), since=self.time)
                self.sources[supply.lot.area].append(source)
                self.lots.setdefault(supply.lot.key, []).append(source)
        tools = {tool.thing.key: tool for members in self.tools.values() for tool in members}
        for regulator in find_regulators(scenario):
            if regulator.key in tools:
                tools[regulator.key].thing = regulator
            else:
                self.tools[regulator.area].append(Tool(regulator, since=self.time))

    def keep_reserve(self) -> None:
        """Set every area's reserve aside, anew."""
        for area, litres in self._scenario.reserve.items():
            for source in self.sources[area]:
                source.left, source.kept = source.left + source.kept, 0.0
            self._keep(area, litres)

    def _keep(self, area: str, litres: float) -> None:
        """Set the reserve aside in the fullest supplies that are there at the end."""
        horizon = self._scenario.horizon
        stored = [source for source in self.sources[area] if not source.made and source.there(horizon)]
        for source in sorted(stored, key=lambda source: -source.left):
            source.kept = min(litres, source.left)
            source.left -= source.kept
            litres -= source.kept

    def pass_time(self, to: float) -> None:
        """Let patients breathe until a moment."""
        for sources in self.sources.values():
            for source in sources:
                if source.flow > 0 and not source.made:
                    litres = min(source.left, source.flow * (to - self.time))
                    source.left -= litres
                    lot = source.supply.lot.key
                    self._lot_drawn[lot] = self._lot_drawn.get(lot, 0.0) + litres
        self.time = to

    def next_empty(self) -> float:
        """Return when the first source that is drawn from runs empty [min]."""
        ends = [
            self.time + source.left / source.flow
            for sources in self.sources.values()
            for source in sources
            if source.flow > 1e-12 and not source.made
        ]
        first = min(ends, default=math.inf)
        return math.floor(first / HUNDREDTH + 1e-7) * HUNDREDTH if math.isfinite(first) else math.inf

    def connect(self, patient: str, link: Link) -> None:
        """Put a patient on an outlet, off any other."""
        self.disconnect(patient)
        self.links[patient] = link
        source = link.source
        source.people[patient] = None
        source.low += not link.strong
        source.strong += link.strong
        source.flow += link.flow
        lot = source.supply.lot.key
        self._lot_flow[lot] = self._lot_flow.get(lot, 0.0) + link.flow
        source.steady = self.time

    def disconnect(self, patient: str) -> None:
        """Take a patient off, if on."""
        link = self.links.pop(patient, None)
        if link is None:
            return
        source = link.source
        del source.people[patient]
        source.low -= not link.strong
        source.strong -= link.strong
        source.flow = sum(self.links[other].flow for other in source.people)
        self._lot_flow[source.supply.lot.key] -= link.flow
        source.since = source.steady = self.time
        if source.tool is not None:
            source.tool.since = self.time

    def put_on(self, tool: Tool | None, source: Source) -> None:
        """Put a regulator on a source (or open a source with outlets of its own).

        Patients on the regulator go along, and those whom the source serves through another one stay with it.
        """
        source.opened = True
        if tool is None:
            return
        old, other = tool.source, source.tool
        if old is source:
            return
        if other is not None:
            other.source = None
        tool.since = source.since = self.time
        tool.source, source.tool = source, tool
        if old is None:
            return
        old.tool = None
        for patient in list(old.people):
            self.connect(patient, replace(self.links[patient], source=source))

    def take_away(self, tool: Tool) -> None:
        """Take a regulator that serves nobody off its source."""
        if tool.source is not None:
            tool.source.tool = None
            tool.source = None

    def swap_tools(self, one: Source, two: Source) -> None:
        """Let two regulators change cylinders; patients stay on their regulator."""
        first, second = list(one.people), list(two.people)
        links = {key: self.links[key] for key in (*first, *second)}
        for key in links:
            self.disconnect(key)
        one.tool, two.tool = two.tool, one.tool
        for source in (one, two):
            if source.tool is not None:
                source.tool.source = source
        for key, link in links.items():
            self.connect(key, replace(link, source=two if key in first else one))

    def lot_flow(self, lot: str) -> float:
        """Return what is drawn now from all supplies of a lot [L/min]."""
        return self._lot_flow.get(lot, 0.0)

    def lot_drawn(self, lot: str) -> float:
        """Return what has been drawn from all supplies of a lot [L]."""
        return self._lot_drawn.get(lot, 0.0)

    def shift_gas(self, old: Source, new: Source, litres: float) -> None:
        """Count litres as drawn from one source instead of another one."""
        old.left, new.left = old.left + litres, new.left - litres
        self._lot_drawn[old.supply.lot.key] -= litres
        self._lot_drawn[new.supply.lot.key] = self.lot_drawn(new.supply.lot.key) + litres

    def free_tools(self, area: str) -> Iterator[Tool]:
        """Yield regulators that are there and serve nobody, those that are soon gone first."""
        for tool in sorted(self.tools[area], key=lambda tool: tool.thing.available_until):
            if tool.there(self.time) and not tool.busy and (tool.source is None or not tool.source.people):
                yield tool

    def powered(self, source: Source) -> bool:
        """Tell whether there is power to use a source (more)."""
        watts = source.supply.lot.watts_each
        if watts <= 0 or source.people:
            return True
        area = source.supply.lot.area
        return self._watts_in_use(area) + watts <= self.power(area) + 1e-9

    def overloaded(self, area: str) -> bool:
        """Tell whether what is in use at an area draws more power than there is now."""
        used = self._watts_in_use(area)
        return used > 0 and used > self.power(area) + 1e-9

    def _watts_in_use(self, area: str) -> float:
        return sum(source.supply.lot.watts_each for source in self.sources[area] if source.people)

    def power(self, area: str) -> float:
        """Return the power at an area now [W]."""
        return sum(
            supply.watts
            for supply in self._scenario.power
            if supply.area == area and supply.available_from <= self.time + 1e-9 < supply.available_until + 1e-9
        )
