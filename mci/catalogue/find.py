"""Entries of the catalogue by what people write, with near names where there is none."""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING, TypeVar

from mci.catalogue.load import load_catalogue

if TYPE_CHECKING:
    from collections.abc import Mapping

    from mci.catalogue.model import Catalogue, Cylinder, Device, Ladder, Machine, OutletSet

    Entry = TypeVar("Entry")

__all__ = ["UnknownEntryError", "find_cylinder", "find_device", "find_ladder", "find_machine", "find_outlet_set"]


class UnknownEntryError(LookupError):
    """A name that the catalogue does not hold; the text continues "this name ..."."""


def _plain(text: str) -> str:
    return " ".join(text.casefold().replace("aluminum", "aluminium").split())


def _near(text: str, names: Mapping[str, object], what: str) -> UnknownEntryError:
    by_plain = {_plain(name): name for name in names}
    near = [by_plain[name] for name in difflib.get_close_matches(_plain(text), by_plain, n=4, cutoff=0.5)]
    hint = f"; near names: {', '.join(near)}" if near else f"; the catalogue holds: {', '.join(names)}"
    return UnknownEntryError(f"is not {what} of the catalogue{hint}")


def _find(text: str, entries: Mapping[str, Entry], what: str) -> Entry:
    for key, entry in entries.items():
        if _plain(key) == _plain(text):
            return entry
    raise _near(text, entries, what)


def _names(cylinder: Cylinder) -> set[str]:
    sizes = (cylinder.letter, *cylinder.also_called)
    full = {f"{cylinder.region} {size} {cylinder.variant}" for size in sizes}
    short = {f"{cylinder.region} {size}" for size in sizes} if cylinder.default else set()
    return {_plain(name) for name in full | short}


def find_cylinder(text: str, *, region: str | None = None, catalogue: Catalogue | None = None) -> Cylinder:
    """Return the cylinder that a text names.

    Parameters
    ----------
    text
        ``US E aluminium``, or ``US E`` for the default variant.
    region
        Where given, ``E`` and ``E steel`` are also understood, as of this region.

    Raises
    ------
    UnknownEntryError
        If there is none, with near names; a letter alone without a region is refused, because
        it means different cylinders in different countries.
    """
    cylinders = (catalogue or load_catalogue()).cylinders
    wanted = {_plain(text)} | ({_plain(f"{region} {text}")} if region else set())
    for cylinder in cylinders.values():
        if wanted & _names(cylinder):
            return cylinder
    anywhere = [c.key for c in cylinders.values() if _plain(f"{c.region} {text}") in _names(c)]
    if anywhere:
        raise UnknownEntryError(f"means different cylinders in different regions; write {' or '.join(anywhere)}")
    raise _near(f"{region} {text}" if region else text, cylinders, "a cylinder")


def find_device(text: str, *, catalogue: Catalogue | None = None) -> Device:
    """Return the delivery device that a text names, or raise :class:`UnknownEntryError`."""
    return _find(text, (catalogue or load_catalogue()).devices, "a device")


def find_outlet_set(text: str, *, catalogue: Catalogue | None = None) -> OutletSet:
    """Return the regulator, manifold or outlet that a text names, or raise :class:`UnknownEntryError`."""
    return _find(text, (catalogue or load_catalogue()).outlet_sets, "a regulator, manifold or outlet")


def find_machine(text: str, *, catalogue: Catalogue | None = None) -> Machine:
    """Return the concentrator or plant that a text names, or raise :class:`UnknownEntryError`."""
    return _find(text, (catalogue or load_catalogue()).machines, "a concentrator or plant")


def find_ladder(text: str, *, catalogue: Catalogue | None = None) -> Ladder:
    """Return the ladder that a text names, or raise :class:`UnknownEntryError`."""
    return _find(text, (catalogue or load_catalogue()).ladders, "a ladder")
