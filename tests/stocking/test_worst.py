"""The incidents that break a list: the right ones, in their order, and as scenarios that say the same."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pandas as pd
import pytest
from small_stocking import STREETS
from small_studies import PATIENTS, STAND, study_of

from mci import read_scenario
from mci.demand.groups import count_demand
from mci.lp.allocate import allocate, weighted_need
from mci.pipeline import run
from mci.scenario.model import Scenario
from mci.settings import Settings
from mci.stocking.choose import owned_list
from mci.stocking.judged import with_list
from mci.stocking.study import Entry, Study
from mci.stocking.worst import SHOWN, worst_scenarios, worst_table

SAME = 1e-6
MANY = (*PATIENTS, (6, 1), (1, 1), (2, 9))


def _two_and_two(study: Study) -> Entry:
    """Return a list with a little of everything."""
    rule = study.layout.stocking.rules[0]
    return study.enter(rule.key, study.layout.decisions({("box", "gate"): rule.packs["box"]}))


def _streets(study: Study) -> Entry:
    """Return a list for two areas."""
    yoke, cylinder = "yoke regulator 0-15 L/min", "US D aluminium"
    trailer = {cylinder: 3, yoke: 2, "nasal cannula": 1}
    packed = {("trailer", "hall"): trailer, ("box", "kiosk"): {"nasal cannula": 1, cylinder: 1, yoke: 1}}
    return study.enter("mine", study.layout.decisions(packed))


@pytest.fixture(scope="module", params=["one area", "two areas"])
def broken(request: pytest.FixtureRequest) -> tuple[Study, Entry, pd.DataFrame]:
    """Return a study, a list, and the incidents that break it."""
    one = request.param == "one area"
    study = study_of(STAND if one else STREETS, MANY if one else MANY[:4])
    entry = _two_and_two(study) if one else _streets(study)
    return study, entry, worst_table(study, entry)


def _best(scenario: Scenario) -> float:
    """Return the weighted coverage at best, 0 to 1."""
    demand = count_demand(scenario)
    return allocate(scenario, demand, Settings()).outcome.bound / weighted_need(scenario, demand)


def test_worst_comes_first(broken: tuple[Study, Entry, pd.DataFrame]) -> None:
    """Those in which most weighted need is missed, and no other; not more than are shown; named once."""
    _, entry, table = broken
    missed = entry.harms[:, 0]
    assert table["weighted"].tolist() == sorted(table["weighted"])
    shown = [number - 1 for number in table["incident"]]
    assert len(set(shown)) == len(shown) == min(SHOWN, int((missed > SAME).sum()))
    assert table["weighted"].to_numpy() == pytest.approx(1 - missed[shown], abs=1e-9)
    left = [missed[n] for n in range(len(missed)) if n not in shown]
    assert max(left, default=0.0) <= min(missed[shown]) + 1e-9 or len(shown) < SHOWN
    assert table["name"].tolist() == [f"worst {n}: incident {i}" for n, i in enumerate(table["incident"], start=1)]


def test_numbers_are_those_of_the_incident(broken: tuple[Study, Entry, pd.DataFrame]) -> None:
    """Patients, what differs, and minutes without oxygen, at least the fewest that each category can have."""
    study, entry, table = broken
    for row in table.to_dict("records"):
        values = study.sampled.values[row["incident"] - 1]
        assert row["values"] == "; ".join(f"{path} {text}" for path, text in values.items())
        scenario = study.sampled.draft.scenario(values)
        assert row["patients"] == sum(p.count for p in scenario.patients)
        assert row["without_min"] >= entry.harms[row["incident"] - 1, 2::2].sum() - 1e-3
        assert any(area.title in row["why"] for area in scenario.areas)
        assert "short of: " in row["why"]


def test_one_more_gains_what_is_told(broken: tuple[Study, Entry, pd.DataFrame]) -> None:
    """No more than is missed; and a regulator that is added by hand gains just that."""
    study, entry, table = broken
    assert (table["gain"] >= 0).all()
    assert (table["gain"] <= 1 - table["weighted"] + SAME).all()
    assert all((gain > 0) == bool(more) for gain, more in zip(table["gain"], table["one_more"], strict=True))
    for row in table.to_dict("records"):
        what, _, where = row["one_more"].partition(", at ")
        if what != "yoke regulator 0-15 L/min":
            continue
        scenario = with_list(study.sampled.draft, study.sampled.values[row["incident"] - 1], entry.packed)
        assert bool(where) == (len(scenario.areas) > 1)
        area = next(area.key for area in scenario.areas if where in ("", area.title))
        kind = next(r for r in scenario.regulators if r.outlets.key == what)
        more = dataclasses.replace(kind, area=area, quantity=1, available_from=0.0)
        gained = _best(dataclasses.replace(scenario, regulators=(*scenario.regulators, more))) - _best(scenario)
        assert gained == pytest.approx(row["gain"], abs=1e-4)


def test_scenarios_are_read_and_say_the_same(broken: tuple[Study, Entry, pd.DataFrame], tmp_path: Path) -> None:
    """Read from their files they are planned, with the list in them: in one area their best possible is the table's.

    Between areas whole things are divided, so there the best possible is no more.
    """
    study, entry, table = broken
    written = worst_scenarios(study, entry, table, 7)
    assert list(written) == table["name"].tolist()
    one = len(study.sampled.draft.scenario().areas) == 1
    for rank, row in enumerate(table.to_dict("records"), start=1):
        files = written[row["name"]]
        first = next(iter(files))
        assert first == f"{rank:02d}-incident-{row['incident']}.yaml"
        for name, text in files.items():
            (tmp_path / name).write_text(text, encoding="utf-8")
        scenario = read_scenario(tmp_path / first)
        assert sum(p.count for p in scenario.patients) == row["patients"]
        assert f"incident {row['incident']}" in scenario.name
        best = _best(scenario)
        filled = with_list(study.sampled.draft, study.sampled.values[row["incident"] - 1], entry.packed)
        assert best == pytest.approx(_best(filled), abs=SAME)
        assert best <= row["weighted"] + SAME
        if one:
            assert best == pytest.approx(row["weighted"], abs=SAME)
    assert len({name for files in written.values() for name in files}) == sum(map(len, written.values()))


def test_a_worst_scenario_can_be_drilled(tmp_path: Path) -> None:
    """Orders are made for it and judged, from the file alone."""
    study = study_of(STAND, ((3, 2),))
    entry = study.enter("owned", owned_list(study))
    (files,) = worst_scenarios(study, entry, worst_table(study, entry), 7).values()
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    done = run(read_scenario(tmp_path / next(iter(files))), Settings(), further=False)
    assert done.executable is not None
    assert done.executable.verdict.validity


def test_where_nothing_is_missed_nothing_is_shown() -> None:
    """An empty table with all its columns, and no scenario."""
    study = study_of(STAND.replace("count: 3, category: minimal", "count: 1, category: minimal"), ((1, 1), (5, 2)))
    entry = _two_and_two(study)
    table = worst_table(study, entry)
    assert table["incident"].tolist() == [2]
    calm = study_of(STAND, ((1, 1),))
    nothing = worst_table(calm, _two_and_two(calm))
    assert nothing.empty
    assert list(nothing.columns) == list(table.columns)
    assert worst_scenarios(calm, entry, nothing, 1) == {}
