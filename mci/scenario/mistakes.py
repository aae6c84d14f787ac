"""Turns what the schema refuses into mistakes that say where, what rule, and how to mend it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from mci.scenario.known import Known, Wrong, nearest

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from pydantic import ValidationError

    from mci.errors import Mistake
    from mci.scenario.yaml_positions import Where

    Place = Callable[..., Mistake]

__all__ = ["place_in_tree", "tell"]

_SHAPES = {
    "dict_type": "must be a mapping: lines of 'key: value'",
    "model_type": "must be a mapping: lines of 'key: value'",
    "model_attributes_type": "must be a mapping: lines of 'key: value'",
    "list_type": "must be a list: lines that begin with '- '",
    "too_short": "must not be empty",
}


def place_in_tree(loc: tuple[Any, ...]) -> tuple[Where, bool]:
    """Return the path in the file that the schema's own path means, and whether it is a key that is wrong."""
    parts = tuple(p for p in loc if not (isinstance(p, str) and p.startswith("<") and p.endswith(">")))
    if parts and parts[-1] == "[key]":
        return parts[:-1], True
    return parts, False


def at_path(tree: Any, path: Where) -> Any:
    """Return what is written at a path, ``None`` where nothing is."""
    for part in path:
        try:
            tree = tree[part]
        except (KeyError, IndexError, TypeError):
            return None
    return tree


def tell(error: ValidationError, tree: Any, known: Known, place: Place, base: Where = ()) -> list[Mistake]:
    """Return one mistake per error of the schema.

    Parameters
    ----------
    tree
        What was checked, as read.
    place
        ``Positions.mistake``, or the same of a table.
    base
        Path of ``tree`` inside the file.
    """
    told = []
    for found in error.errors(include_url=False):
        path, at_key = place_in_tree(found["loc"])
        if not _follows_from_another(found["type"], path, tree, known):
            told.append(_one(found, base, path, at_key, tree, known, place))
    return told


def _one(found: Any, base: Where, path: Where, at_key: bool, tree: Any, known: Known, place: Place) -> Mistake:
    kind, value = found["type"], at_path(tree, path)
    full = (*base, *path)
    shown = path[-1] if at_key else value
    text = shown if isinstance(shown, str) else None
    cause = found.get("ctx", {}).get("error")
    if kind == "extra_forbidden":
        rule, fix = f"'{path[-1]}' is not a word that can stand here", _hint(str(path[-1]), path, tree, known)
        return place(full, rule, fix, key=True)
    if kind == "missing":
        meaning = _keys(path, tree, known).get(str(path[-1]), "")
        return place(full, f"'{path[-1]}' is missing", meaning, key=True)
    if kind == "begins_with":
        return _nameless(found, full, value, place)
    if kind == "is_one_of":
        return _kindless(found, full, value, place)
    if isinstance(cause, Wrong):
        return place(full, str(cause), cause.fix, text, key=at_key)
    rule = str(cause) if cause is not None else _SHAPES.get(kind, found["msg"])
    return place(full, rule, "", text, key=at_key)


def _nameless(found: Any, full: Where, value: Any, place: Place) -> Mistake:
    words: list[str] = found["ctx"]["words"].split(",")
    rule = found["msg"]
    if isinstance(value, dict):
        for key in value:
            hint = nearest(str(key), words)
            if hint.startswith("Did"):
                return place((*full, key), f"'{key}' is not a word that can stand here", hint, key=True)
        return place(full, rule, "")
    return place(full, "must be a mapping: lines of 'key: value'", "", value if isinstance(value, str) else None)


def _kindless(found: Any, full: Where, value: Any, place: Place) -> Mistake:
    """Return the mistake of a line whose kind is not known, or not said."""
    key, kinds = found["ctx"]["key"], found["ctx"]["kinds"].split(",")
    if not isinstance(value, dict):
        return place(full, "must be a mapping: lines of 'key: value'", "", value if isinstance(value, str) else None)
    if key not in value:
        misspelt = next((each for each in value if nearest(str(each), [key]).startswith("Did")), None)
        if misspelt is not None:
            return place((*full, misspelt), f"'{misspelt}' is not a word that can stand here",
                         nearest(str(misspelt), [key]), key=True)  # fmt: skip
        return place((*full, key), f"'{key}' is missing", f"One of: {', '.join(kinds)}.", key=True)
    text = value[key] if isinstance(value[key], str) else None
    return place((*full, key), found["msg"], nearest(text, kinds) if text else "", text)


def _keys(path: Where, tree: Any, known: Known) -> Mapping[str, str]:
    return known.shapes.get(id(at_path(tree, path[:-1])), {})


def _hint(word: str, path: Where, tree: Any, known: Known) -> str:
    return nearest(word, _keys(path, tree, known))


def _follows_from_another(kind: str, path: Where, tree: Any, known: Known) -> bool:
    """Whether a missing key is only missing because it is misspelt, which is told already."""
    if kind != "missing":
        return False
    parent = at_path(tree, path[:-1])
    keys = _keys(path, tree, known)
    unknown = [k for k in parent if k not in keys] if isinstance(parent, dict) else []
    return any(nearest(word, keys) == f"Did you mean '{path[-1]}'?" for word in unknown)
