"""Later rows of a roster, and what an inventory row may say for itself."""

from __future__ import annotations

import pytest

from mci.catalogue.find import find_cylinder
from mci.catalogue.model import GasModel
from mci.catalogue.usable import usable_litres
from mci.errors import InputError
from mci.scenario import read_scenario

HEADER = "patient,category,area,ladder,arrive,change,leave\n"


def _read(write, right, rows: str):
    text = right.replace("supplies:\n", "  - {roster: r.csv}\nsupplies:\n")
    return read_scenario(write(text, r__csv=HEADER + rows))


def test_a_later_row_changes_the_course(write, right):
    """The same patient in a later row has another place or need from a moment on; the clock may say it too."""
    rows = "r1,delayed,west,low need,T+10,,T+90\nr2,minimal,east,low need,T+5,,\n"
    rows += "r1,immediate,west,low need,,T+30,\nr1,immediate,east,low need,,15:35,\n"
    scenario = _read(write, right, rows)
    first = next(p for p in scenario.patients if p.label == "r1")
    assert [(s.after, s.area, s.category) for s in first.course] == [
        (0.0, "west", "delayed"), (20.0, "west", "immediate"), (50.0, "east", "immediate"),
    ]  # fmt: skip
    assert first.leave == 90.0
    assert len(next(p for p in scenario.patients if p.label == "r2").course) == 1


@pytest.mark.parametrize(
    ("rows", "rule", "path"),
    [
        ("r1,minimal,east,low need,,T+30,\n", "no row above says when", "row 2, column patient (cell A2)"),
        (
            "r1,minimal,east,low need,T+30,,\nr1,delayed,east,low need,,T+30,\n",
            "must come after arrival",
            "row 3, column change (cell F3)",
        ),
        (
            "r1,minimal,east,low need,T+5,,\nr1,delayed,east,low need,,T+30,T+60\n",
            "'leave' is not a word that can stand here",
            "row 3, column leave (cell G3)",
        ),
        (
            "r1,minimal,east,low need,T+5,,\nr1,delayed,north,low need,,T+30,\n",
            "north",
            "row 3, column area (cell C3)",
        ),
        ("r1,minimal,east,low need,,,\n", "'arrive' is missing", "row 2, column arrive (cell E2)"),
    ],
)
def test_mistakes_of_later_rows_name_their_cell(write, right, rows, rule, path):
    """A change without a patient, too early, with a leave of its own or at no area is told with its cell."""
    with pytest.raises(InputError) as caught:
        _read(write, right, rows)
    (mistake,) = caught.value.mistakes
    assert rule in f"{mistake.rule} {mistake.value}"
    assert mistake.path == path


def test_a_cylinder_may_be_taken_as_fit(write, right):
    """``not asked`` for a test date counts a cylinder as those that are only counted; an empty cell leaves it out."""
    text = right.replace("regulators:\n", "  - {inventory: inv.csv}\nregulators:\n")
    rows = "id,cylinder,pressure,area,test date\n1,US E,2000 psi,west,not asked\n2,US E,2000 psi,west,\n"
    scenario = read_scenario(write(text, inv__csv=rows))
    listed, counted = sorted((lot for lot in scenario.lots if lot.cylinder is not None), key=lambda lot: lot.quantity)
    assert [(unit.id, unit.tested) for unit in listed.units] == [("1", None)]
    assert listed.litres_each == counted.litres_each
    assert [item.what for item in scenario.left_out] == ["2 (US E aluminium)"]


def test_a_cylinder_may_have_its_own_residual_gas_model_and_time_to_change(write, right):
    """What a row says for itself holds for that cylinder only, and such cylinders are not pooled with others."""
    text = right.replace("regulators:\n", "  - {inventory: inv.csv}\nregulators:\n")
    rows = "id,cylinder,pressure,area,test date,residual,gas model,change\n1,US E,2000 psi,west,2024-05,,,\n"
    rows += "2,US E,2000 psi,west,2024-05,500 psi,,\n3,US E,2000 psi,west,2024-05,,rated content,\n"
    scenario = read_scenario(write(text, inv__csv=rows + "4,US E,2000 psi,west,2024-05,,,7 min\n"))
    lots = {unit.id: lot for lot in scenario.lots for unit in lot.units}
    usual, residual, model, change = (lots[key] for key in "1234")
    assert len({id(lot) for lot in lots.values()}) == 4
    assert residual.residual_psi == 500
    assert residual.litres < usual.litres
    assert model.gas_model is GasModel.RATED
    assert model.litres == pytest.approx(usable_litres(find_cylinder("US E"), 2000, 200, model=GasModel.RATED))
    assert (change.change_min, change.litres) == (7.0, usual.litres)
    assert any("residual pressure of" in item.what for item in scenario.assumptions)
