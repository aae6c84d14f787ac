"""Trees of texts written as YAML that people read: short lines of a list on one line, all else line by line.

The opposite of :mod:`mci.scenario.yaml_positions`: what is written here reads back as the same tree.
"""

from __future__ import annotations

import re
import textwrap
from typing import TYPE_CHECKING, Any

import yaml

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

__all__ = ["WIDTH", "write_comment", "write_scalar", "write_tree"]

#: No line is longer, unless a single text is [characters].
WIDTH = 120

#: Keys of the language whose lists and lines are never put on one line.
_LINE_BY_LINE = frozenset(
    {"incident", "batch", "then", "delivery", "brings", "rungs", "places", "roads", "vehicles", "stock"}
    | {"patients", "casualties", "injects", "objectives"}
)
_INDICATORS = "-?:,[]{}#&*!|>'\"%@`+="
_TIDY = re.compile(r"(0|[1-9]\d*)(\.\d+)?|\d{1,2}:\d\d|\d{4}-\d\d(-\d\d)?")
_CLOCK = re.compile(r"\d{1,2}:\d\d")
#: Words that are no texts to programs which read YAML of another version than ours.
_WORDS = frozenset({"y", "n"})


def write_tree(tree: Mapping[str, Any], notes: Mapping[int, str] | None = None) -> str:
    """Write a mapping of sections, each begun on its own line.

    Parameters
    ----------
    tree
        Dicts, lists and texts.
    notes
        Comments by ``id`` of the line of a list that they stand beside.
    """
    sections = [list(_entry(key, value, 0, notes or {})) for key, value in tree.items()]
    lines: list[str] = []
    for number, section in enumerate(sections):
        short = number > 0 and len(section) == len(sections[number - 1]) == 1
        lines += section if short or not lines else ["", *section]
    return "\n".join(lines) + "\n"


def write_comment(text: str, first: str = "", rest: str = "") -> str:
    """Write a paragraph as comment lines; ``first`` and ``rest`` stand before its lines."""
    plain = "".join(sign if sign.isprintable() else " " for sign in text)
    filled = textwrap.wrap(
        plain,
        WIDTH - 2,
        initial_indent=first,
        subsequent_indent=rest,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return "".join(f"# {line}\n" for line in filled) or "#\n"


def write_scalar(text: str, *, inside: bool = False) -> str:
    """Write one text, in quotes where it could be taken for anything else.

    Parameters
    ----------
    inside
        Whether it is a key, or within brackets or braces.
    """
    if _is_plain(text, inside):
        return text
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(sign if sign.isprintable() else f"\\U{ord(sign):08X}" for sign in escaped) + '"'


def _is_plain(text: str, inside: bool) -> bool:
    if not text or text != text.strip() or not text.isprintable() or text[0] in _INDICATORS or text.startswith("..."):
        return False
    if ": " in text or " #" in text or text.endswith(":"):
        return False
    if inside and (set(text) & set(",[]{}?") or (":" in text and not _CLOCK.fullmatch(text))):
        return False
    return bool(_TIDY.fullmatch(text)) or not _is_special(text)


def _is_special(text: str) -> bool:
    """Return whether a program may take plain text for a number, a truth value or nothing."""
    resolvers = yaml.SafeLoader.yaml_implicit_resolvers.get(text[0], [])
    if any(pattern.match(text) for _, pattern in resolvers) or text.lower() in _WORDS:
        return True
    try:
        float(text)
    except ValueError:
        return False
    return True


def _flow(value: Any) -> str:
    """Write a value on one line."""
    if isinstance(value, dict):
        inside = ", ".join(f"{write_scalar(key, inside=True)}: {_flow(each)}" for key, each in value.items())
        return f"{{{inside}}}"
    if isinstance(value, list):
        return f"[{', '.join(map(_flow, value))}]"
    return write_scalar(value, inside=True)


def _is_open(value: Any) -> bool:
    """Return whether a value must be written line by line."""
    if isinstance(value, dict):
        return any(key in _LINE_BY_LINE or _is_open(each) for key, each in value.items())
    return isinstance(value, list) and any(map(_is_open, value))


def _entry(key: str, value: Any, indent: int, notes: Mapping[int, str]) -> Iterator[str]:
    """Yield the lines of a key and its value."""
    head = f"{' ' * indent}{write_scalar(key, inside=True)}:"
    if isinstance(value, str):
        one = f"{head} {write_scalar(value)}"
        if len(one) > WIDTH and value.isprintable() and value == " ".join(value.split()):
            yield f"{head} >-"
            yield from _folded(value, indent + 2)
        else:
            yield one
        return
    lines = bool(value) and (key in _LINE_BY_LINE or _is_open(value) or (indent == 0 and isinstance(value, list)))
    one = f"{head} {_flow(value)}"
    if not lines and (len(one) <= WIDTH or not value):
        yield one
        return
    yield head
    if isinstance(value, list):
        for item in value:
            yield from _item(item, indent + 2, notes)
    else:
        for inner, each in value.items():
            yield from _entry(inner, each, indent + 2, notes)


def _wrapped(item: Any, indent: int) -> Iterator[str]:
    """Yield an item in braces, broken between its keys where it is too long for one line."""
    line = f"{' ' * indent}- {_flow(item)}"
    if len(line) <= WIDTH or not isinstance(item, dict):
        yield line
        return
    line = f"{' ' * indent}- {{"
    for number, (key, value) in enumerate(item.items(), start=1):
        part = _flow({key: value})[1:-1] + ("," if number < len(item) else "}")
        if len(line) + 1 + len(part) > WIDTH:
            yield line.rstrip()
            line = " " * (indent + 2)
        line += f" {part}" if not line.endswith("{") else part
    yield line


def _folded(text: str, indent: int) -> list[str]:
    return [
        " " * indent + line
        for line in textwrap.wrap(text, WIDTH - indent, break_long_words=False, break_on_hyphens=False)
    ]


def _item(item: Any, indent: int, notes: Mapping[int, str]) -> Iterator[str]:
    """Yield the lines of one item of a list, with its comment at the end of the first or before it."""
    pad = " " * indent
    if isinstance(item, dict) and _is_open(item):
        inner = [line for key, value in item.items() for line in _entry(key, value, indent + 2, notes)]
        lines = [f"{pad}- {inner[0].lstrip()}", *inner[1:]]
    else:
        lines = list(_wrapped(item, indent))
    note = "".join(sign if sign.isprintable() else " " for sign in notes.get(id(item), ""))
    if note and len(lines[0]) + 4 + len(note) > WIDTH:
        yield f"{pad}# {note}"
    elif note:
        lines[0] = f"{lines[0]}   # {note}"
    yield from lines
