"""The table-top: a drill played alone at a keyboard, without a clock and without a terminal.

Lines go in, lines come out.  The same lines always give the same session, so that a session is saved as the lines
that changed something, and goes on from there.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from mci.drills.command import NotUnderstoodError, parse_command
from mci.drills.log import Log
from mci.drills.session import SAME, Position, Session
from mci.drills.session_words import SessionWords
from mci.errors import InputError, Mistake
from mci.plan.orders import Action, sort_orders
from mci.units import UnitError, format_moment, parse_duration, parse_moment

if TYPE_CHECKING:
    from mci.drills.result import Drill
    from mci.plan.orders import Order

__all__ = ["HELP", "TableTop"]

HELP = (
    "Time: go 5 (minutes), go to T+30, next (to the next thing that happens). It stops at what nobody had announced.",
    "Look: state, cards P07 (without a name: everybody), marks (what R1 and C3 are), log (orders so far).",
    "Patients: connect P07 non-rebreather 15 C3 R2; move P07 to C4 R3; flow P07 10; step down P07 cannula 4; off P07.",
    "Cylinders: change R2 to C5 by Staff 1. Names or marks, words in any order, as in the log.",
    (
        "A change of cylinder begins now and is done some minutes later. Orders of one moment take effect together; "
        "those that are joined by ; on one line are one step, so that casualties can change places."
    ),
    (
        "Else: undo (the last thing you did), save, end (time runs to the end with what is connected, then comes the "
        "debrief), help. Ctrl-D stops here, on Windows Ctrl-Z and Enter."
    ),
)
_KIND, _VERSION = "table-top session of a drill", 1
_FIRST = "Type help for what you can type, state for what you have, next to let time run to what happens next."
_STOPPING = (
    "end lets time run to the end, then comes the debrief. To stop here, Ctrl-D (on Windows Ctrl-Z and Enter); it can "
    "be gone on with where --save was given."
)
_PROMISED = "This is an exercise with invented data; not for care of any patient."


class TableTop:
    """A drill in the hands of one trainee.

    Parameters
    ----------
    drill
        The drill, with everything that players do not know.

    Attributes
    ----------
    finished
        Whether the end is reached.
    wants_saving
        Whether the last line asked for the session to be saved; whoever reads the lines does that.
    """

    def __init__(self, drill: Drill) -> None:
        self._drill = drill
        self._session = Session(drill)
        self._words = SessionWords(drill, self._session)
        self._lines: list[str] = []
        self._positions = [Position()]
        self.wants_saving = False

    @property
    def position(self) -> Position:
        """Where the session stands."""
        return self._positions[-1]

    @property
    def finished(self) -> bool:
        """Whether the end is reached."""
        return self.position.clock >= self._drill.actual.horizon - SAME

    @property
    def prompt(self) -> str:
        """What stands before a line."""
        return f"{format_moment(self.position.clock)} > "

    def opening(self) -> tuple[str, ...]:
        """Return what is shown at the beginning."""
        told = [line for each in self._session.opening() for line in self._words.happening(each)]
        return (_PROMISED, *told, _FIRST)

    def type_line(self, text: str) -> tuple[str, ...]:
        """Do what a line says; return what is shown."""
        self.wants_saving = False
        line = " ".join(text.split())
        word, _, rest = line.partition(" ")
        known = self._commands().get(word.casefold())
        if not line or line.startswith("#"):
            return ()
        if known is not None:
            return tuple(known(line, rest))
        if self.finished:
            return ("The exercise is over; only undo, state, cards, marks, log, save and help are left.",)
        return tuple(self._order(line))

    def _commands(self) -> dict[str, Callable[[str, str], Iterator[str]]]:
        return {
            "go": self._go,
            "next": self._next,
            "end": self._end,
            "state": self._state,
            "cards": self._cards,
            "card": self._cards,
            "marks": self._marks,
            "log": self._log,
            "undo": self._undo,
            "save": self._save,
            "help": self._help,
            # what people try first
            "?": self._help,
            "status": self._state,
            "wait": self._go,
            "quit": self._stopping,
            "exit": self._stopping,
        }

    def _stopping(self, _line: str, _rest: str) -> Iterator[str]:
        yield _STOPPING

    # --- what changes something --------------------------------------------------------------

    def _order(self, line: str) -> Iterator[str]:
        clock, position, orders = self.position.clock, self.position, []
        for part in filter(str.strip, line.split(";")):
            try:
                typed = parse_command(part, self._session.names, clock)
            except NotUnderstoodError as error:
                yield f"{error} (help says what can be typed.)"
                return
            orders.append(self._session.completed(typed, position))
            position = Position(clock, sort_orders([*position.orders, orders[-1]]))
        objections = self._session.objections(self.position, orders)
        if objections or not orders:
            yield from (f"Not done: {self._words.marked(reason)}." for reason in objections)
            yield from self._hint(orders)
            return
        self._keep(line, position)
        for order in orders:
            yield from self._done(order)

    def _hint(self, orders: list[Order]) -> Iterator[str]:
        """Say how to go on where a patient has another order at this moment."""
        given = {each.patient for each in self.position.orders if each.minute >= self.position.clock - SAME}
        for patient in dict.fromkeys(each.patient for each in orders if each.patient in given - {""}):
            yield f"Another order for {patient} stands at this moment: undo it, or go on first."

    def _done(self, order: Order) -> Iterator[str]:
        if order.minute > self.position.clock + SAME:
            yield f"Begun: {self._words.order(order)}, done at {format_moment(order.minute)}."
            return
        yield f"Done: {self._words.order(order)}."
        connection = self._session.stand(self.position).connected.get(order.patient)
        if order.action is not Action.DISCONNECT and connection is not None and not connection.gas:
            yield "No gas comes."

    def _keep(self, line: str, position: Position) -> None:
        self._lines.append(line)
        self._positions.append(position)

    def _advance(self, line: str, to: float) -> Iterator[str]:
        position, passed = self._session.advance(self.position, to)
        self._keep(line, position)
        for each in passed:
            yield from self._words.happening(each)
        if self.finished:
            yield f"{self._words.moment(position.clock)}: the end of the exercise."
        elif position.clock < to - SAME:
            yield f"It is {self._words.moment(position.clock)}; time has stopped for this."
        else:
            yield f"It is {self._words.moment(position.clock)}."

    def _go(self, line: str, rest: str) -> Iterator[str]:
        if self.finished:
            yield "The exercise is over."
            return
        try:
            to = self._target(rest)
        except UnitError as error:
            yield f"Go where to? {error}".rstrip(".") + ": go 5, or go to T+30."
            return
        if to <= self.position.clock + SAME:
            yield f"It is {self._words.moment(self.position.clock)} already; time only goes on."
        else:
            yield from self._advance(line, to)

    def _target(self, text: str) -> float:
        """Return the moment that is meant: so many minutes on, or a moment [min].

        Raises
        ------
        UnitError
            If it is neither.
        """
        first, _, rest = text.partition(" ")
        start = self._drill.actual.start
        if first.casefold() == "to":
            return float(rest) if _is_number(rest) else parse_moment(rest, start)
        if text.casefold().startswith("t+") or ":" in text:
            return parse_moment(text, start)
        return self.position.clock + (float(text) if _is_number(text) else parse_duration(text))

    def _next(self, line: str, rest: str) -> Iterator[str]:  # noqa: ARG002
        if self.finished:
            yield "The exercise is over."
        else:
            yield from self._advance(line, self._session.next_moment(self.position))

    def _end(self, line: str, rest: str) -> Iterator[str]:  # noqa: ARG002
        """Let time run to the end, whatever players are told meanwhile."""
        if self.finished:
            yield "The exercise is over."
            return
        position = self.position
        while position.clock < self._drill.actual.horizon - SAME:
            position, passed = self._session.advance(position, self._drill.actual.horizon)
            yield from (told for each in passed for told in self._words.happening(each))
        self._keep(line, position)
        yield f"{self._words.moment(position.clock)}: the end of the exercise."

    def _undo(self, line: str, rest: str) -> Iterator[str]:  # noqa: ARG002
        if not self._lines:
            yield "There is nothing to undo."
            return
        taken = self._lines.pop()
        self._positions.pop()
        yield f"Undone: {taken}. It is {self._words.moment(self.position.clock)}."

    # --- what only looks ---------------------------------------------------------------------

    def _state(self, line: str, rest: str) -> Iterator[str]:  # noqa: ARG002
        yield from self._words.state(self.position)

    def _cards(self, line: str, rest: str) -> Iterator[str]:  # noqa: ARG002
        if not rest:
            here = self._session.here(self.position.clock)
            for person in here:
                yield from self._words.card(person.key, self.position)
            if not here:
                yield "Nobody is here."
            return
        found = self._session.names.patient(rest)
        if found.name:
            yield from self._words.card(found.name, self.position)
        else:
            yield f"There is no casualty {rest!r}."

    def _marks(self, line: str, rest: str) -> Iterator[str]:  # noqa: ARG002
        yield from self._words.marks()

    def _log(self, line: str, rest: str) -> Iterator[str]:  # noqa: ARG002
        for order in self.position.orders:
            yield f"{format_moment(order.minute)} {self._words.order(order)}"
        if not self.position.orders:
            yield "No orders so far."

    def _help(self, line: str, rest: str) -> Iterator[str]:  # noqa: ARG002
        yield from HELP

    def _save(self, line: str, rest: str) -> Iterator[str]:  # noqa: ARG002
        self.wants_saving = True
        return iter(())

    # --- afterwards --------------------------------------------------------------------------

    def log(self) -> Log:
        """Return the orders as a log, for the debrief."""
        orders = self.position.orders
        return Log("table-top", orders, tuple(range(1, len(orders) + 1)), (), len(orders), 0)

    def save(self) -> str:
        """Return the session as plain text (JSON): everything that was typed and changed something."""
        state = {"kind": _KIND, "version": _VERSION, "exercise": _mark(self._drill), "lines": self._lines}
        return json.dumps(state, indent=1, ensure_ascii=False) + "\n"

    @classmethod
    def resume(cls, drill: Drill, text: str, file: str = "session") -> TableTop:
        """Return a saved session, to go on from where it was saved.

        Raises
        ------
        InputError
            If the text is no session, belongs to another drill, or a line of it cannot be done.
        """
        session = cls(drill)
        for number, line in enumerate(_read_lines(drill, text, file), start=1):
            before = len(session._lines)
            told = session.type_line(line)
            if len(session._lines) != before + 1:
                rule = f"line {number} of the session cannot be done: {' '.join(told) or 'it changes nothing'}"
                fix = "Go on with the file as it was saved, or begin anew."
                raise InputError([Mistake(rule, fix, file, path="lines", value=line)])
        return session


def _is_number(text: str) -> bool:
    return text.replace(".", "", 1).isascii() and text.replace(".", "", 1).isdigit()


def _mark(drill: Drill) -> str:
    """Return what tells drills apart."""
    texts = (drill.exercise_text, *(text for _, text in sorted(drill.exercise_tables.items())))
    return hashlib.sha256("\0".join(texts).encode()).hexdigest()


def _read_lines(drill: Drill, text: str, file: str) -> list[str]:
    """Return the lines of a saved session.

    Raises
    ------
    InputError
        If it is none, or of another drill.
    """

    def wrong(rule: str, fix: str) -> InputError:
        return InputError([Mistake(rule, fix, file)])

    try:
        state = json.loads(text)
    except ValueError:
        state = None
    if not isinstance(state, dict) or (state.get("kind"), state.get("version")) != (_KIND, _VERSION):
        raise wrong("is no saved table-top session", "Name the file that 'save' wrote.")
    lines = state.get("lines")
    if not isinstance(lines, list) or not all(isinstance(line, str) for line in lines):
        raise wrong("has no list of lines", "Name the file that 'save' wrote, as it was written.")
    if state.get("exercise") != _mark(drill):
        fix = "Use the same scenario, seed and difficulty as when it was saved."
        raise wrong("belongs to another drill", fix)
    return lines
