"""Ladders read from YAML, every mistake with its line."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

from mci.catalogue.model import Basis, Ladder, Rung, Source
from mci.catalogue.nodes import BadEntryError, compose, fields_of, items_of, text_of
from mci.catalogue.rungs import SETTING_NAMES, make_rung
from mci.units import UnitError, parse_flow, parse_number

if TYPE_CHECKING:
    from collections.abc import Mapping

    import yaml

    from mci.catalogue.model import Device
    from mci.errors import Mistake

__all__ = ["read_ladders"]


def read_ladders(file: str, text: str, devices: Mapping[str, Device], mistakes: list[Mistake]) -> dict[str, Ladder]:
    """Return the ladders of a YAML text by key, and add what is wrong to ``mistakes``."""
    ladders: dict[str, Ladder] = {}
    for key, node in compose(file, text, "ladders by name", mistakes):
        try:
            ladders[key] = _ladder(key, node, devices)
        except BadEntryError as error:
            mistakes.append(error.mistake(file))
    return ladders


def _ladder(key: str, node: yaml.Node, devices: Mapping[str, Device]) -> Ladder:
    fields = fields_of(node, required={"title", "source", "rungs"}, allowed=set())
    nodes = items_of(fields["rungs"], f"the rungs of {key}")
    rungs = tuple(_rung(node, devices) for node in nodes)
    for (upper, lower), at in zip(itertools.pairwise(rungs), nodes[1:], strict=True):
        if lower.credit >= upper.credit:
            raise BadEntryError(at, f"the credits of {key} must fall from rung to rung")
    return Ladder(key, text_of(fields["title"]), rungs, Source(text_of(fields["source"]), Basis.ASSUMPTION))


def _rung(node: yaml.Node, devices: Mapping[str, Device]) -> Rung:
    fields = fields_of(node, required={"device", "credit"}, allowed={*SETTING_NAMES.values(), "fio2"})
    device = devices.get(text_of(fields["device"]))
    if device is None:
        raise BadEntryError(node, f"the device {text_of(fields['device'])!r} is not in the catalogue")
    setting = SETTING_NAMES[device.rule]
    if set(fields) & set(SETTING_NAMES.values()) != {setting}:
        raise BadEntryError(node, f"what is set on {device.key} is its {setting}")
    try:
        fio2 = parse_number(text_of(fields["fio2"])) if "fio2" in fields else None
        return make_rung(device, parse_flow(text_of(fields[setting])), parse_number(text_of(fields["credit"])), fio2)
    except UnitError as error:
        raise BadEntryError(node, f"a value of this rung {error}") from None
    except ValueError as error:
        raise BadEntryError(node, f"this rung {error}") from None
