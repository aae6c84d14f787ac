"""Single things by name."""

from __future__ import annotations

import dataclasses

import pytest
from incidents import concentrators, cylinders, ladder, patients, regulator, scenario

from mci.plan.things import ANYONE, find_handlers, find_regulators, find_supplies
from mci.scenario.model import Scenario, StaffShift, Unit


def _incident(**changes: object) -> Scenario:
    incident = scenario(
        horizon=60,
        ladders=[ladder("l", ("mask", 10, 1.0))],
        patients=[patients(1, "l")],
        lots=[cylinders(3, 400, key="row"), cylinders(1, 100, key="one"), concentrators(2)],
        regulators=[regulator(2)],
    )
    return dataclasses.replace(incident, **changes)


def test_units_of_a_lot_are_numbered_and_share_its_litres() -> None:
    """Three cylinders of 400 L are three supplies; a single one bears the key of its lot."""
    found = {supply.key: supply.litres for supply in find_supplies(_incident()) if supply.must_be_opened}
    assert found == {"row 1": 400, "row 2": 400, "row 3": 400, "one": 100}
    assert [each.key for each in find_regulators(_incident())] == ["a-reg 1", "a-reg 2"]


def test_cylinders_of_an_inventory_keep_their_marks() -> None:
    """Each with its own gauge and litres."""
    lot = dataclasses.replace(cylinders(2, 300), litres=500.0, units=(Unit("K-1", 1500, 300), Unit("K-2", 1000, 200)))
    found = find_supplies(_incident(lots=(lot,)))
    assert [(supply.key, supply.gauge_psi, supply.litres) for supply in found] == [
        ("K-1", 1500, 300),
        ("K-2", 1000, 200),
    ]


@pytest.mark.parametrize(
    ("people", "names"), [(2.0, ["s 1", "s 2"]), (1.0, ["s"]), (0.5, []), (float("inf"), [ANYONE])]
)
def test_people_are_whole(people: float, names: list[str]) -> None:
    """Half a person changes no cylinder; where there is no limit anyone does."""
    found = find_handlers(_incident(staff=(StaffShift("s", "a", people, 10, 50),)))
    assert [handler.key for handler in found] == names
    assert all((handler.available_from, handler.available_until) == (10, 50) for handler in found)
