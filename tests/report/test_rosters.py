"""Rosters written and read back: the same people, the same litres."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
import yaml

import mci
from mci.demand.people import Person, name_people
from mci.plan.things import find_supplies
from mci.report.data_files import csv_text
from mci.report.rosters import cylinder_roster, patient_roster
from mci.report.workbook import workbook_bytes

if TYPE_CHECKING:
    from mci.pipeline import Run
    from mci.scenario.model import Scenario

SCENARIOS = Path(mci.__file__).resolve().parents[1] / "scenarios"
NAMES = sorted(file.stem for file in SCENARIOS.glob("*.yaml"))


def with_rosters(file: Path, folder: Path, patients: dict[str, str], cylinders: dict[str, str]) -> Path:
    """Write a scenario that takes its people and its cylinders from the tables instead."""
    tree: Any = yaml.load(file.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)  # noqa: S506  # keeps all as text
    tree["patients"] = [patients]
    others = [line for line in tree["supplies"] if not {"cylinder", "inventory"} & set(line)]
    tree["supplies"] = [*others, cylinders]
    tree["incident"].setdefault("inspection date", "2026-03-02")
    tree.pop("exercise", None)  # its casualties are in the table
    tree.pop("uncertain", None)  # names numbers by their batches, which rosters take apart
    target = folder / "again.yaml"
    target.write_text(yaml.safe_dump(tree, allow_unicode=True), encoding="utf-8")
    return target


def same_people(first: Scenario, second: Scenario) -> None:
    """Require everybody to be there again, in the same place at the same time with the same need."""
    for one, two in zip(name_people(first), name_people(second), strict=True):
        assert one.key == two.key
        for before, after in zip(one.stays, two.stays, strict=True):
            assert (before.area, before.category, before.ladder) == (after.area, after.category, after.ladder)
            assert (before.start, before.end) == pytest.approx((after.start, after.end), abs=1e-6)


def hurt(scenario: Scenario) -> list[str]:
    """Return how each patient was hurt, in their order."""
    return [batch.mechanism for batch in scenario.patients for _ in range(batch.count)]


def litres(scenario: Scenario) -> dict[str, tuple[str, float, float]]:
    """Return area, litres and time to change of every cylinder that is there from the start, by name."""
    found = (s for s in find_supplies(scenario) if s.must_be_opened and not s.lot.delivery)
    return {s.key: (s.lot.area, pytest.approx(s.litres, abs=1e-4), pytest.approx(s.lot.change_min)) for s in found}


@pytest.mark.parametrize("name", NAMES)
def test_csv_rosters_give_the_same_incident(name: str, tmp_path: Path) -> None:
    """Every bundled incident comes back from patients.csv and cylinders.csv: people, litres, times to change."""
    first = mci.read_scenario(SCENARIOS / f"{name}.yaml")
    for table in (patient_roster(first), cylinder_roster(first)):
        (tmp_path / f"{table.name}.csv").write_text(csv_text(table), encoding="utf-8", newline="")
    lines = {"roster": "patients.csv"}, {"inventory": "cylinders.csv"}
    second = mci.read_scenario(with_rosters(SCENARIOS / f"{name}.yaml", tmp_path, *lines))
    same_people(first, second)
    assert hurt(second) == hurt(first)
    assert litres(second) == litres(first)
    assert len(litres(second)) > 1


@pytest.fixture(scope="module")
def tunnel() -> Run:
    """The tunnel fire, planned, without further questions."""
    return mci.run(mci.read_scenario(SCENARIOS / "tunnel-fire.yaml"), further=False)


def test_workbook_rosters_give_the_same_incident(tunnel: Run, tmp_path: Path) -> None:
    """The sheets of the workbook read back likewise, and written again they are the same."""
    (tmp_path / "plan.xlsx").write_bytes(workbook_bytes(tunnel))
    rosters = {"roster": "plan.xlsx", "sheet": "patients"}, {"inventory": "plan.xlsx", "sheet": "cylinders"}
    second = mci.read_scenario(with_rosters(SCENARIOS / "tunnel-fire.yaml", tmp_path, *rosters))
    same_people(tunnel.scenario, second)
    assert litres(second) == litres(tunnel.scenario)
    assert patient_roster(second) == patient_roster(tunnel.scenario)
    assert set(cylinder_roster(second).rows) == set(cylinder_roster(tunnel.scenario).rows)


def test_names_like_formulas_come_back(tmp_path: Path) -> None:
    """A patient called ``=1+1`` is made safe in the CSV and has the same name when read back."""
    first = mci.read_scenario(SCENARIOS / "by-hand.yaml")
    nasty = tuple(dataclasses.replace(p, label=f"={number}+1") for number, p in enumerate(first.patients))
    changed = dataclasses.replace(first, patients=nasty)
    for table in (patient_roster(changed), cylinder_roster(changed)):
        (tmp_path / f"{table.name}.csv").write_text(csv_text(table), encoding="utf-8", newline="")
    assert ",=" not in (tmp_path / "patients.csv").read_text(encoding="utf-8").replace("\n", ",")
    lines = {"roster": "patients.csv"}, {"inventory": "cylinders.csv"}
    second = mci.read_scenario(with_rosters(SCENARIOS / "by-hand.yaml", tmp_path, *lines))

    def keys(scenario: Scenario) -> list[str]:
        return [person.key for person in name_people(scenario) if isinstance(person, Person)]

    assert keys(second) == keys(changed)


def test_what_holds_for_one_lot_only_comes_back(tmp_path: Path) -> None:
    """Residual, gas model, temperature and time to change of single lots are in the roster of their cylinders."""
    text = (SCENARIOS / "ferry-fire.yaml").read_text(encoding="utf-8")
    own = "residual: 300 psi, gas model: real gas, change: 8 min, temperature: 35 C, "
    file = tmp_path / "own.yaml"
    file.write_text(text.replace("{cylinder: US E aluminium, ", f"{{cylinder: US E aluminium, {own}"), encoding="utf-8")
    first = mci.read_scenario(file)
    for table in (patient_roster(first), cylinder_roster(first)):
        (tmp_path / f"{table.name}.csv").write_text(csv_text(table), encoding="utf-8", newline="")
    lines = {"roster": "patients.csv"}, {"inventory": "cylinders.csv"}
    second = mci.read_scenario(with_rosters(file, tmp_path, *lines))
    assert litres(second) == litres(first)
    assert {lot.residual_psi for lot in second.lots if lot.change_min == 8} == {300.0}
    assert litres(first) != litres(mci.read_scenario(SCENARIOS / "ferry-fire.yaml"))
