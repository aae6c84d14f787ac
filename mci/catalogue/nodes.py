"""Pieces of a YAML data file as read, each mistake with the line where it stands."""

from __future__ import annotations

import yaml

from mci.catalogue.model import Basis
from mci.errors import Mistake

__all__ = ["BadEntryError", "basis_of", "compose", "entries_of", "fields_of", "items_of", "text_of"]


class BadEntryError(ValueError):
    """An entry that cannot be used, with the node where it stands."""

    def __init__(self, node: yaml.Node, rule: str) -> None:
        super().__init__(rule)
        self.line = node.start_mark.line + 1

    def mistake(self, file: str) -> Mistake:
        """Return it as a mistake of a file."""
        return Mistake(str(self), file=file, line=self.line)


def compose(file: str, text: str, what: str, mistakes: list[Mistake]) -> list[tuple[str, yaml.Node]]:
    """Return the entries of a data file by key (``what`` says what they are); what is wrong goes to ``mistakes``."""
    try:
        root = yaml.compose(text, Loader=yaml.SafeLoader)
        return entries_of(root, what) if root else []
    except yaml.MarkedYAMLError as error:
        line = error.problem_mark.line + 1 if error.problem_mark else 0
        mistakes.append(Mistake(f"is not YAML: {error.problem}", file=file, line=line))
    except BadEntryError as error:
        mistakes.append(error.mistake(file))
    return []


def entries_of(node: yaml.Node, what: str) -> list[tuple[str, yaml.Node]]:
    """Return keys and values of a mapping, each key once."""
    if not isinstance(node, yaml.MappingNode):
        raise BadEntryError(node, f"must hold {what}")
    entries = [(text_of(key), value) for key, value in node.value]
    names = [name for name, _ in entries]
    for at, (name, value) in enumerate(entries):
        if name in names[:at]:
            raise BadEntryError(value, f"the key {name} is there twice")
    return entries


def fields_of(node: yaml.Node, *, required: set[str], allowed: set[str]) -> dict[str, yaml.Node]:
    """Return the values of a mapping that has these keys and no others."""
    known = ", ".join(sorted(required | allowed))
    fields = dict(entries_of(node, f"the keys {known}"))
    for key in sorted(required - set(fields)):
        raise BadEntryError(node, f"the key {key} is missing")
    for key in sorted(set(fields) - required - allowed):
        raise BadEntryError(fields[key], f"the key {key} is not known; known are {known}")
    return fields


def items_of(node: yaml.Node, what: str) -> list[yaml.Node]:
    """Return the items of a list that is not empty."""
    if not isinstance(node, yaml.SequenceNode) or not node.value:
        raise BadEntryError(node, f"{what} must be a list")
    return list(node.value)


def text_of(node: yaml.Node) -> str:
    """Return a single value as text."""
    if not isinstance(node, yaml.ScalarNode):
        raise BadEntryError(node, "must be a single value")
    return str(node.value)


def basis_of(node: yaml.Node) -> Basis:
    """Return how far a number is backed."""
    try:
        return Basis(text_of(node))
    except ValueError:
        raise BadEntryError(node, f"must be one of: {'; '.join(Basis)}") from None
