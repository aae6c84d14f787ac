"""What an evaluator can see of the skill itself, read from a data file; editable, subject to local protocol."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from importlib import resources
from typing import TYPE_CHECKING

from mci.catalogue.model import Basis, Source
from mci.catalogue.nodes import BadEntryError, basis_of, compose, fields_of, items_of, text_of
from mci.errors import InputError

if TYPE_CHECKING:
    import yaml

    from mci.errors import Mistake

__all__ = ["Criterion", "load_criteria", "read_criteria"]

_FILE = "criteria.yaml"
_FIELDS = {"key", "what", "seen", "gas", "source", "basis"}


@dataclass(frozen=True, slots=True)
class Criterion:
    """One thing that can be seen.

    Parameters
    ----------
    where
        At which of a few things the evaluator looks.
    key
        Name, each used once.
    what, seen
        What is to be seen, and what counts as seen.
    gas
        Whether it shows only where real oxygen flows.
    source
        What backs it; its text is empty where nothing does.
    """

    where: str
    key: str
    what: str
    seen: str
    gas: bool
    source: Source


def read_criteria(file: str, text: str) -> tuple[Criterion, ...]:
    """Read criteria from a YAML text, in the order in which they are shown.

    Raises
    ------
    InputError
        With every mistake and its line.
    """
    mistakes: list[Mistake] = []
    found: dict[str, Criterion] = {}
    for where, node in compose(file, text, "criteria by where one looks", mistakes):
        try:
            for item in items_of(node, f"what is seen at {where}"):
                criterion = _criterion(where, item)
                if criterion.key in found:
                    raise BadEntryError(item, f"the key {criterion.key} is there twice")
                found[criterion.key] = criterion
        except BadEntryError as error:
            mistakes.append(error.mistake(file))
    if mistakes:
        raise InputError(mistakes)
    return tuple(found.values())


def _criterion(where: str, node: yaml.Node) -> Criterion:
    fields = fields_of(node, required=_FIELDS, allowed=set())
    gas, source, basis = text_of(fields["gas"]), text_of(fields["source"]), basis_of(fields["basis"])
    if gas not in ("yes", "no"):
        raise BadEntryError(fields["gas"], "must be yes or no")
    if bool(source) == (basis is Basis.PRACTICE):
        raise BadEntryError(node, f"names a source, or its basis is: {Basis.PRACTICE}")
    words = {name: text_of(fields[name]) for name in ("key", "what", "seen")}
    if not all(words.values()):
        raise BadEntryError(node, "key, what and seen must say something")
    return Criterion(where, **words, gas=gas == "yes", source=Source(source, basis))


@functools.cache
def load_criteria() -> tuple[Criterion, ...]:
    """Return the criteria that come with the program."""
    text = resources.files("mci.drills").joinpath("data").joinpath(_FILE).read_text(encoding="utf-8")
    return read_criteria(_FILE, text)
