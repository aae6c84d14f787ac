"""The chosen list with more or fewer patients."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from small_stocking import POST
from small_studies import stand, study_of, tried

from mci.stocking.choose import choose
from mci.stocking.frontier import COST_GAP
from mci.stocking.patients import FACTORS, patients_table
from mci.stocking.study import Entry, Study

SAME = 1e-6
EASY = POST.replace("90 %", "60 %")
#: A quarter more or less of each is a whole number, so that what is needed grows in proportion.
QUARTERS = ((4, 4), (4, 8), (8, 4))


@pytest.fixture(scope="module")
def asked() -> tuple[Study, Entry, pd.DataFrame]:
    """Return a study, its list, and the list with more or fewer patients."""
    study = study_of(EASY, QUARTERS)
    chosen = choose(study, 500.0)[0]
    return study, chosen, patients_table(study, chosen)


def test_more_patients_never_cover_more(asked: tuple[Study, Entry, pd.DataFrame]) -> None:
    """In proportion: what serves more would serve fewer as well; nor do they cost less, up to the gap."""
    table = asked[2]
    assert table["factor"].tolist() == list(FACTORS)
    for name in ("weighted", "goal_1"):
        assert (np.diff(table[name]) <= SAME).all()
        assert table[name].iloc[0] > table[name].iloc[-1]
    cost = table["cost"].dropna().to_numpy()
    assert (np.diff(cost) >= -COST_GAP * cost[1:]).all()
    assert cost[0] < cost[-1]
    assert table["cost"].isna().tolist() == sorted(table["cost"].isna())
    assert table["together"].tolist() == sorted(table["together"], reverse=True)


def test_patients_are_counted(asked: tuple[Study, Entry, pd.DataFrame]) -> None:
    """In the mean of the incidents, in proportion."""
    table, mean = asked[2], np.mean([sum(each) for each in QUARTERS])
    assert table["patients"].to_numpy() == pytest.approx(mean * np.array(FACTORS))


@pytest.mark.parametrize("row", range(len(FACTORS)))
def test_each_row_is_a_study_of_so_many(asked: tuple[Study, Entry, pd.DataFrame], row: int) -> None:
    """Incidents written with so many patients are covered alike, and as cheap, by every list that there is."""
    _, chosen, table = asked
    told = table.iloc[row]
    many = tuple(tuple(round(n * FACTORS[row]) for n in each) for each in QUARTERS)
    there = tried(EASY, many)
    entry = there.study.enter("", chosen.plan)
    assert told["weighted"] == pytest.approx(there.study.weighted(entry), abs=SAME)
    assert told["goal_1"] == pytest.approx(there.study.reached(entry)[0], abs=SAME)
    assert told["goals_met"] == sum(there.study.met(entry))
    assert bool(told["together"]) == there.study.together(entry)
    cheapest = there.cheapest()
    if cheapest is None:
        assert math.isnan(told["cost"])
    else:
        assert cheapest.cost - SAME <= told["cost"] <= cheapest.cost / (1 - COST_GAP) + SAME


def test_as_many_as_there_are_is_the_list_itself() -> None:
    """The row of factor 1 tells what the table of lists tells."""
    found = stand()
    row = found.patients.set_index("factor").loc[1.0]
    chosen = found.lists.iloc[0]
    for name in ("weighted", "goals_met", "together", "goal_1", "goal_2"):
        assert float(row[name]) == pytest.approx(float(chosen[name]), abs=SAME)
    assert row["cost"] == pytest.approx(chosen["cost"], rel=2 * COST_GAP)


def test_without_goals_there_is_no_cost() -> None:
    """Nothing is to be met, and no column tells of a goal; one patient is never halved away."""
    study = study_of(EASY.partition("  goals:")[0], ((1, 1),))
    table = patients_table(study, choose(study, 300.0)[0])
    assert table["cost"].isna().all()
    assert not [name for name in table.columns if name.startswith("goal_")]
    assert (table["patients"] >= 1).all()
