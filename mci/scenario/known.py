"""The names that a scenario may refer to, gathered before it is checked, so that every wrong one is found at once."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from mci.catalogue import find
from mci.catalogue.mechanisms import load_mechanisms
from mci.scenario.network import PlaceKind

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from mci.catalogue.model import Catalogue

__all__ = ["Known", "Wrong", "gather", "nearest"]


class Wrong(ValueError):  # noqa: N818 - reads as "raise Wrong(rule, fix)"
    """A value that breaks a rule; ``fix`` says what to write instead."""

    def __init__(self, rule: str, fix: str = "") -> None:
        super().__init__(rule)
        self.fix = fix


def nearest(name: str, names: Iterable[str], most: int = 1) -> str:
    """Return a hint at the known names that are most like the one written, or a list of what is known."""
    known = sorted(set(names))
    low = {k.lower(): k for k in known}
    match = difflib.get_close_matches(name.lower(), low, n=most, cutoff=0.6 if most == 1 else 0.5)
    if not match:
        words = set(name.lower().split())
        match = [k for k in low if words and words <= set(k.split())][:1]
    if match:
        return f"Did you mean {' or '.join(repr(low[m]) for m in match)}?"
    if not known:
        return ""
    shown = ", ".join(known[:12]) + (", ..." if len(known) > 12 else "")
    return f"Known: {shown}."


@dataclass(frozen=True, slots=True)
class Known:
    """What names may be used, and what is needed to read the values.

    Parameters
    ----------
    own
        Per kind of thing (``area``, ``place``, ``ladder``, ``cylinder``, ``regulator``, ``machine``) the
        names that the file defines; ``None`` where its list cannot be read, which is told by itself.
    catalogue
        What may be named besides.
    start
        Clock time of T+0 [min after midnight], or ``None``.
    sections
        The keys at the top of the file.
    drawn
        Whether casualties in a few lines can stand for patients.
    shapes
        Filled while checking: per ``id`` of a mapping in the file, the keys that it may
        have, each with its description.
    classes
        Likewise the class of the schema that it is.
    """

    own: Mapping[str, frozenset[str] | None]
    catalogue: Catalogue
    start: int | None
    sections: frozenset[str] = frozenset()
    drawn: bool = False
    shapes: dict[int, Mapping[str, str]] = field(default_factory=dict)
    classes: dict[int, type] = field(default_factory=dict)
    _found: dict[tuple[str, str], str] = field(default_factory=dict)

    def key_of(self, kind: str, text: str) -> str:
        """Return the key that a text names.

        Raises
        ------
        Wrong
            When nothing of this kind has the name.
        """
        if (kind, text) not in self._found:
            self._found[kind, text] = self._look_up(kind, text)
        return self._found[kind, text]

    def _look_up(self, kind: str, text: str) -> str:
        own = self.own.get(kind, frozenset())
        if own is None or text in own:
            return text
        if kind == "mechanism":
            return _mechanism(text)
        if kind in ("area", "place"):
            raise Wrong(f"there is no {kind} of this name", nearest(text, own) or f"List it under '{kind}s'.")
        finder, entries = self._catalogue(kind)
        try:
            key: str = finder(text, catalogue=self.catalogue).key
        except find.UnknownEntryError as error:
            if "different regions" in str(error):
                rule, _, fix = str(error).partition("; ")
                raise Wrong(rule, f"{fix[:1].upper()}{fix[1:]}.") from None
            raise Wrong(f"there is no {kind} of this name", nearest(text, own | frozenset(entries), most=3)) from None
        return key

    def _catalogue(self, kind: str) -> tuple[Callable[..., Any], Mapping[str, Any]]:
        finders: dict[str, tuple[Callable[..., Any], Mapping[str, Any]]] = {
            "cylinder": (find.find_cylinder, self.catalogue.cylinders),
            "device": (find.find_device, self.catalogue.devices),
            "ladder": (find.find_ladder, self.catalogue.ladders),
            "machine": (find.find_machine, self.catalogue.machines),
            "regulator": (find.find_outlet_set, self.catalogue.outlet_sets),
        }
        return finders[kind]


def _mechanism(text: str) -> str:
    plain = " ".join(text.lower().split())
    if plain not in load_mechanisms():
        raise Wrong("there is no mechanism of this name", nearest(text, load_mechanisms(), most=3))
    return plain


def gather(tree: Mapping[str, Any], catalogue: Catalogue, start: int | None) -> Known:
    """Collect the names that the file itself defines, whatever else is wrong with it."""

    def own(section: str) -> frozenset[str] | None:
        value = tree.get(section, {})
        return frozenset(value) if isinstance(value, Mapping) else None

    sections = {
        "area": "areas",
        "ladder": "ladders",
        "cylinder": "cylinder kinds",
        "regulator": "regulator kinds",
        "machine": "machine kinds",
    }
    names = {kind: own(section) for kind, section in sections.items()}
    areas, places = names["area"] or None, _places(tree)
    known = None if areas is None or places is None else areas | places
    exercise = tree.get("exercise")
    drawn = isinstance(exercise, Mapping) and bool(exercise.get("casualties"))
    return Known({**names, "area": areas, "place": known}, catalogue, start, frozenset(map(str, tree)), drawn)


def _places(tree: Mapping[str, Any]) -> frozenset[str] | None:
    """Return the names of the places of the network besides the areas, ``None`` where they cannot be read."""
    network = tree.get("network")
    lines = network.get("places", []) if isinstance(network, Mapping) else []
    if not isinstance(lines, list):
        return None
    named = [
        next((line[kind] for kind in PlaceKind if kind in line), None) if isinstance(line, Mapping) else None
        for line in lines
    ]
    names = [name.strip() for name in named if isinstance(name, str)]
    return frozenset(names) if len(names) == len(lines) else None
