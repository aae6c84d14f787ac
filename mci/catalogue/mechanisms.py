"""Mechanisms of injury: who of the hurt needs how much oxygen, and what is found on them, for exercises.

The mixes are planning assumptions; what is found is invented.  Nothing here is for the care of any patient.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from importlib import resources
from types import MappingProxyType
from typing import TYPE_CHECKING

from mci.catalogue.categories import CATEGORIES
from mci.catalogue.load import load_catalogue
from mci.catalogue.model import Source
from mci.catalogue.nodes import BadEntryError, basis_of, compose, fields_of, items_of, text_of
from mci.errors import InputError
from mci.units import UnitError, parse_share

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    import yaml

    from mci.errors import Mistake

__all__ = ["Mechanism", "Need", "Picture", "Span", "load_mechanisms", "read_mechanisms"]

_FILE = "mechanisms.yaml"
#: What a sign can be at all, so that a slip of the pen is found.
_POSSIBLE = {"spo2": (50, 100), "breaths": (4, 80), "pulse": (20, 240)}


@dataclass(frozen=True, slots=True)
class Span:
    """Whole numbers from ``low`` to ``high``, both included."""

    low: int
    high: int


@dataclass(frozen=True, slots=True)
class Picture:
    """How a casualty presents: exercise data, invented.

    Parameters
    ----------
    findings
        Sentences, one of which goes on a card.
    spo2, breaths, pulse
        On arrival, breathing air: oxygen saturation [%], breaths and pulse [per min].
    """

    findings: tuple[str, ...]
    spo2: Span
    breaths: Span
    pulse: Span


@dataclass(frozen=True, slots=True)
class Need:
    """Some of the hurt who need the same.

    Parameters
    ----------
    share
        Of all who are hurt, 0 to 1.
    ladder, child_ladder
        Keys of ladders.
    """

    share: float
    category: str
    ladder: str
    child_ladder: str
    adult: Picture
    child: Picture

    def ladder_of(self, *, child: bool) -> str:
        """Return the key of the ladder of a child or an adult."""
        return self.child_ladder if child else self.ladder

    def picture_of(self, *, child: bool) -> Picture:
        """Return how a child or an adult presents."""
        return self.child if child else self.adult


@dataclass(frozen=True, slots=True)
class Mechanism:
    """How people were hurt, and what that means for oxygen.

    Parameters
    ----------
    no_oxygen
        Share of the hurt who need none, 0 to 1; with the shares of ``needs`` it makes 1.
    """

    key: str
    title: str
    source: Source
    no_oxygen: float
    needs: tuple[Need, ...]


@functools.cache
def load_mechanisms() -> Mapping[str, Mechanism]:
    """Return the mechanisms that come with the program, by key."""
    text = (resources.files("mci.catalogue") / "data" / _FILE).read_text(encoding="utf-8")
    return read_mechanisms(_FILE, text, load_catalogue().ladders)


def read_mechanisms(file: str, text: str, ladders: Iterable[str]) -> Mapping[str, Mechanism]:
    """Return the mechanisms of a YAML text by key.

    Raises
    ------
    InputError
        With every mistake and its line.
    """
    mistakes: list[Mistake] = []
    known = frozenset(ladders)
    mechanisms: dict[str, Mechanism] = {}
    for key, node in compose(file, text, "mechanisms by name", mistakes):
        try:
            mechanisms[key] = _mechanism(key, node, known, lambda error: mistakes.append(error.mistake(file)))
        except BadEntryError as error:
            mistakes.append(error.mistake(file))
    if mistakes:
        raise InputError(mistakes)
    return MappingProxyType(mechanisms)


def _mechanism(key: str, node: yaml.Node, ladders: frozenset[str], note: Callable[[BadEntryError], None]) -> Mechanism:
    """Return a mechanism; what is wrong with one of its needs is noted, so that the next one is looked at too."""
    fields = fields_of(node, required={"title", "source", "basis", "no oxygen", "needs"}, allowed=set())
    needs: list[Need] = []
    nodes = items_of(fields["needs"], f"the needs of {key}")
    for at in nodes:
        try:
            need = _need(at, ladders)
            if (need.category, need.ladder) in [(other.category, other.ladder) for other in needs]:
                raise BadEntryError(at, f"{need.category} with {need.ladder} is there twice")
            needs.append(need)
        except BadEntryError as error:
            note(error)
    none = _share(fields["no oxygen"])
    total = math.fsum([none, *(need.share for need in needs)])
    if len(needs) == len(nodes) and not math.isclose(total, 1.0, abs_tol=1e-9):
        raise BadEntryError(node, f"the shares of {key} and 'no oxygen' sum to {total:.4g}; they must sum to 1")
    source = Source(text_of(fields["source"]), basis_of(fields["basis"]))
    return Mechanism(key, text_of(fields["title"]), source, none, tuple(needs))


def _need(node: yaml.Node, ladders: frozenset[str]) -> Need:
    required = {"share", "category", "ladder", "child ladder", "adult", "child"}
    fields = fields_of(node, required=required, allowed=set())
    if text_of(fields["category"]) not in CATEGORIES:
        raise BadEntryError(fields["category"], f"the category must be one of {', '.join(CATEGORIES)}")
    for key in ("ladder", "child ladder"):
        if text_of(fields[key]) not in ladders:
            raise BadEntryError(fields[key], f"the ladder {text_of(fields[key])!r} is not in the catalogue")
    share = _share(fields["share"])
    if share == 0:
        raise BadEntryError(fields["share"], "a share must be above 0; leave the need out instead")
    category, ladder, child = (text_of(fields[key]) for key in ("category", "ladder", "child ladder"))
    return Need(share, category, ladder, child, _picture(fields["adult"]), _picture(fields["child"]))


def _picture(node: yaml.Node) -> Picture:
    fields = fields_of(node, required={"findings", *_POSSIBLE}, allowed=set())
    findings = tuple(text_of(item) for item in items_of(fields["findings"], "the findings"))
    for finding, item in zip(findings, items_of(fields["findings"], "the findings"), strict=True):
        if not finding.endswith(".") or findings.count(finding) > 1:
            raise BadEntryError(item, "a finding is a sentence with a full stop, and is there once")
    spans = [_span(key, fields[key]) for key in _POSSIBLE]
    return Picture(findings, *spans)


def _span(sign: str, node: yaml.Node) -> Span:
    ends = [text_of(item) for item in items_of(node, f"the range of {sign}")]
    low, high = _POSSIBLE[sign]
    if len(ends) != 2 or not all(end.isdecimal() for end in ends):
        raise BadEntryError(node, f"the range of {sign} must be two whole numbers, such as [{low}, {high}]")
    span = Span(int(ends[0]), int(ends[1]))
    if not low <= span.low <= span.high <= high:
        raise BadEntryError(node, f"the range of {sign} must rise, and lie within {low} to {high}")
    return span


def _share(node: yaml.Node) -> float:
    try:
        return parse_share(text_of(node))
    except UnitError as error:
        raise BadEntryError(node, f"this share {error}") from None
