"""Cylinder by cylinder: who is fit for service, why the others are left out, and what is pooled."""

from __future__ import annotations

import datetime

import pytest

from mci.catalogue.find import find_cylinder
from mci.catalogue.usable import usable_litres
from mci.errors import InputError
from mci.scenario import read_scenario
from mci.scenario.fitness import due_date

HEADER = "id,cylinder,pressure,area,test date,star,temperature\n"


def _read(write, right, rows: str):
    text = right.replace("regulators:\n", "  - {inventory: inv.csv}\nregulators:\n")
    return read_scenario(write(text, inv__csv=HEADER + rows))


@pytest.mark.parametrize(
    ("row", "why"),
    [
        ("1,US E,2000 psi,west,2024-05-01,,", ""),
        ("1,US E,500 psi,west,2024-05-01,,", ""),
        ("1,US E,499 psi,west,2024-05-01,,", "below the in-service minimum of 500 psi"),
        ("1,US E,2000 psi,west,2021-05-01,,", ""),
        ("1,US E,2000 psi,west,2021-04-30,,", "was due on 2026-04-30"),
        ("1,US E,2000 psi,west,2021-05,,", ""),
        ("1,US E,2000 psi,west,2021-04,,", "was due on 2026-04-30"),
        ("1,US E,2000 psi,west,2017-05-01,yes,", ""),
        ("1,US E,2000 psi,west,2016-04-30,yes,", "was due on 2026-04-30"),
        ("1,US E,2000 psi,west,2017-05-01,no,", "was due on 2022-05-01"),
        ("1,US E,2000 psi,west,,,", "no date of a hydrostatic test"),
        ("1,US E,2000 psi,west,2026-06-01,,", "lies in the future"),
        ("1,US E,2216 psi,west,2024-05-01,,", ""),
        ("1,US E,2217 psi,west,2024-05-01,,", "above full"),
        ("1,US E,400 psi,west,,,", "below the in-service minimum of 500 psi; no date"),
    ],
)
def test_fitness_for_service(write, right, row, why):
    """On 2026-05-01: 500 psi or more, tested within 5 years (10 with a star), not 10 % above full; else left out."""
    scenario = _read(write, right, row + "\n")
    lots = [lot for lot in scenario.lots if lot.units]
    if why:
        assert not lots
        (left_out,) = scenario.left_out
        assert why in left_out.why
        assert left_out.what == "1 (US E aluminium)"
    else:
        assert scenario.left_out == ()
        assert [u.id for lot in lots for u in lot.units] == ["1"]


def test_similar_cylinders_are_pooled_without_losing_a_litre(write, right):
    """Units of one kind, area and tenth of full form a lot; litres add up, and the largest unit bounds each."""
    rows = "".join(f"{i},US E,{psi} psi,west,2024-05,,\n" for i, psi in enumerate([2000, 1950, 1850, 1000, 2000]))
    scenario = _read(write, right, rows + "9,US E,2000 psi,east,2024-05,,\n")
    lots = [lot for lot in scenario.lots if lot.units]
    assert sorted((lot.area, lot.quantity) for lot in lots) == [("east", 1), ("west", 1), ("west", 4)]
    cylinder = find_cylinder("US E")
    for lot in lots:
        each = [usable_litres(cylinder, unit.gauge_psi) for unit in lot.units]
        assert lot.litres == pytest.approx(sum(each))
        assert lot.litres_each == pytest.approx(max(each))
        assert lot.quantity == len(lot.units)


def test_line_below_the_minimum_is_left_out(write, right):
    """A line of the scenario is held to the in-service minimum like an inventory, and the minimum can be set."""
    low = right.replace("2000 psi", "400 psi")
    scenario = read_scenario(write(low))
    assert [(item.what, item.area) for item in scenario.left_out] == [("12 x US E aluminium at 400 psi", "west")]
    allowed = read_scenario(write(low + "in service minimum: 300 psi\n"))
    assert allowed.left_out == ()


def test_id_used_twice_is_a_mistake(write, right):
    """The same cylinder cannot be counted twice."""
    row = "1,US E,2000 psi,west,2024-05-01,,\n"
    with pytest.raises(InputError, match="this id is used twice"):
        _read(write, right, row + row)


def test_due_date_of_a_leap_day():
    """A test on 29 February counts to the last of February."""
    assert due_date(datetime.date(2024, 2, 29), 5) == datetime.date(2029, 2, 28)
    assert due_date(datetime.date(2020, 2, 29), 4) == datetime.date(2024, 2, 29)


def test_cylinder_at_its_residual_is_left_out(write, right):
    """A cylinder with nothing above its residual pressure is no supply."""
    scenario = read_scenario(write(right.replace("2000 psi", "600 psi, residual: 600 psi")))
    assert [item.why for item in scenario.left_out] == ["600 psi is not above the residual pressure of 600 psi"]
