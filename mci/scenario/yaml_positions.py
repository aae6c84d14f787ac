"""YAML read as plain text values, with the line and column of every key and value.

Built from the parser's events, so nothing in a file can become an object: each scalar
stays the text that was written (``14:35`` is no number, ``NO`` no truth value), aliases and
tags are refused, nesting is bounded, and a key written twice is a mistake, not an overwrite.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import yaml

from mci.errors import InputError, Mistake

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["MAX_BYTES", "Positions", "Where", "parse_yaml", "path_text", "read_bytes"]

#: Largest file that is read [bytes]; a scenario of a hundred thousand lines is about 6 MB.
MAX_BYTES = 20_000_000
MAX_DEPTH = 40

#: Keys (text) and list indices (int) from the top of a file to a value.
Where = tuple[Any, ...]


@dataclass(slots=True)
class Positions:
    """Where the keys and values of one file are; places count from 1."""

    file: str
    keys: dict[Where, tuple[int, int]] = field(default_factory=dict)
    values: dict[Where, tuple[int, int]] = field(default_factory=dict)

    def of_key(self, path: Where) -> tuple[int, int]:
        """Return line and column of a key, or of the nearest thing around it that has one."""
        while path:
            if path in self.keys:
                return self.keys[path]
            if path in self.values:
                return self.values[path]
            path = path[:-1]
        return self.values.get((), (0, 0))

    def of_value(self, path: Where) -> tuple[int, int]:
        """Return line and column of a value, or of the nearest thing around it that has one."""
        return self.values.get(path) or self.of_key(path)

    def mistake(self, path: Where, rule: str, fix: str = "", value: str | None = None, *, key: bool = False) -> Mistake:
        """Return a mistake at a value, or at its key."""
        line, column = self.of_key(path) if key else self.of_value(path)
        return Mistake(rule, fix, self.file, line, column, path_text(path), value)


def path_text(path: Where) -> str:
    """Write a path as people do: ``patients[2].arrive``."""
    text = ""
    for part in path:
        text += f"[{part}]" if isinstance(part, int) else f"{'.' if text else ''}{part}"
    return text


def read_bytes(path: Any, name: str) -> bytes:
    """Read a file that somebody else may have made, up to ``MAX_BYTES``.

    Raises
    ------
    InputError
        When it is missing, is no file, cannot be read or is too large.
    """
    if path.is_dir():
        raise InputError([Mistake("is a folder, not a file", "Name the file in it.", name or str(path))])
    try:
        with path.open("rb") as stream:
            content: bytes = stream.read(MAX_BYTES + 1)
    except FileNotFoundError:
        raise InputError([Mistake("there is no such file", "Check the name and the folder.", name)]) from None
    except OSError as error:
        raise InputError([Mistake(f"cannot be read ({error.strerror})", "", name)]) from None
    if len(content) > MAX_BYTES:
        raise InputError([Mistake(f"is larger than {MAX_BYTES // 1_000_000} MB", "Split it or shorten it.", name)])
    return content


def parse_yaml(content: bytes, file: str) -> tuple[Any, Positions, list[Mistake]]:
    """Read one YAML document.

    Returns
    -------
    tuple
        The tree of dicts, lists and texts (``None`` for nothing written); the positions; and
        mistakes that leave a tree worth checking further (double keys, aliases, tags).

    Raises
    ------
    InputError
        When the text is no YAML at all.
    """
    builder = _Builder(Positions(file))
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise InputError([Mistake("is not UTF-8 text", "Save the file as UTF-8.", file, line)]) from None
    try:
        events = yaml.parse(text, Loader=getattr(yaml, "CBaseLoader", yaml.BaseLoader))
        tree = builder.document(iter(events))
    except yaml.MarkedYAMLError as error:
        mark: Any = error.problem_mark or error.context_mark
        line, column = (0, 0) if mark is None else (mark.line + 1, mark.column + 1)
        rule = f"is not readable as YAML: {error.problem or error.context}"
        fix = "Check indentation, colons, quotes and brackets here and in the line above."
        raise InputError([Mistake(rule, fix, file, line, column)]) from None
    except yaml.YAMLError as error:
        raise InputError([Mistake(f"is not readable as YAML: {str(error).splitlines()[0]}", "", file)]) from None
    return tree, builder.positions, builder.mistakes


class _Builder:
    """Turns events into a tree without recursion deeper than ``MAX_DEPTH``."""

    def __init__(self, positions: Positions) -> None:
        self.positions = positions
        self.mistakes: list[Mistake] = []

    def document(self, events: Iterator[Any]) -> Any:
        trees: list[Any] = []
        for event in events:
            if not isinstance(event, yaml.DocumentStartEvent):
                continue
            if trees:
                line = self.positions.values[()][0]
                rule = f"holds a second YAML document after the one from line {line}"
                raise InputError([Mistake(rule, "Remove the line '---' between them.", self.positions.file)])
            trees.append(self.value(next(events), events, ()))
        return trees[0] if trees else None

    def value(self, event: Any, events: Iterator[Any], path: Where) -> Any:
        mark = event.start_mark
        self.positions.values[path] = (mark.line + 1, mark.column + 1)
        if isinstance(event, yaml.AliasEvent):
            self.note(path, "aliases (*) are not allowed", "Write the lines out again.", f"*{event.anchor}")
            return None
        if event.tag is not None and event.tag != "!":
            self.note(path, "tags (!) are not allowed", "Write the plain value.", event.tag)
        if isinstance(event, yaml.ScalarEvent):
            return None if event.value in ("", "~", "null") and event.implicit[0] else event.value
        if len(path) >= MAX_DEPTH:
            place = self.positions.mistake(path, f"is nested more than {MAX_DEPTH} deep")
            raise InputError([place])
        if isinstance(event, yaml.SequenceStartEvent):
            inside = itertools.takewhile(lambda e: not isinstance(e, yaml.SequenceEndEvent), events)
            return [self.value(item, events, (*path, index)) for index, item in enumerate(inside)]
        return self.mapping(events, path)

    def mapping(self, events: Iterator[Any], path: Where) -> dict[str, Any]:
        tree: dict[str, Any] = {}
        for event in events:
            if isinstance(event, yaml.MappingEndEvent):
                break
            mark = event.start_mark
            here = (mark.line + 1, mark.column + 1)
            if not isinstance(event, yaml.ScalarEvent):
                rule = "the part before a colon must be plain text"
                raise InputError([Mistake(rule, "", self.positions.file, *here, path_text(path))])
            below = (*path, event.value)
            if event.value in tree:
                rule = f"'{event.value}' is written twice"
                first = self.positions.keys[below][0]
                fix = f"Keep one of them (the first is in line {first})."
                self.mistakes.append(Mistake(rule, fix, self.positions.file, *here, path_text(below)))
                self.value(next(events), events, (*path, f"{event.value} (again)"))
                continue
            self.positions.keys[below] = here
            tree[event.value] = self.value(next(events), events, below)
        return tree

    def note(self, path: Where, rule: str, fix: str, value: str) -> None:
        self.mistakes.append(self.positions.mistake(path, rule, fix, value))
