"""Devices that come in with patients: by hand, and never more than the other areas have had."""

from __future__ import annotations

import dataclasses

from incidents import ladder, patients, scenario

from mci.demand.groups import count_demand
from mci.scenario.model import Scenario, Spell


def _moving(masks: float, *then: Spell) -> Scenario:
    """Return three patients who begin with a mask at area a."""
    return scenario(
        horizon=60,
        ladders=[ladder("wear", ("mask", 10, 1.0), single_use=True), ladder("other", ("cannula", 4, 1.0))],
        patients=[patients(3, "wear", then=then)],
        lots=[],
        devices={("a", "mask"): masks, ("b", "mask"): 9},
        areas=("a", "b"),
    )


def _brought(incident: Scenario) -> dict[tuple[str, str], list[float]]:
    return {place: counts.tolist() for place, counts in count_demand(incident).brought.items()}


def test_whoever_moves_may_bring_a_mask() -> None:
    """Three move to b at T+20 with a mask on their ladder before; a had five masks."""
    assert _brought(_moving(5, Spell(20, "b", "immediate", "other"))) == {("b", "mask"): [0, 3]}


def test_not_more_than_there_were() -> None:
    """The same, but a had two masks."""
    assert _brought(_moving(2, Spell(20, "b", "immediate", "wear"))) == {("b", "mask"): [0, 2]}


def test_a_change_of_need_in_one_area_brings_nothing() -> None:
    """A new ladder at the same place brings no device from elsewhere."""
    assert _brought(_moving(5, Spell(20, "a", "delayed", "other"))) == {}


def test_to_and_fro() -> None:
    """To b and back: a's own masks that come back are not counted as brought, unless b had them on a ladder."""
    there, back = Spell(20, "b", "immediate", "other"), Spell(40, "a", "immediate", "wear")
    assert _brought(_moving(5, there, back)) == {("b", "mask"): [0, 3, 3], ("a", "cannula"): [0, 0, 3]}
    wearing = dataclasses.replace(there, ladder="wear")
    assert _brought(_moving(5, wearing, back)) == {("b", "mask"): [0, 3, 3], ("a", "mask"): [0, 0, 3]}
