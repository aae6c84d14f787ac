"""An inspection finds every fault that is planted, and nothing in a cache that is right."""

from __future__ import annotations

import datetime
import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_inventory import ON, Rows, clean_cylinders, clean_equipment, inspected, trailer, write_book, write_cache

from mci.catalogue.find import find_cylinder
from mci.catalogue.usable import usable_litres
from mci.scenario import read_scenario
from mci.stocking.inspection import Asked, inspect
from mci.stocking.inspection_cover import parse_load
from mci.stocking.inspection_file import read_inventory
from mci.stocking.inspection_result import FaultKind, Inspection

#: The ten faults that are planted in the bundled trailer: sheet and row, what it is, kind, and a part of the reason.
PLANTED = {
    ("cylinders", 5): ("FT-04", FaultKind.LOW, "430 psi is below the in-service minimum of 500 psi"),
    ("cylinders", 8): ("FT-07", FaultKind.TEST_OVERDUE, "was due on 2026-03-31"),
    ("cylinders", 10): ("FT-09", FaultKind.ABOVE_FULL, "2450 psi is above full (2015 psi)"),
    ("cylinders", 12): ("FT-11", FaultKind.NO_TEST, "no date"),
    ("cylinders", 15): ("FT-14", FaultKind.TEST_AHEAD, "2026-11-30 lies in the future"),
    ("cylinders", 17): ("FT-16", FaultKind.NO_GAUGE, "gauge"),
    ("cylinders", 19): ("FT-13", FaultKind.TWICE, "stands in row 14 too"),
    ("cylinders", 21): ("FT-20", FaultKind.WRONG_VALVE, "bullnose"),
    ("equipment", 5): ("manifold 6 outlets", FaultKind.CONDITION, "hose cracked"),
    ("equipment", 7): ("non-rebreather", FaultKind.EXPIRED, "expired on 2025-12-31"),
}


def kinds_of(found: Inspection) -> list[FaultKind]:
    return [fault.kind for _, fault in found.findings]


def _check(cylinders: Rows, equipment: Rows | None) -> Inspection:
    with tempfile.TemporaryDirectory() as folder:
        return inspected(Path(folder), cylinders, equipment)


def test_ten_planted_faults_are_found_and_nothing_else() -> None:
    """In the bundled trailer; what looks wrong beside them is right: 500 psi, the last month of a test, a star."""
    found = {
        (item.listed.file.rpartition("sheet ")[2], item.listed.row): (item.name, fault.kind, fault.why)
        for item, fault in trailer().findings
    }
    assert found.keys() == PLANTED.keys()
    assert len(trailer().findings) == len(PLANTED) == len({kind for _, kind, _ in PLANTED.values()}) == 10
    for place, (name, kind, why) in PLANTED.items():
        assert found[place][:2] == (name, kind)
        assert why in found[place][2]


@settings(max_examples=30)
@given(clean_cylinders(), clean_equipment())
def test_cache_that_is_right_has_no_finding(cylinders: Rows, equipment: Rows) -> None:
    """Whatever it holds: nothing to mend, and all litres are on hand."""
    found = _check(cylinders, equipment)
    assert found.findings == ()
    assert found.fixes == ()
    assert found.litres_unfit == 0
    assert found.cover == found.cover_mended


def _put(column: str, value: str) -> Callable[[Rows, Rows], None]:
    return lambda cylinders, _: cylinders[-1].update({column: value})


def _put_there(column: str, value: str) -> Callable[[Rows, Rows], None]:
    return lambda _, equipment: equipment[-1].update({column: value})


def _above_full(cylinders: Rows, _: Rows) -> None:
    cylinders[-1]["pressure"] = f"{find_cylinder(cylinders[-1]['cylinder']).full_psi * 1.11:.0f} psi"


def _again(cylinders: Rows, _: Rows) -> None:
    cylinders.append({**cylinders[0], "id": f" {cylinders[0]['id'].lower()}"})


def _foreign_valve(cylinders: Rows, equipment: Rows) -> None:
    """Keep bullnose cylinders and what fits them out, then put a bullnose valve on another cylinder."""
    from mci.catalogue.load import load_catalogue

    sets = load_catalogue().outlet_sets
    equipment[:] = [row for row in equipment if row["item"] not in sets or "bullnose" not in sets[row["item"]].fits]
    equipment += [
        {"item": item, "count": "1"} for item in ("yoke regulator 0-15 L/min", "threaded regulator 0-15 L/min")
    ]
    cylinders[:] = [row for row in cylinders if find_cylinder(row["cylinder"]).valve != "bullnose"]
    cylinders.append({"id": "X", "cylinder": "US E", "pressure": "full", "test date": "2025-01", "valve": "bullnose"})


def _no_regulator(cylinders: Rows, equipment: Rows) -> None:
    """The same, with a cylinder that always has such a valve."""
    _foreign_valve(cylinders, equipment)
    cylinders[-1] = {"id": "X", "cylinder": "UK F", "pressure": "full", "test date": "2025-01"}


MUTATIONS: dict[FaultKind, Callable[[Rows, Rows], None]] = {
    FaultKind.LOW: _put("pressure", "499 psi"),
    FaultKind.ABOVE_FULL: _above_full,
    FaultKind.NO_GAUGE: _put("pressure", "unreadable"),
    FaultKind.NO_TEST: _put("test date", ""),
    FaultKind.TEST_AHEAD: _put("test date", "2026-06-01"),
    FaultKind.TEST_OVERDUE: lambda cylinders, _: cylinders[-1].update({"test date": "2021-04-30", "interval": "5"}),
    FaultKind.NO_SIZE: _put("cylinder", "?"),
    FaultKind.NO_SERIAL: _put("id", ""),
    FaultKind.TWICE: _again,
    FaultKind.WRONG_VALVE: _foreign_valve,
    FaultKind.NO_REGULATOR: _no_regulator,
    FaultKind.CONDITION: _put("condition", "dent below the collar"),
    FaultKind.EXPIRED: _put_there("expiry", "2026-04-30"),
    FaultKind.NO_EXPIRY: _put_there("expiry", "unreadable"),
}


@pytest.mark.parametrize("kind", list(FaultKind))
@settings(max_examples=5)
@given(cylinders=clean_cylinders(), equipment=clean_equipment())
def test_one_planted_fault_is_found_and_nothing_else(kind: FaultKind, cylinders: Rows, equipment: Rows) -> None:
    """Every kind, in any cache that is otherwise right; mending it is the one thing to do."""
    MUTATIONS[kind](cylinders, equipment)
    found = _check(cylinders, equipment)
    assert kinds_of(found) == [kind]
    (fix,) = found.fixes
    assert [fault.kind for fault in fix.faults] == [kind]
    assert fix.mend
    assert fix.minutes == pytest.approx(found.cover_mended.minutes - found.cover.minutes, abs=1e-4)


@settings(max_examples=12)
@given(clean_cylinders(), clean_equipment(), st.data())
def test_mending_never_costs_anything(cylinders: Rows, equipment: Rows, data: st.DataObject) -> None:
    """Several faults: no fix takes minutes, patients or litres; all of them bring at least what the best one does."""
    for row in cylinders:
        row.update(data.draw(st.sampled_from([{}, {"pressure": "300 psi"}, {"condition": "leaks"}, {"test date": ""}])))
    for row in equipment:
        row.update(data.draw(st.sampled_from([{}, {}, {"condition": "bent"}])))
    found = _check(cylinders, equipment)
    assert all(fix.minutes >= 0 and fix.patients >= 0 and fix.litres >= 0 for fix in found.fixes)
    gains = [round(fix.minutes, 6) for fix in found.fixes]
    assert gains == sorted(gains, reverse=True)
    assert found.cover_mended.minutes - found.cover.minutes >= max(gains, default=0.0) - 1e-4
    assert found.cover_mended.connected >= found.cover.connected


def test_litres_on_hand_are_those_of_the_gauges() -> None:
    """Fit ones and unfit ones apart, each by the catalogue's model above 200 psi, up to full where one reads more."""
    found, e = trailer(), find_cylinder("US E")
    by_name = {(item.name, item.listed.row): item for item in found.cylinders}
    assert by_name["FT-01", 2].litres == pytest.approx(usable_litres(e, 2015))
    assert by_name["FT-06", 7].litres == pytest.approx(usable_litres(e, 2190, temperature_c=38))
    assert by_name["FT-09", 10].litres == pytest.approx(usable_litres(e, 2015))
    assert by_name["FT-16", 17].litres == 0
    assert by_name["FT-04", 5].litres_mended == pytest.approx(usable_litres(e, 2015))
    assert found.litres_fit + found.litres_unfit == pytest.approx(sum(item.litres for item in found.cylinders))
    assert found.litres_unfit == pytest.approx(sum(i.litres for i in found.cylinders if i.faults))


def test_what_is_due_soon_is_told_and_is_no_finding() -> None:
    """A test that counts to the end of the month, masks that expire in 60 days; one day less and they are not told."""
    found = trailer()
    assert [(one.name, one.due, one.days) for one in found.soon] == [
        ("FT-03 (US E aluminium)", datetime.date(2026, 5, 31), 30),
        ("8 × child non-rebreather", datetime.date(2026, 6, 30), 60),
    ]
    ahead = {days: len(inspect(found.inventory, Asked(on=ON, soon_days=days)).soon) for days in (60, 59, 30, 29)}
    assert ahead == {60: 2, 59: 1, 30: 1, 29: 0}


def test_the_last_day_of_a_test_still_counts() -> None:
    """It is told as due today; a day later the cylinder is not fit."""
    row = {"id": "1", "cylinder": "US E", "pressure": "full", "test date": "2021-05-01"}
    found = _check([row], None)
    assert found.findings == ()
    assert [one.days for one in found.soon] == [0]
    late = inspect(found.inventory, Asked(on=ON + datetime.timedelta(days=1)))
    assert kinds_of(late) == [FaultKind.TEST_OVERDUE]
    assert late.soon == ()


def test_what_helps_most_comes_first() -> None:
    """The manifold frees the big cylinders from their four outlets; litres that no outlet draws bring no minutes."""
    fixes = trailer().fixes
    assert fixes[0].items == "1 × manifold 6 outlets"
    assert fixes[0].minutes > 60
    assert fixes[-1].items == "10 × non-rebreather"
    (loan,) = [fix for fix in fixes if fix.items.startswith("FT-20")]
    assert loan.minutes == pytest.approx(0, abs=1e-6)
    assert loan.litres > 1000


def test_inventory_of_a_scenario_is_inspected_as_the_scenario_judges_it() -> None:
    """The same file, the same day: the same cylinders are left out, for the same reasons."""
    folder = Path(__file__).parents[2] / "scenarios"
    scenario = read_scenario(folder / "tunnel-fire.yaml")
    found = inspect(read_inventory([folder / "tunnel-fire-cylinders.csv"]), Asked(on=ON))
    told = [(f"{item.name} ({item.kind})", fault.why) for item, fault in found.findings]
    assert told == [(left.what, left.why) for left in scenario.left_out]
    units = {unit.id: unit.litres for lot in scenario.lots for unit in lot.units}
    assert {item.name: item.litres for item in found.cylinders if not item.faults} == pytest.approx(units)


def test_without_equipment_outlets_are_not_judged() -> None:
    """Litres alone limit the cover, and no valve is missed."""
    row = {"id": "1", "cylinder": "UK F", "pressure": "full", "test date": "2025-01"}
    found = _check([row], None)
    assert found.equipment is None
    assert found.findings == ()
    assert found.cover.minutes == found.cover.by_litres > 0
    assert kinds_of(_check([row], [])) == [FaultKind.NO_REGULATOR]


def test_regulator_that_is_not_fit_fits_nothing() -> None:
    """Its cylinders are useless with it; mending it brings both back, and so would another one."""
    cylinders = [{"id": "1", "cylinder": "US E", "pressure": "full", "test date": "2025-01"}]
    bent = [{"item": "yoke regulator 0-15 L/min", "count": "1", "condition": "bent"}]
    with tempfile.TemporaryDirectory() as folder:
        found = inspected(Path(folder), cylinders, bent, load=parse_load("1 x 10 L/min"))
    assert kinds_of(found) == [FaultKind.NO_REGULATOR, FaultKind.CONDITION]
    assert "what would fit is not fit for service" in found.findings[0][1].why
    assert [round(fix.litres) for fix in found.fixes] == [508, 508]
    assert [round(fix.minutes, 1) for fix in found.fixes] == [50.8, 50.8]


def test_days_and_limits_can_be_set() -> None:
    """A later day makes tests overdue, a lower minimum lets a low cylinder in, without a day it is today."""
    inventory = trailer().inventory
    late = inspect(inventory, Asked(on=datetime.date(2040, 1, 1)))
    assert kinds_of(late).count(FaultKind.TEST_OVERDUE) == 23
    assert FaultKind.LOW not in kinds_of(inspect(inventory, Asked(on=ON, minimum=400.0)))
    assert inspect(inventory).is_today
    assert not trailer().is_today


@settings(max_examples=5)
@given(clean_cylinders(), clean_equipment())
def test_workbook_and_csv_files_are_the_same(cylinders: Rows, equipment: Rows) -> None:
    """Rows, and so findings and litres, do not depend on the kind of file."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        tables = read_inventory(write_cache(folder, cylinders, equipment))
        book = read_inventory([write_book(folder / "cache.xlsx", cylinders, equipment)])
    assert [row for _, row in book.cylinders] == [row for _, row in tables.cylinders]
    assert [row for _, row in book.equipment or ()] == [row for _, row in tables.equipment or ()]
