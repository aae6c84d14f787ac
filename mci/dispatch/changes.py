"""Changes of cylinder: which one goes on which regulator, when, and by whom."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from mci.catalogue.model import OutletSet
from mci.dispatch.floor import WORTH_MINUTES, Floor, Source, Tool
from mci.dispatch.hands import Booking, Hands
from mci.dispatch.journal import Journal
from mci.dispatch.policy import Policy
from mci.scenario.model import Scenario

__all__ = ["Changes"]


@dataclass(slots=True)
class _Coming:
    """A change of cylinder that is under way, and what is promised of its outlets."""

    booking: Booking
    tool: Tool | None
    source: Source
    low: int = 0
    strong: int = 0
    flow: float = 0.0

    def promise(self, flow: float, *, strong: bool) -> bool:
        """Promise one more patient an outlet, if there is one."""
        outlets = self.tool.thing.outlets if self.tool else self.source.supply.lot.built_in
        if outlets is None or self.flow + flow > outlets.total_max_lpm:
            return False
        if not ((self.strong < outlets.high_pressure_outlets) if strong else (self.low < outlets.outlets)):
            return False
        self.low, self.strong, self.flow = self.low + (not strong), self.strong + strong, self.flow + flow
        return True


class Changes:
    """Chooses, books and carries out changes of cylinder.

    Parameters
    ----------
    let_go
        Takes everybody off a source.
    """

    def __init__(
        self,
        scenario: Scenario,
        floor: Floor,
        journal: Journal,
        policy: Policy,
        let_go: Callable[[Source], None],
    ) -> None:
        self._horizon = scenario.horizon
        self._floor = floor
        self._hands = Hands(scenario)
        self._journal = journal
        self._policy = policy
        self._let_go = let_go
        self._coming: list[_Coming] = []

    # --- carrying out ------------------------------------------------------------------------

    def next_done(self) -> float:
        """Return when the next change that is under way is done [min]."""
        return min((each.booking.end for each in self._coming), default=math.inf)

    def finish(self) -> None:
        """Carry out the changes that are due."""
        for coming in [each for each in self._coming if each.booking.end <= self._floor.time + 1e-9]:
            self._coming.remove(coming)
            coming.source.busy = False
            if coming.tool is not None:
                coming.tool.busy = False
            self._put_on(coming.tool, coming.source, coming.booking)

    def learn(self, scenario: Scenario) -> None:
        """Take in who changes cylinders now; what is under way and cannot be finished any more is given up."""
        self._hands.learn(scenario)
        for coming in list(self._coming):
            area, booking = coming.source.supply.lot.area, coming.booking
            there = coming.source.there(booking.end) and (coming.tool is None or coming.tool.there(booking.end))
            if there and self._hands.keeps(area, booking):
                continue
            self._coming.remove(coming)
            self._hands.free(area, booking)
            coming.source.busy = False
            if coming.tool is not None:
                coming.tool.busy = False

    def under_way(self, area: str) -> bool:
        """Tell whether a change is under way at an area."""
        return any(each.source.supply.lot.area == area for each in self._coming)

    def forget_promises(self) -> None:
        """Promise the outlets that are coming anew."""
        for each in self._coming:
            each.low, each.strong, each.flow = 0, 0, 0.0

    def promised(self, area: str, flow: float, *, strong: bool) -> bool:
        """Tell whether a change that is under way will have an outlet for one more; count the patient in."""
        return any(each.promise(flow, strong=strong) for each in self._coming if each.source.supply.lot.area == area)

    def _put_on(self, tool: Tool | None, source: Source, booking: Booking) -> None:
        self._floor.put_on(tool, source)
        self._journal.changed(tool, source, booking)

    def change(self, tool: Tool | None, source: Source) -> bool:
        """Have a regulator put on a source; tell whether it is on by now.  If not, it may be under way."""
        time = self._floor.time
        lot = source.supply.lot
        if not source.fit:
            return False
        booking: Booking | None = Booking("", time, time)
        if source.supply.must_be_opened:
            booking = None
            if not source.people and (tool is None or tool.source is None or not tool.source.people):
                idle = max(lot.available_from, source.since, tool.since if tool else 0.0)
                idle = max(idle, tool.thing.available_from if tool else 0.0)
                booking = self._hands.prepare(lot.area, time, lot.change_min, idle)
            booking = booking or self._hands.look(lot.area, time, lot.change_min, lot.available_from)
        if booking is None or booking.end >= min(lot.available_until, self._horizon):
            return False
        if tool is not None and not tool.there(booking.end):
            return False
        self._hands.book(lot.area, booking)
        if booking.end <= time + 1e-9:
            self._put_on(tool, source, booking)
            return True
        source.busy = True
        if tool is not None:
            tool.busy = True
        self._coming.append(_Coming(booking, tool, source))
        return False

    def swap(self, one: Source, two: Source) -> bool:
        """Have two regulators change cylinders now, if there are hands for both; patients stay on their regulator."""
        time = self._floor.time
        if one.tool is None or two.tool is None or not (one.fit and two.fit):
            return False
        fits = all(a.supply.lot.valve in b.tool.thing.outlets.fits for a, b in ((one, two), (two, one)) if b.tool)
        bookings: list[Booking] = []
        for source in (one, two) if fits else ():
            lot = source.supply.lot
            booking = self._hands.look(lot.area, time, lot.change_min, lot.available_from)
            if booking is None or booking.end > time + 1e-9:
                break
            self._hands.book(lot.area, booking)
            bookings.append(booking)
        if len(bookings) < 2:
            for source, booking in zip((one, two), bookings, strict=False):
                self._hands.free(source.supply.lot.area, booking)
            return False
        self._floor.swap_tools(one, two)
        for source, booking in zip((one, two), bookings, strict=True):
            self._journal.changed(source.tool, source, booking)
        return True

    def replace(self, source: Source) -> None:
        """Put a fuller cylinder on the regulator of an empty one, or let its patients go."""
        tool = source.tool
        if tool is None or tool.busy or not tool.there(self._floor.time):
            self._let_go(source)
            return
        fresh = self._successor(tool, source)
        if fresh is not None and (self._replaced_before(tool, source, fresh) or self.change(tool, fresh)):
            return
        self._let_go(source)

    def _replaced_before(self, tool: Tool, source: Source, fresh: Source) -> bool:
        """Change an empty cylinder a little before it was empty, where nobody has hands for it then.

        What is left in it stays for later.  Nothing else has happened at this outlet in the meantime.
        """
        lot, time = fresh.supply.lot, self._floor.time
        late = self._hands.look(lot.area, time, lot.change_min, lot.available_from)
        if fresh.people or (late is not None and late.end <= time + 1e-9):
            return False
        earliest = max(lot.available_from, fresh.since - lot.change_min)
        early = self._hands.prepare(lot.area, time, lot.change_min, earliest)
        if early is None or early.end < max(source.steady, fresh.since) - 1e-9:
            return False
        saved, lost = (late.end if late else self._horizon) - time, time - early.end
        if lost > self._policy.early * saved or fresh.left <= source.flow * lost:
            return False
        self._hands.book(lot.area, early)
        litres = source.flow * lost
        self._put_on(tool, fresh, early)
        self._floor.shift_gas(source, fresh, litres)
        return True

    def begin_in_time(self, area: str) -> None:
        """Begin the next change now, where those to come are more than hands could do when they are due.

        The due moments are when cylinders in use will be empty; whoever is free does the first of them (earliest
        due date first).  The cylinder is changed a little early and parked with what it still holds.
        """
        time = self._floor.time
        free = sorted(self._hands.free_from(area, time))
        due = sorted(
            (time + source.left / source.flow, number, source)
            for number, source in enumerate(self._floor.sources[area])
            if source.flow > 0 and not source.made and source.tool is not None and not source.tool.busy
        )
        while free and free[0] <= time + 1e-9 and due and self._too_many(free, due):
            empty, _, source = due.pop(0)
            fits = self._idle_for(source.tool, source) if source.tool else []
            fresh = max(fits, key=lambda s: s.left, default=None)
            if fresh is None or source.tool is None or fresh.left <= source.left:
                return
            lot = fresh.supply.lot
            booking = self._hands.look(area, time + lot.change_min, lot.change_min, max(time, lot.available_from))
            if booking is None or booking.begin > time + 1e-9 or booking.end > empty:
                return
            if not (source.tool.there(booking.end) and fresh.there(booking.end)):
                return
            self._hands.book(area, booking)
            fresh.busy = source.tool.busy = True
            self._coming.append(_Coming(booking, source.tool, fresh))
            free = sorted([*free[1:], booking.end])

    @staticmethod
    def _too_many(free: list[float], due: list[tuple[float, int, Source]]) -> bool:
        """Tell whether somebody would be too late if everybody did the next change that is due, one after the other."""
        hands = list(free)
        for when, _, source in due:
            done = hands[0] + source.supply.lot.change_min
            if done > when + 1e-9:
                return True
            hands = sorted([*hands[1:], done])
        return False

    def next_free(self) -> float:
        """Return when somebody is next done with a change [min]."""
        return self._hands.next_free(self._floor.time)

    # --- choosing ----------------------------------------------------------------------------

    def _drawable(self, outlets: OutletSet, source: Source) -> float:
        """Return what some outlets, all in use, can draw from a source until it should be empty [L]."""
        until, flow = self._policy.pace.empty_by(source)
        rate = min(outlets.total_max_lpm, (outlets.outlets + outlets.high_pressure_outlets) * flow)
        return rate * max(until - self._floor.time, 0.0)

    def _stranded(self, outlets: OutletSet, source: Source) -> float:
        """Return the litres that would be left in a source then [L]."""
        return max(0.0, source.left - self._drawable(outlets, source))

    def _least_stranded(self, tool: Tool, sources: list[Source]) -> Source | None:
        """Return the fullest supply of a lot that a regulator can empty in time, or else the emptiest."""
        most = self._drawable(tool.thing.outlets, sources[0])
        others = [source for source in sources if source is not tool.source]
        in_time = [source for source in others if source.left <= most]
        if in_time:
            return max(in_time, key=lambda source: source.left)
        return min(others, key=lambda source: source.left, default=None)

    def _successor(self, tool: Tool, empty: Source) -> Source | None:
        """Return the cylinder to go on a regulator whose own one is empty: the fullest that will not strand gas.

        If none is idle, one whose own regulator has too few outlets to empty it in time.
        """
        outlets, fits = tool.thing.outlets, self._idle_for(tool, empty)
        if fits:
            return max(fits, key=lambda source: (-self._stranded(outlets, source), source.left))
        return self._taken_from_another(tool, empty)

    def _taken_from_another(self, tool: Tool, empty: Source) -> Source | None:
        """Return the cylinder in use that gains most by a regulator with more outlets; who does not fit is let go."""
        outlets = tool.thing.outlets
        found: list[tuple[float, int, Source, bool]] = []
        for source in self._floor.sources[empty.supply.lot.area]:
            if source.tool is None or source is empty or source.busy or not source.fit:
                continue
            gain = self._stranded(source.tool.thing.outlets, source) - self._stranded(outlets, source)
            together = (
                source.low + empty.low <= outlets.outlets
                and source.strong + empty.strong <= outlets.high_pressure_outlets
                and source.flow + empty.flow <= outlets.total_max_lpm
            )
            if source.supply.lot.valve not in outlets.fits or gain <= 0 or not source.there(self._floor.time):
                continue
            if together or len(empty.people) > len(source.people):
                found.append((gain, len(found), source, together))
        if not found:
            return None
        _, _, best, together = max(found, key=lambda each: each[:2])
        if not together:
            self._let_go(best)
        return best

    def _idle_for(self, tool: Tool, held: Source) -> list[Source]:
        """Return idle cylinders that could take over from the one that a regulator is on."""
        idle = self._idle(held.supply.lot.area, held.flow)
        return [source for source in idle if source.supply.lot.valve in tool.thing.outlets.fits]

    def _idle(self, area: str, flow: float) -> list[Source]:
        """Return cylinders that nobody draws from, that need a regulator, and hold enough to be worth it."""
        return [
            source
            for source in self._floor.sources[area]
            if source.supply.must_be_opened
            and source.supply.lot.built_in is None
            and not source.people
            and not source.busy
            and source.fit
            and source.there(self._floor.time)
            and source.left > flow * WORTH_MINUTES
        ]

    def pair(self, area: str, flow: float, *, strong: bool, crowd: int) -> tuple[Tool | None, Source] | None:
        """Choose a cylinder to bring into service and a regulator for it.

        First of all the plan's pace, then no gas may be stranded; then for one patient the fewest outlets that
        do, for a crowd the most; then the fullest cylinder.
        """
        found: list[tuple[tuple[float, ...], int, Tool | None, Source]] = []
        sign = 1 if crowd > 1 else -1
        for tool, source in self._pairs(area, flow, strong=strong):
            outlets = tool.thing.outlets if tool else source.supply.lot.built_in
            if outlets is not None:
                many = sign * (outlets.outlets + outlets.high_pressure_outlets)
                pace = min(self._policy.pace.spare(self._floor, source) - flow / 2, 0.0)
                found.append(
                    ((pace, -round(self._stranded(outlets, source)), many, source.left), -len(found), tool, source)
                )
        if not found:
            return None
        _, _, tool, source = max(found, key=lambda each: each[:2])
        return tool, source

    def _pairs(self, area: str, flow: float, *, strong: bool) -> Iterator[tuple[Tool | None, Source]]:
        """Yield regulators and cylinders that could be brought into service together; of equal ones the best."""
        tools = {
            (
                tool.thing.outlets.key,
                id(tool.source) if tool.source and tool.source.left > flow * WORTH_MINUTES else 0,
            ): tool
            for tool in self._floor.free_tools(area)
            if tool.thing.outlets.passes(flow, high_pressure=strong)
        }.values()
        lots: dict[str, list[Source]] = {}
        for source in self._idle(area, flow) if tools else ():
            lots.setdefault(source.supply.lot.key, []).append(source)
        for sources in lots.values():
            for tool in tools:
                if sources[0].supply.lot.valve in tool.thing.outlets.fits:
                    best = self._least_stranded(tool, sources)
                    if best is not None:
                        yield tool, best
        for source in self._floor.sources[area]:
            own = source.supply.lot.built_in
            if own is None or not source.supply.must_be_opened or source.opened or source.busy:
                continue
            if (
                source.there(self._floor.time)
                and source.lasts(flow) > WORTH_MINUTES
                and own.passes(flow, high_pressure=strong)
            ):
                yield None, source
