"""A typed line cut into phrases, each with what it can be: an action, a patient, a cylinder, a flow and so on."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from mci.drills.actions import find_action
from mci.drills.amounts import read_flow, read_gauge
from mci.drills.book import Found, How

if TYPE_CHECKING:
    from mci.drills.names import Names

__all__ = ["Kind", "Phrase", "cut"]

_LONGEST = 12  # words in a name
_LINK_WORDS = "to by from with at the a an and of for via in into is are patient pt it onto on off put take turn give"
_LINKS = frozenset(_LINK_WORDS.split())
_SURE, _UNSURE, _LINK, _UNREAD = 1.0, 2.5, 0.4, 20.0  # what a phrase of that kind costs: few sure phrases are best


class Kind(StrEnum):
    """What a phrase can be."""

    ACTION = "action"
    PATIENT = "patient"
    SUPPLY = "cylinder"
    REGULATOR = "regulator"
    DEVICE = "device"
    HANDLER = "person"
    AREA = "area"
    FLOW = "flow"
    GAUGE = "gauge"


@dataclass(frozen=True, slots=True)
class Phrase:
    """Some words of a line and what they can be; none where they are not understood."""

    text: str
    readings: dict[Kind, Found]
    cost: float

    @property
    def is_link(self) -> bool:
        """Whether the words may merely link others."""
        return self.text.lower() in _LINKS


def cut(text: str, names: Names) -> tuple[Phrase, ...]:
    """Cut a line into the phrases that are understood best; mere links are left out."""
    words = re.sub(r"[,;](?=\s|$)|(?<=\s)[-–>:=]+(?=\s)", " ", text).split()
    best: list[tuple[float, tuple[Phrase, ...]]] = [(0.0, ())]
    for end in range(1, len(words) + 1):
        ways = []
        for begin in range(max(0, end - _LONGEST), end):
            phrase = _read(" ".join(words[begin:end]), names, single=end - begin == 1)
            if phrase is not None:
                cost, before = best[begin]
                ways.append((cost + phrase.cost, (*before, phrase)))
        best.append(min(ways, key=lambda way: way[0]))
    return tuple(phrase for phrase in best[-1][1] if phrase.readings or not phrase.is_link)


def _read(text: str, names: Names, *, single: bool) -> Phrase | None:
    """Return a phrase if it is one; a single word always is, understood or not."""
    found = _finds(text, names)
    sure = {kind: each for kind, each in found.items() if each.is_sure or _is_a_mark_of_several(each)}
    if sure:
        return Phrase(text, sure, _SURE)
    if single and text.lower() in _LINKS:
        return Phrase(text, {}, _LINK)
    unsure = {kind: each for kind, each in found.items() if each.name}
    if unsure and (single or not _takes_from_others(text, unsure, names)):
        return Phrase(text, unsure, _UNSURE)
    return Phrase(text, {}, _UNREAD) if single else None


def _finds(text: str, names: Names) -> dict[Kind, Found]:
    flow, gauge = read_flow(text), read_gauge(text)
    found = {
        Kind.ACTION: find_action(text),
        Kind.PATIENT: names.patient(text),
        Kind.SUPPLY: names.supply(text),
        Kind.REGULATOR: names.regulator(text),
        Kind.DEVICE: names.device(text),
        Kind.HANDLER: names.handler(text),
        Kind.AREA: names.area(text),
    }
    if flow is not None:
        found[Kind.FLOW] = Found(f"{flow:.10g}", How.WRITTEN)
    if gauge is not None:
        found[Kind.GAUGE] = Found(f"{gauge:.10g}", How.WRITTEN)
    return found


def _is_a_mark_of_several(found: Found) -> bool:
    """Tell whether several things are meant alike, of which the area will tell the one."""
    return found.how is How.SEVERAL and found.alike is How.MARK


def _takes_from_others(text: str, readings: dict[Kind, Found], names: Names) -> bool:
    """Tell whether the first or the last word means something else by itself; a number may end a name."""
    first, *_, last = text.split()
    ends = (first,) if last.isdigit() else (first, last)
    sure = {(kind, each.name) for end in ends for kind, each in _finds(end, names).items() if each.is_sure}
    return bool(sure - {(kind, each.name) for kind, each in readings.items()})
