"""From which outlet a line of a log means: what is missing is completed where one thing alone can be meant."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.drills.log import NoteKind
from mci.plan.orders import Action, Order

if TYPE_CHECKING:
    from mci.drills.log_lines import Line
    from mci.drills.log_notes import Notes
    from mci.drills.log_state import State

__all__ = ["Outlet", "find_outlet"]


@dataclass(frozen=True, slots=True)
class Outlet:
    """An outlet, and the change of cylinder that must have happened before without being written."""

    supply: str
    regulator: str
    implied: Order | None = None


def find_outlet(line: Line, state: State, notes: Notes) -> Outlet | None:
    """Return the outlet that a connection or a move means; ``None`` where the line is left out, with a note."""
    names = state.names
    if line.supply and names.supplies[line.supply].lot.built_in is not None:
        return _own_outlet(line, state, notes)
    if not line.supply and not line.regulator:
        notes.leave_out(line.line, f"{line.patient} is connected to nothing that is named.", minute=line.minute)
        return None
    if not line.supply:
        return _from_regulator(line, state, notes)
    if not line.regulator:
        return _from_supply(line, state, notes)
    return _both(line, state, notes)


def _own_outlet(line: Line, state: State, notes: Notes) -> Outlet:
    """Return the outlets of a supply's own, opened before where somebody must open it."""
    names, supply = state.names, state.names.supplies[line.supply]
    if line.regulator:
        why = f"{names.on_paper(line.supply)} has outlets of its own: no regulator goes on it."
        notes.corrected(line.line, why, "regulator", names.on_paper(line.regulator), "", line.minute)
    if not supply.must_be_opened or line.supply in state.opened:
        return Outlet(line.supply, "")
    return Outlet(line.supply, "", _imply(line, line.supply, "", state, notes))


def _from_regulator(line: Line, state: State, notes: Notes) -> Outlet | None:
    names, supply = state.names, state.on.get(line.regulator, "")
    if supply:
        why = f"{names.on_paper(line.regulator)} sits on it."
        notes.corrected(line.line, why, "supply", "", names.on_paper(supply), line.minute)
        return Outlet(supply, line.regulator)
    why = f"Nobody wrote on which cylinder {names.on_paper(line.regulator)} sits."
    notes.leave_out(line.line, why, kind=NoteKind.GAP, minute=line.minute)
    return None


def _from_supply(line: Line, state: State, notes: Notes) -> Outlet | None:
    names, sitting = state.names, state.sitting_on(line.supply)
    paper = names.on_paper(line.supply)
    if len(sitting) == 1:
        why = f"It alone sits on {paper}."
        notes.corrected(line.line, why, "regulator", "", names.on_paper(sitting[0]), line.minute)
        return Outlet(line.supply, sitting[0])
    if sitting:
        marks = ", ".join(map(names.on_paper, sitting))
        notes.leave_out(line.line, f"Several regulators sit on {paper}: {marks}.", minute=line.minute)
        return None
    fitting = state.fitting(names.supplies[line.supply], line.minute)
    if len(fitting) == 1 and not state.served_by(fitting[0].key, line.patient):
        implied = _imply(line, line.supply, fitting[0].key, state, notes)
        return Outlet(line.supply, fitting[0].key, implied)
    why = f"Nobody wrote that {paper} was brought into service, nor with which regulator."
    notes.leave_out(line.line, why, kind=NoteKind.GAP, minute=line.minute)
    return None


def _both(line: Line, state: State, notes: Notes) -> Outlet | None:
    names = state.names
    if state.on.get(line.regulator) == line.supply:
        return Outlet(line.supply, line.regulator)
    regulator, supply = names.on_paper(line.regulator), names.on_paper(line.supply)
    others = [each for each in state.sitting_on(line.supply) if each != line.regulator and state.served_by(each)]
    elsewhere, users = state.on.get(line.regulator, ""), state.served_by(line.regulator, line.patient)
    if elsewhere and users:
        why = (
            f"{regulator} sits on {names.on_paper(elsewhere)} and serves {', '.join(users)}; nobody wrote that it was "
            f"changed to {supply}. It is read as on {names.on_paper(elsewhere)}."
        )
        notes.add(NoteKind.CONTRADICTION, line.line, why, column="supply", written=supply, minute=line.minute)
        return Outlet(elsewhere, line.regulator)
    if others:
        why = f"{supply} cannot be on {regulator}: it is on {names.on_paper(others[0])}, which serves somebody."
        notes.leave_out(line.line, why, kind=NoteKind.CONTRADICTION, minute=line.minute)
        return None
    return Outlet(line.supply, line.regulator, _imply(line, line.supply, line.regulator, state, notes))


def _imply(line: Line, supply: str, regulator: str, state: State, notes: Notes) -> Order:
    """Return the change of cylinder that must have come before a connection, and note that nobody wrote it."""
    names = state.names
    paper, on = names.on_paper(supply), names.on_paper(regulator)
    was = state.on.get(regulator, "")
    what = f"{on}: {paper} on" if regulator else f"open {paper}"
    before = f", which was on {names.on_paper(was)}" if was else ""
    place = f" on {on}" if regulator else ""
    why = f"Nobody wrote that {paper} was brought into service{place}{before}; it must have been."
    notes.add(NoteKind.GAP, line.line, why, read=f"change cylinder, {what}", minute=line.minute)
    area = names.supplies[supply].lot.area
    return Order(line.minute, area, Action.CHANGE, supply=supply, regulator=regulator)
