"""Lines of a log as orders: what is missing is completed, what cannot be meant is left out, always with a note."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from typing import TYPE_CHECKING

from mci.drills.log import NoteKind
from mci.drills.log_outlets import find_outlet
from mci.drills.log_sequence import in_time, rank_of
from mci.drills.log_state import State
from mci.plan.credit import reached_rung
from mci.plan.orders import Action, Order

if TYPE_CHECKING:
    from mci.drills.log_lines import Line
    from mci.drills.log_notes import Notes
    from mci.drills.log_state import Link
    from mci.drills.names import Names

__all__ = ["order_lines"]

_ROUNDED = 1.0  # min: what a moment in whole minutes may be early


def order_lines(
    lines: Sequence[Line], names: Names, notes: Notes, *, quiet: Collection[str] = ()
) -> list[tuple[Order, int]]:
    """Return the orders that lines mean, with the line of each, in the order of time.

    Parameters
    ----------
    quiet
        Columns that the log does not have, which are completed on every line without a note on each.
    """
    reader = _Reader(names, notes, quiet)
    return [pair for line in in_time(lines, notes) for pair in reader.read(line)]


class _Reader:
    """Reads lines one after the other, knowing what the earlier ones have said."""

    def __init__(self, names: Names, notes: Notes, quiet: Collection[str]) -> None:
        self._names, self._notes, self._quiet = names, notes, quiet
        self._state = State(names)
        self._seen: dict[tuple[object, ...], int] = {}
        self._values: dict[tuple[str, Action, float], int] = {}

    def read(self, line: Line) -> Iterator[tuple[Order, int]]:
        """Yield the order of a line, after those that must have come before it."""
        if not self._is_understood(line) or self._is_duplicate(line):
            return
        for order in self._orders(line):
            self._state.follow(order, line.line)
            yield order, line.line

    def _leave_out(self, line: Line, why: str, kind: NoteKind = NoteKind.LEFT_OUT) -> None:
        self._notes.leave_out(line.line, why, kind=kind, minute=line.minute)

    def _complete(self, line: Line, why: str, column: str, read: str) -> None:
        if column not in self._quiet:
            self._notes.corrected(line.line, why, column, "", read, line.minute)

    # --- what a line says -------------------------------------------------------------------------

    def _is_understood(self, line: Line) -> bool:
        """Tell whether everything that the line needs was understood; what it does not need is only told."""
        action = self._action(line)
        if action is None:
            told = "; ".join(map(str, line.strange))
            self._leave_out(line, f"Not understood: {told}." if told else "It does not say what was done.")
            return False
        line.action = action
        needed = [each for each in line.strange if each.column in _needed(line)]
        if needed:
            self._leave_out(line, f"Not understood: {'; '.join(map(str, needed))}.")
            return False
        for each in line.strange:
            why = "It is not understood, and is not needed."
            self._notes.corrected(line.line, why, each.column, each.written, "", line.minute)
        return True

    def _action(self, line: Line) -> Action | None:
        """Return what was done; where nothing is written, what alone can have been."""
        if line.action is not None or any(each.column == "action" for each in line.strange):
            return line.action
        if not line.patient and line.supply:
            action = Action.CHANGE
        elif line.patient and (line.device or not math.isnan(line.flow)):
            action = Action.CONNECT
        else:
            return None
        self._complete(line, "Nothing else can have been done.", "action", action.value)
        return action

    def _is_duplicate(self, line: Line) -> bool:
        """Tell whether an earlier line says the very same; it counts once."""
        flow = None if math.isnan(line.flow) else line.flow
        said = (line.minute, line.action, line.patient, line.device, flow, line.supply, line.regulator)
        first = self._seen.setdefault(said, line.line)
        if first != line.line:
            why = f"It says the same as line {first}, and counts once."
            self._notes.add(NoteKind.CORRECTED, line.line, why, minute=line.minute)
        return first != line.line

    def _orders(self, line: Line) -> Iterator[Order]:
        if line.action is Action.CHANGE:
            order = self._change(line)
            if order is not None:
                yield order
            return
        if not line.patient:
            self._leave_out(line, "It names no patient.")
            return
        if self._is_there(line):
            yield from self._treat(line)

    # --- changes of cylinder ----------------------------------------------------------------------

    def _change(self, line: Line) -> Order | None:
        names = self._names
        if not line.supply:
            self._leave_out(line, "It does not say which cylinder went on.")
            return None
        supply = names.supplies[line.supply]
        regulator = self._regulator_of_change(line)
        if regulator is None:
            return None
        if not line.area:
            self._complete(line, f"{names.on_paper(line.supply)} is there.", "area", supply.lot.area)
        return self._order(line, Action.CHANGE, area=line.area or supply.lot.area, regulator=regulator, by=line.by)

    def _regulator_of_change(self, line: Line) -> str | None:
        names, state, paper = self._names, self._state, self._names.on_paper(line.supply)
        supply = names.supplies[line.supply]
        if supply.lot.built_in is not None or line.regulator:
            return line.regulator
        link = state.link(line.patient, line.minute) if line.patient else None
        fitting = state.fitting(supply, line.minute)
        regulator, why = "", ""
        if link is not None and link.regulator:
            regulator, why = link.regulator, f"{line.patient} is on it."
        elif len(fitting) == 1:
            regulator, why = fitting[0].key, f"No other regulator there fits {paper}."
        if not regulator:
            self._leave_out(line, f"It does not say which regulator went on {paper}.")
            return None
        self._complete(line, why, "regulator", names.on_paper(regulator))
        return regulator

    # --- patients ---------------------------------------------------------------------------------

    def _is_there(self, line: Line) -> bool:
        """Tell whether the patient is there, and where; a moment in whole minutes may be a little early."""
        names, patient = self._names, line.patient
        if line.action is Action.DISCONNECT:
            return self._is_on(line)
        person, stay = names.people[patient], names.stay(patient, line.minute)
        if stay is None and person.arrive - _ROUNDED <= line.minute < person.arrive:
            stay = person.stays[0]
            why = f"{patient} arrives within that minute."
            self._notes.corrected(line.line, why, "time", f"T+{line.minute:g}", f"T+{person.arrive:g}", line.minute)
            line.minute, line.begin = person.arrive, math.nan
        if stay is None:
            when = "comes" if line.minute < person.arrive else "has left"
            moment = person.arrive if line.minute < person.arrive else person.leave
            why = f"{patient} is not there: {patient} {when} at T+{moment:.4g}."
            self._leave_out(line, why, NoteKind.CONTRADICTION)
            return False
        if not line.area:
            self._complete(line, f"{patient} is there.", "area", stay.area)
            line.area = stay.area
        if line.area != stay.area:
            return self._is_elsewhere(line, stay.area)
        return True

    def _is_elsewhere(self, line: Line, area: str) -> bool:
        """Read another area than the patient's as a slip where the things named are where the patient is."""
        names = self._names
        places = {names.supplies[line.supply].lot.area} if line.supply else set()
        places |= {names.regulators[line.regulator].area} if line.regulator else set()
        if places <= {area}:
            why = f"{line.patient} is at {area} then."
            self._notes.corrected(line.line, why, "area", line.area, area, line.minute)
            line.area = area
            return True
        self._leave_out(line, f"{line.patient} is at {area} then, not at {line.area}.", NoteKind.CONTRADICTION)
        return False

    def _is_on(self, line: Line) -> bool:
        """Tell whether there is a connection that a disconnection ends."""
        link = self._state.links.get(line.patient)
        if link is None:
            self._leave_out(line, f"{line.patient} was not on oxygen.", NoteKind.GAP)
            return False
        if line.area and line.area != link.area:
            why = f"{line.patient} was on oxygen there."
            self._notes.corrected(line.line, why, "area", line.area, link.area, line.minute)
        elif not line.area:
            self._complete(line, f"{line.patient} was on oxygen there.", "area", link.area)
        line.area = link.area
        return True

    def _treat(self, line: Line) -> Iterator[Order]:
        link = self._state.link(line.patient, line.minute)
        if line.action is Action.DISCONNECT:
            yield self._order(line, Action.DISCONNECT, regulator=line.regulator, supply=line.supply)
            return
        if line.flow == 0 and link is not None and not self._draws_nothing(line, line.device or link.device):
            why = "Without a flow nobody is on oxygen."
            self._notes.corrected(line.line, why, "action", str(line.action), Action.DISCONNECT.value, line.minute)
            yield self._order(line, Action.DISCONNECT)
        elif link is None:
            yield from self._connect(line)
        else:
            yield from self._again(line, link)

    def _connect(self, line: Line) -> Iterator[Order]:
        """Read a line about somebody who is not on oxygen: a connection, if it says all that one needs."""
        if line.action in (Action.SET_FLOW, Action.STEP_DOWN, Action.MOVE):
            known = line.device and not math.isnan(line.flow) and (line.supply or line.regulator)
            if not known:
                self._leave_out(line, f"{line.patient} was not on oxygen.", NoteKind.GAP)
                return
            why = f"{line.patient} was not on oxygen."
            self._notes.corrected(line.line, why, "action", str(line.action), Action.CONNECT.value, line.minute)
        if not self._has_device_and_flow(line):
            return
        if line.flow == 0 and not (line.supply or line.regulator):
            yield self._order(line, Action.CONNECT)
            return
        yield from self._at_outlet(line, Action.CONNECT)

    def _has_device_and_flow(self, line: Line) -> bool:
        """Complete a device or a flow that is missing where the ladder has one rung with the other."""
        stay = self._names.stay(line.patient, line.minute)
        rungs = self._names.scenario.ladders[stay.ladder].rungs if stay is not None else ()
        if not line.device:
            alike = {rung.device.key for rung in rungs if rung.flow_lpm == line.flow}
            if len(alike) == 1:
                line.device = alike.pop()
                self._complete(line, "It alone is prescribed at that flow.", "device", line.device)
        if line.device and math.isnan(line.flow):
            flows = {rung.flow_lpm for rung in rungs if rung.device.key == line.device}
            if self._draws_nothing(line, line.device):
                line.flow = 0.0
            elif len(flows) == 1:
                line.flow = flows.pop()
                self._complete(line, "It alone is prescribed with that device.", "flow", f"{line.flow:g} L/min")
        missing = [name for name, there in (("device", line.device), ("flow", not math.isnan(line.flow))) if not there]
        if not missing and (line.flow > 0 or self._draws_nothing(line, line.device)):
            return True
        self._leave_out(line, f"It names no {' and no '.join(missing or ['flow'])}.")
        return False

    def _draws_nothing(self, line: Line, device: str) -> bool:
        """Tell whether a device has a rung that draws no oxygen, as a ventilator on room air."""
        stay = self._names.stay(line.patient, line.minute)
        return stay is not None and reached_rung(self._names.scenario.ladders[stay.ladder], device, 0.0) is not None

    def _again(self, line: Line, link: Link) -> Iterator[Order]:
        """Read a line about somebody who is on oxygen: a connection can only be a move, or another flow."""
        action, names = line.action or Action.CONNECT, self._names
        outlet = (bool(line.regulator) and line.regulator != link.regulator) or (
            bool(line.supply) and not line.regulator and line.supply != link.supply
        )
        if action is not Action.MOVE and outlet:
            action = Action.MOVE
        elif action is Action.CONNECT or (action is Action.MOVE and not (line.supply or line.regulator)):
            action = Action.SET_FLOW
        if action is not line.action:
            why = f"{line.patient} was on oxygen already, from {names.on_paper(link.supply)} (line {link.line})."
            self._notes.corrected(line.line, why, "action", str(line.action or ""), action.value, line.minute)
        if self._clashes(line, link, action):
            return
        if action is Action.MOVE:
            self._keep(line, link)
            yield from self._at_outlet(line, action)
        elif line.action is not Action.MOVE and line.supply not in ("", link.supply):
            yield from self._from_another_cylinder(line, link, action)
        elif not line.device and math.isnan(line.flow):
            self._leave_out(line, "It names no flow and no device.")
        else:
            self._keep(line, link)
            yield self._order(line, action, supply=line.supply, regulator=line.regulator)

    def _from_another_cylinder(self, line: Line, link: Link, action: Action) -> Iterator[Order]:
        """Read the same outlet with another cylinder on it: somebody must have changed it."""
        outlet = find_outlet(line, self._state, self._notes)
        if outlet is None:
            return
        if outlet.implied is not None:
            yield outlet.implied
        if (line.device or link.device, line.flow) != (link.device, link.flow) and not math.isnan(line.flow):
            yield self._order(line, action, supply=outlet.supply, regulator=outlet.regulator)

    def _clashes(self, line: Line, link: Link, action: Action) -> bool:
        """Tell whether another line of the same moment says otherwise of the same patient; the first one stands."""
        same_moment = abs(link.order.minute - line.minute) <= 1e-5
        before = link.order.action
        if not same_moment or (rank_of(action) > rank_of(before) and line.action is not Action.CONNECT):
            return False
        why = f"Line {link.line} says otherwise of {line.patient} at the same moment, and stands."
        self._leave_out(line, why, NoteKind.CONTRADICTION)
        return True

    def _keep(self, line: Line, link: Link) -> None:
        """Complete what is not said: device and flow stay as they were."""
        if not line.device:
            line.device = link.device
            self._complete(line, "It is not said, so it stays.", "device", link.device)
        if math.isnan(line.flow):
            line.flow = link.flow
            self._complete(line, "It is not said, so it stays.", "flow", f"{link.flow:g} L/min")

    def _at_outlet(self, line: Line, action: Action) -> Iterator[Order]:
        outlet = find_outlet(line, self._state, self._notes)
        if outlet is None:
            return
        if outlet.implied is not None:
            yield outlet.implied
        yield self._order(line, action, supply=outlet.supply, regulator=outlet.regulator)

    def _order(
        self,
        line: Line,
        action: Action,
        *,
        area: str = "",
        supply: str | None = None,
        regulator: str = "",
        by: str = "",
    ) -> Order:
        change = action is Action.CHANGE
        off = action in (Action.CHANGE, Action.DISCONNECT)
        return Order(
            minute=line.minute,
            begin=-1.0 if math.isnan(line.begin) else line.begin,
            area=area or line.area,
            action=action,
            patient="" if change else line.patient,
            device="" if off else line.device,
            flow_lpm=0.0 if off or math.isnan(line.flow) else line.flow,
            supply=line.supply if supply is None else supply,
            regulator=regulator,
            gauge_psi=line.gauge_psi,
            by=by,
            reason=line.note,
        )


def _needed(line: Line) -> set[str]:
    """Return the columns without which an action cannot be understood."""
    if line.action is Action.CHANGE:
        return {"supply", "regulator"}
    if line.action is Action.DISCONNECT:
        return {"patient"}
    needed = {"patient", "device", "flow"}
    if line.action in (Action.CONNECT, Action.MOVE) and not (line.supply or line.regulator):
        needed |= {"supply", "regulator"}
    return needed
