"""Ladders read from YAML, every mistake with its line."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import yaml

from mci.catalogue.model import Basis, Ladder, Rung, Source
from mci.catalogue.rungs import SETTING_NAMES, make_rung
from mci.errors import Mistake
from mci.units import UnitError, parse_flow, parse_number

if TYPE_CHECKING:
    from collections.abc import Mapping

    from mci.catalogue.model import Device

__all__ = ["read_ladders"]


class _BadEntryError(ValueError):
    """An entry that cannot be used, with the node where it stands."""

    def __init__(self, node: yaml.Node, rule: str) -> None:
        super().__init__(rule)
        self.line = node.start_mark.line + 1


def read_ladders(file: str, text: str, devices: Mapping[str, Device], mistakes: list[Mistake]) -> dict[str, Ladder]:
    """Return the ladders of a YAML text by key, and add what is wrong to ``mistakes``."""
    try:
        root = yaml.compose(text, Loader=yaml.SafeLoader)
    except yaml.MarkedYAMLError as error:
        line = error.problem_mark.line + 1 if error.problem_mark else 0
        mistakes.append(Mistake(f"is not YAML: {error.problem}", file=file, line=line))
        return {}
    ladders: dict[str, Ladder] = {}

    def note(error: _BadEntryError) -> None:
        mistakes.append(Mistake(str(error), file=file, line=error.line))

    try:
        entries = _entries(root, "ladders by name") if root else []
    except _BadEntryError as error:
        note(error)
        return {}
    for key, node in entries:
        try:
            ladders[key] = _ladder(key, node, devices)
        except _BadEntryError as error:
            note(error)
    return ladders


def _ladder(key: str, node: yaml.Node, devices: Mapping[str, Device]) -> Ladder:
    fields = _fields(node, required={"title", "source", "rungs"}, allowed=set())
    rungs_node = fields["rungs"]
    if not isinstance(rungs_node, yaml.SequenceNode) or not rungs_node.value:
        raise _BadEntryError(rungs_node, f"the rungs of {key} must be a list")
    rungs = tuple(_rung(rung, devices) for rung in rungs_node.value)
    for (upper, lower), at in zip(itertools.pairwise(rungs), rungs_node.value[1:], strict=True):
        if lower.credit >= upper.credit:
            raise _BadEntryError(at, f"the credits of {key} must fall from rung to rung")
    return Ladder(key, _text(fields["title"]), rungs, Source(_text(fields["source"]), Basis.ASSUMPTION))


def _rung(node: yaml.Node, devices: Mapping[str, Device]) -> Rung:
    fields = _fields(node, required={"device", "credit"}, allowed={*SETTING_NAMES.values(), "fio2"})
    device = devices.get(_text(fields["device"]))
    if device is None:
        raise _BadEntryError(node, f"the device {_text(fields['device'])!r} is not in the catalogue")
    setting = SETTING_NAMES[device.rule]
    if set(fields) & set(SETTING_NAMES.values()) != {setting}:
        raise _BadEntryError(node, f"what is set on {device.key} is its {setting}")
    try:
        fio2 = parse_number(_text(fields["fio2"])) if "fio2" in fields else None
        return make_rung(device, parse_flow(_text(fields[setting])), parse_number(_text(fields["credit"])), fio2)
    except UnitError as error:
        raise _BadEntryError(node, f"a value of this rung {error}") from None
    except ValueError as error:
        raise _BadEntryError(node, f"this rung {error}") from None


def _entries(node: yaml.Node, what: str) -> list[tuple[str, yaml.Node]]:
    if not isinstance(node, yaml.MappingNode):
        raise _BadEntryError(node, f"must hold {what}")
    entries = [(_text(key), value) for key, value in node.value]
    names = [name for name, _ in entries]
    for at, (name, value) in enumerate(entries):
        if name in names[:at]:
            raise _BadEntryError(value, f"the key {name} is there twice")
    return entries


def _fields(node: yaml.Node, *, required: set[str], allowed: set[str]) -> dict[str, yaml.Node]:
    known = ", ".join(sorted(required | allowed))
    fields = dict(_entries(node, f"the keys {known}"))
    for key in sorted(required - set(fields)):
        raise _BadEntryError(node, f"the key {key} is missing")
    for key in sorted(set(fields) - required - allowed):
        raise _BadEntryError(fields[key], f"the key {key} is not known; known are {known}")
    return fields


def _text(node: yaml.Node) -> str:
    if not isinstance(node, yaml.ScalarNode):
        raise _BadEntryError(node, "must be a single value")
    return str(node.value)
