"""One typed line as an order: ``connect P07 non-rebreather 15 C3 R2``, ``change R2 to C5 by Staff 1``, ``off P07``.

Words may come in any order as long as each can mean one thing only.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from mci.drills.actions import WEAK_WORDS, find_action
from mci.drills.book import Found
from mci.drills.phrases import Kind, Phrase, cut
from mci.plan.credit import reached_rung
from mci.plan.orders import Action, Order

if TYPE_CHECKING:
    from mci.drills.names import Names

__all__ = ["Command", "NotUnderstoodError", "parse_command", "read_command"]

_PATIENT_ACTIONS = frozenset(Action) - {Action.CHANGE}


class NotUnderstoodError(ValueError):
    """A typed line that is no order; the message says what was not understood, and what to write."""


@dataclass(frozen=True, slots=True)
class Command:
    """An order as typed, and in words whatever was read as something else than is written."""

    order: Order
    readings: tuple[str, ...]


def parse_command(text: str, names: Names, minute: float) -> Order:
    """Return the order that a typed line means at a moment [min].

    Raises
    ------
    NotUnderstoodError
        With everything that was not understood or is missing.
    """
    return read_command(text, names, minute).order


def read_command(text: str, names: Names, minute: float) -> Command:
    """Return the order that a typed line means at a moment [min], and what was read as something else.

    Raises
    ------
    NotUnderstoodError
        With everything that was not understood or is missing.
    """
    phrases = cut(text, names)
    strange = [_strange(each, names) for each in phrases if not each.readings]
    if strange:
        raise NotUnderstoodError(" ".join(strange))
    line = _Line(names, minute)
    line.take(phrases)
    return line.command()


def _strange(phrase: Phrase, names: Names) -> str:
    """Say that a word is not understood, and what is near."""
    every = (names.patient, names.supply, names.regulator, names.device, names.handler, names.area, find_action)
    near = list(dict.fromkeys(name for ask in every for name in ask(phrase.text).near))[:3]
    told = f" (near: {', '.join(near)})" if near else ""
    return f"'{phrase.text}' is not understood{told}."


@dataclass(slots=True)
class _Line:
    """What is known of a line so far: phrases by what they are."""

    names: Names
    minute: float
    known: dict[Kind, tuple[Phrase, Found]] = field(default_factory=dict)
    action: Action | None = None

    def take(self, phrases: tuple[Phrase, ...]) -> None:
        """Find out what each phrase is, those first that can be one thing only."""
        rest = [each for each in phrases if set(each.readings) != {Kind.ACTION}]
        self._take_action([each for each in phrases if Kind.ACTION in each.readings and each not in rest])
        while rest:
            phrase = min(rest, key=lambda each: len(self._kinds(each)))
            kinds = self._kinds(phrase)
            if len(kinds) > 1:
                raise NotUnderstoodError(" ".join(_unclear(each, self._kinds(each)) for each in rest))
            rest.remove(phrase)
            self._keep(phrase, kinds)

    def _take_action(self, phrases: list[Phrase]) -> None:
        strong = [each for each in phrases if each.text.lower() not in WEAK_WORDS] or phrases
        actions = {Action(each.readings[Kind.ACTION].name) for each in strong}
        if actions == {Action.SET_FLOW, Action.STEP_DOWN}:
            actions = {Action.STEP_DOWN}
        if len(actions) > 1:
            raise NotUnderstoodError(f"One line is one order, and this one says {_listed(actions)}.")
        for phrase in strong:
            self.action = actions.copy().pop()
            self.known[Kind.ACTION] = phrase, phrase.readings[Kind.ACTION]

    def _kinds(self, phrase: Phrase) -> list[Kind]:
        """Return what a phrase can still be."""
        return [kind for kind in phrase.readings if kind not in self.known]

    def _keep(self, phrase: Phrase, kinds: list[Kind]) -> None:
        if not kinds:
            kind = next(iter(phrase.readings))
            raise NotUnderstoodError(f"There is more than one {kind}: '{self.known[kind][0].text}', '{phrase.text}'.")
        if kinds[0] is Kind.ACTION:
            self.action = Action(phrase.readings[Kind.ACTION].name)
        self.known[kinds[0]] = phrase, phrase.readings[kinds[0]]

    def _name(self, kind: Kind) -> str:
        return self.known[kind][1].name if kind in self.known else ""

    def _number(self, kind: Kind) -> float | None:
        return float(self._name(kind)) if kind in self.known else None

    def _place(self) -> str:
        """Return the area: as written, or where the patient is, or where a thing is that has one name only."""
        patient, names = self._name(Kind.PATIENT), self.names
        supply, regulator = names.supplies.get(self._name(Kind.SUPPLY)), self._name(Kind.REGULATOR)
        if self._name(Kind.AREA):
            return self._name(Kind.AREA)
        if patient:
            return names.area_of(patient, self.minute)
        if supply is not None:
            return supply.lot.area
        if regulator:
            return names.regulators[regulator].area
        handler = names.handlers.get(self._name(Kind.HANDLER))
        return handler.area if handler is not None else ""

    def _look_again(self) -> None:
        """Look again for what has the same mark in several areas, and for devices, now that the place is known."""
        area = self._place()
        ask = {Kind.SUPPLY: self.names.supply, Kind.REGULATOR: self.names.regulator, Kind.HANDLER: self.names.handler}
        for kind, find in ask.items():
            if kind in self.known:
                phrase, _ = self.known[kind]
                found = find(phrase.text, area)
                if not found.name:
                    raise NotUnderstoodError(
                        f"'{phrase.text}' may be {_listed(found.near)}: name the area, or the thing in full."
                    )
                self.known[kind] = phrase, found
        if Kind.DEVICE in self.known:
            phrase, _ = self.known[Kind.DEVICE]
            prescribed = self.names.prescribed(self._name(Kind.PATIENT), self.minute)
            self.known[Kind.DEVICE] = phrase, self.names.device(phrase.text, prescribed)

    def command(self) -> Command:
        """Return the order, if nothing is missing."""
        self._look_again()
        if self.action is Action.CHANGE and self._is_about_flow():
            self.action = Action.SET_FLOW
        missing = list(self._missing())
        if self.action is None or missing:
            raise NotUnderstoodError(" ".join(missing))
        order = Order(
            minute=self.minute,
            area=self._place(),
            action=self.action,
            patient=self._name(Kind.PATIENT),
            device=self._name(Kind.DEVICE),
            flow_lpm=self._number(Kind.FLOW) or 0.0,
            supply=self._name(Kind.SUPPLY),
            regulator=self._name(Kind.REGULATOR),
            gauge_psi=self._number(Kind.GAUGE),
            by=self._name(Kind.HANDLER),
        )
        return Command(order, tuple(_reading(*each) for each in self.known.values() if not each[1].is_sure))

    def _is_about_flow(self) -> bool:
        """Tell whether ``change`` means a device or a flow: a patient is named, and no cylinder."""
        kinds = self.known.keys()
        return Kind.PATIENT in kinds and bool(kinds & {Kind.DEVICE, Kind.FLOW}) and Kind.SUPPLY not in kinds

    def _missing(self) -> list[str]:
        if self.action is None:
            return ["What is to be done? Write connect, off, change, move, step down or flow."]
        kinds, told = self.known.keys(), []
        if self.action in _PATIENT_ACTIONS and Kind.PATIENT not in kinds:
            told.append("Which patient?")
        if self.action is Action.CHANGE:
            told += self._missing_of_change()
        if self.action is Action.CONNECT:
            if Kind.DEVICE not in kinds:
                told.append("Which device?")
            elif Kind.FLOW not in kinds and not self._draws_nothing():
                told.append("Which flow?")
        if self.action in (Action.CONNECT, Action.MOVE) and not kinds & {Kind.SUPPLY, Kind.REGULATOR}:
            told.append("From which cylinder?")
        if self.action in (Action.SET_FLOW, Action.STEP_DOWN) and not kinds & {Kind.DEVICE, Kind.FLOW}:
            told.append("Which flow or device?")
        return told

    def _missing_of_change(self) -> list[str]:
        told = []
        supply = self.names.supplies.get(self._name(Kind.SUPPLY))
        if Kind.PATIENT in self.known:
            told.append("A change of cylinder names its regulator, not a patient; a patient who changes is moved.")
        if supply is None:
            told.append("Which cylinder goes on?")
        elif supply.lot.built_in is None and Kind.REGULATOR not in self.known:
            told.append("Which regulator goes on it?")
        return told

    def _draws_nothing(self) -> bool:
        """Tell whether the device has a rung without oxygen for this patient, as a ventilator on room air."""
        stay = self.names.stay(self._name(Kind.PATIENT), self.minute)
        if stay is None:
            return False
        return reached_rung(self.names.scenario.ladders[stay.ladder], self._name(Kind.DEVICE), 0.0) is not None


def _reading(phrase: Phrase, found: Found) -> str:
    return f"'{phrase.text}' is read as {found.name} ({found.how})."


def _unclear(phrase: Phrase, kinds: list[Kind]) -> str:
    return f"'{phrase.text}' may be a {' or a '.join(kinds)}."


def _listed(things: object) -> str:
    return ", ".join(sorted(str(each) for each in things))  # type: ignore[attr-defined]
