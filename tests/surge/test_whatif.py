"""A what-if finds what can be worked out on paper, the same however it is carried out."""

from __future__ import annotations

import functools
import math
import tempfile
from collections.abc import Hashable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from made_numbers import number

import mci
from mci.errors import UsageError
from mci.scenario.draft import Draft
from mci.scenario.model import CATEGORIES
from mci.scenario.numbers import NumberKind
from mci.surge.cases import Case, Role, Row
from mci.surge.combine import How, combine
from mci.surge.journal import JOURNAL_NAME
from mci.surge.means import Means
from mci.surge.measures import MEASURES
from mci.surge.table import case_table
from mci.surge.vary import parse_vary
from mci.surge.whatif import run_whatif
from mci.surge.whatif_result import BREAK_COLUMNS, SWING_COLUMNS, WhatIf

#: On paper: 3 people at 10 L/min for an hour need 1800 L.  An E cylinder at 1450 psi, changed at 200 psi, gives
#: 0.28 L/psi x 1250 psi = 350 L: 4 of them are there (1400 L), 3 come at T+10 (1050 L).  Each serves one at a time.
TEXT = """
incident: {name: Boat shed, summary: Three people out of a burning boat shed., horizon: 60 min}
areas: {shed: Boat shed}
patients:
  - {batch: team, count: 3, category: immediate, area: shed, ladder: mask, arrive: T+0}
supplies:
  - {cylinder: US E aluminium, count: 4, pressure: 1450 psi, change: 1 s, area: shed}
regulators:
  - {regulator: yoke regulator 0-15 L/min, count: 40, area: shed}
devices:
  - {device: non-rebreather, count: unlimited, area: shed}
staff: [{people: unlimited, area: shed}]
deliveries:
  - delivery: van
    at: T+10
    area: shed
    brings:
      - {cylinder: US E aluminium, count: 3, pressure: 1450 psi, change: 1 s}
ladders:
  mask:
    title: One flow
    source: invented for a test
    rungs: [{device: non-rebreather, flow: 10 L/min, credit: 1}]
resupply: {cylinder: US E aluminium, regulator: yoke regulator 0-15 L/min}
"""
HEADS, THERE, GAUGE = "patients.team.count", "supplies.US E aluminium at shed.count", "supplies.pressure"
BROUGHT, DELAY = "deliveries.van.brings.US E aluminium.count", "deliveries.van.delay"
FLOW = "ladders.mask.rungs.1.flow"
ASKED = (
    f"{HEADS}=2..40 step 19",
    f"{THERE}=3, 30",
    f"{GAUGE}=40 %, 100 %",
    f"{BROUGHT}=1, 9",
    f"{DELAY}=0, 49 min",
    f"{FLOW}=10, 15 L/min",
)


@functools.cache
def _draft() -> Draft:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "shed.yaml"
        path.write_text(TEXT, encoding="utf-8")
        return mci.read_draft(path)


def _cases(how: How, *asked: str) -> tuple[Case, ...]:
    return combine([parse_vary(text, _draft().numbers) for text in asked], how)


@functools.cache
def _found() -> WhatIf:
    return run_whatif(_draft(), _cases(How.ONE, *ASKED), How.ONE)


def _share(heads: float = 3, there: float = 4, gauge: float = 1, brought: float = 3, flow: float = 10) -> float:
    """Return the coverage on paper: litres over litres needed, where all that comes is in time."""
    return min(1.0, (there * 0.28 * (1450 * gauge - 200) + brought * 350) / (heads * flow * 60))


def _by(table: pd.DataFrame, *names: str) -> dict[Any, dict[Hashable, Any]]:
    """Return the rows of a table by one column, or by several."""
    rows = table.to_dict("records")
    return {row[names[0]] if len(names) == 1 else tuple(row[name] for name in names): row for row in rows}


def test_breaks_are_those_worked_out_on_paper() -> None:
    """Litres over litres needed, and minutes until the gas there is used up, say where coverage breaks."""
    breaks = _by(_found().breaks, "number", "category")
    # 1400 L last three people 46 min 40 s, so the van due at T+10 may be 36 min late and not 37.
    on_paper = {
        HEADS: (4, 5, "up"),  # 2450 L for 600 L each
        GAUGE: (0.60, 0.59, "down"),  # 4 x 0.28 x (1450 g - 200) + 1050 = 1800 at g = 0.59975
        BROUGHT: (2, 1, "down"),  # 400 L lack, 350 L each
        DELAY: (36, 37, "up"),
    }
    for category in ("immediate", "all"):
        for path, (kept, lost, direction) in on_paper.items():
            found = breaks[path, category]
            assert (found["kept_to"], found["lost_at"]) == (pytest.approx(kept), pytest.approx(lost)), path
            assert (found["direction"], found["goal"], found["binds"]) == (direction, 1.0, "gas supply")
        flow = breaks[FLOW, category]
        assert flow["kept_to"] <= 2450 / 180 < flow["lost_at"] <= flow["kept_to"] + 5 / 64 + 1e-9
        always = breaks[THERE, category]
        assert (always["kept_to"], math.isnan(always["lost_at"]), always["binds"]) == (30, True, "")
    assert len(_found().breaks) == len(breaks) == 2 * len(ASKED)


@pytest.mark.parametrize("goal", [0.9, 0.5, 0.2])
def test_a_goal_is_lost_where_paper_says(goal: float) -> None:
    """With a lower goal more people can be there; what is lost is that goal, also by the last person."""
    found = run_whatif(_draft(), _cases(How.ALL, f"{HEADS}=1, 40"), goal=goal).breaks
    most = math.floor(2450 / (600 * goal))
    assert found["category"].tolist() == ["immediate", "all"]
    assert found["goal"].tolist() == [goal, goal]
    if most < 40:
        assert found[["kept_to", "lost_at"]].to_numpy().tolist() == [[most, most + 1]] * 2
    else:
        assert found["lost_at"].isna().all()


def test_table_is_what_was_agreed() -> None:
    """Columns, values of numbers and roles are as the contract of a what-if says; coverage is that on paper."""
    found, paths = _found(), [text.partition("=")[0] for text in ASKED]
    table = found.table
    assert table.columns.tolist() == ["case", "role", *paths, *(measure.name for measure in MEASURES)]
    assert [each.path for each in found.numbers] == paths
    assert found.how == "one by one"
    assert found.scenario == _draft().scenario()
    assert table["case"].is_unique
    assert table["role"].tolist()[:14] == [Role.AS_WRITTEN, *[Role.CASE] * 13]
    assert set(table["role"][14:]) == {Role.BETWEEN}
    assert table[paths].iloc[0].tolist() == [3, 4, 1, 3, 0, 10]
    assert table[HEADS].tolist()[:5] == [3, 2, 21, 40, 3]
    in_time = table[table[DELAY] == 0]
    on_paper = [_share(*each) for each in in_time[[HEADS, THERE, GAUGE, BROUGHT, FLOW]].itertuples(index=False)]
    assert in_time["best_share"].tolist() == pytest.approx(on_paper)
    assert len(in_time) > 20
    assert table["status"].eq("planned").all()
    empty = [f"best_{category}" for category in CATEGORIES if category != "immediate"]
    assert table[[*empty, "orders_share", "rolling_share"]].isna().to_numpy().all()
    assert table["usual_share"].notna().all()
    assert found.provenance.settings["cases"] == len(table)


def test_swings_are_sorted_and_those_on_paper() -> None:
    """The largest swing comes first; the ends are those asked for, with the coverage on paper."""
    swings = _found().swings
    assert tuple(swings.columns) == SWING_COLUMNS
    assert tuple(_found().breaks.columns) == BREAK_COLUMNS
    rows = swings.to_dict("records")
    ends = [[row[name] for name in ("at_low", "at_high", "as_written")] for row in rows]
    size = [round(max(each) - min(each), 9) for each in ends]
    assert size == sorted(size, reverse=True)
    assert len(set(size)) > 4
    on_paper = {
        HEADS: (2, 40, 1.0, _share(heads=40)),
        THERE: (3, 30, 1.0, 1.0),
        GAUGE: (0.4, 1.0, _share(gauge=0.4), 1.0),
        BROUGHT: (1, 9, _share(brought=1), 1.0),
        DELAY: (0, 49, 1.0, (1400 + 30) / 1800),  # for the last minute there are three cylinders
        FLOW: (10, 15, 1.0, _share(flow=15)),
    }
    found = {row["number"]: [row[name] for name in ("low", "high", "at_low", "at_high")] for row in rows}
    assert found.keys() == on_paper.keys()
    for path, row in on_paper.items():
        assert found[path] == pytest.approx(row), path
    assert swings["as_written"].tolist() == pytest.approx([1.0] * len(rows))


def test_all_combinations_break_with_the_others_as_written() -> None:
    """In all combinations, a break of one number counts cases with the others as written, which may be swings only.

    With one cylinder brought, four people are not covered; with three they are, and so are the three as written.
    """
    found = run_whatif(_draft(), _cases(How.ALL, f"{HEADS}=4, 9", f"{BROUGHT}=1, 3"), orders=True)
    assert found.how == "all combinations"
    breaks = _by(found.breaks, "number", "category")
    for path, ends in ((HEADS, (4, 5)), (BROUGHT, (2, 1))):
        assert (breaks[path, "all"]["kept_to"], breaks[path, "all"]["lost_at"]) == ends
    assert found.table["role"].tolist().count(Role.SWING) == 1
    asked = found.table["role"].isin([Role.AS_WRITTEN, Role.CASE])
    assert found.table["orders_share"].notna().tolist() == asked.tolist()
    assert found.table["rolling_share"].isna().all()
    assert (found.table["orders_share"] <= found.table["best_share"] + 1e-9)[asked].all()


def test_a_break_is_looked_for_in_the_range_asked_for() -> None:
    """A value as written beyond the range is no end of it."""
    found = run_whatif(_draft(), _cases(How.ALL, f"{HEADS}=6, 9"))
    assert found.breaks["kept_to"].isna().all()
    assert found.breaks["lost_at"].tolist() == [6, 6]
    assert set(found.table["role"]) == {Role.AS_WRITTEN, Role.CASE}


def test_case_that_cannot_be_planned_is_a_row() -> None:
    """Cases of a file may fail; the row says why, its measures are empty, and the others are what they are."""
    cases = [Case("nobody", {"patients.team.arrive": "T+2h"}), Case("more", {HEADS: "5"})]
    found = run_whatif(_draft(), cases, None)
    rows = _by(found.table, "case")
    assert found.how == "cases of a file"
    assert "nobody arrives" in rows["nobody"]["status"]
    assert all(math.isnan(rows["nobody"][measure.name]) for measure in MEASURES if measure.unit)
    assert rows["nobody"]["binding"] == ""
    assert rows["more"]["best_share"] == pytest.approx(2450 / 3000)


def test_numbers_of_the_network_need_trips() -> None:
    """Where no trips are planned, a number of the network is refused before anything is evaluated."""
    draft = mci.read_draft(Path(mci.__file__).parents[1] / "scenarios" / "tunnel-fire.yaml")
    told: list[tuple[int, int]] = []
    with pytest.raises(UsageError, match=r"network\.roads\.bridge\.drive changes nothing .* --trips"):
        run_whatif(
            draft,
            [Case("slow", {"network.roads.bridge.drive": "40 min"})],
            means=Means(tell=lambda done, total: told.append((done, total))),
        )
    assert not told


def _same(one: WhatIf, other: WhatIf) -> None:
    """Hold that two results are equal to the last digit."""
    for name in ("table", "swings", "breaks"):
        pd.testing.assert_frame_equal(getattr(one, name), getattr(other, name), check_exact=True)
    assert one.notes == other.notes


def test_two_processes_find_the_same() -> None:
    """With two processes every number is the same to the last digit."""
    asked = _cases(How.ONE, *ASKED[:2])
    _same(run_whatif(_draft(), asked, means=Means(workers=2)), run_whatif(_draft(), asked))


@pytest.mark.parametrize("after", [1, 14])
def test_what_is_interrupted_goes_on(tmp_path: Path, after: int) -> None:
    """Stopped after some cases and resumed, it finds the same, and evaluates none of them again."""

    def stop(done: int, total: int) -> None:
        assert total == 14
        if done == after:
            raise KeyboardInterrupt

    cases, lines = _cases(How.ONE, *ASKED), tmp_path / JOURNAL_NAME
    with pytest.raises(KeyboardInterrupt):
        run_whatif(_draft(), cases, How.ONE, means=Means(folder=tmp_path, tell=stop))
    kept = lines.read_bytes()
    assert kept.count(b"\n") == after + 1
    told: list[int] = []
    means = Means(folder=tmp_path, resume=True, tell=lambda done, _: told.append(done))
    _same(run_whatif(_draft(), cases, How.ONE, means=means), _found())
    assert told == list(range(after, 15))
    whole = lines.read_bytes()
    assert whole.startswith(kept)
    assert whole.count(b"\n") == len(_found().table) + 1
    _same(run_whatif(_draft(), cases, How.ONE, means=means), _found())
    assert lines.read_bytes() == whole


def test_another_study_is_not_resumed(tmp_path: Path) -> None:
    """What a folder holds belongs to one study: other cases, or another goal, are refused, and so is not to resume."""
    cases = _cases(How.ALL, f"{HEADS}=2, 3")
    run_whatif(_draft(), cases, means=Means(folder=tmp_path))
    with pytest.raises(UsageError, match="--resume"):
        run_whatif(_draft(), cases, means=Means(folder=tmp_path))
    for other, goal in ((cases, 0.9), (cases[:1], 1.0)):
        with pytest.raises(UsageError, match="another study"):
            run_whatif(_draft(), other, goal=goal, means=Means(folder=tmp_path, resume=True))


def test_a_table_says_values_in_their_unit() -> None:
    """Numbers are read in their unit and as written where a case leaves them, words stay words, gaps are empty."""
    numbers = [number("delay", NumberKind.DELAY), number("pattern", NumberKind.WORD), number("at", NumberKind.MOMENT)]
    cases = [Case("a", {"delay": "1 h", "at": "08:30"}), Case("b", {"pattern": "early"})]
    rows: list[Row] = [{"status": "planned", "best_all": 0.5}, {"status": "failed", "binding": "staff"}]
    table = case_table(cases, rows, numbers, 8 * 60)
    assert table[["delay", "pattern", "at"]].to_numpy().tolist() == [[60.0, "", 30.0], [1.0, "early", 1.0]]
    assert table["best_all"].tolist() == pytest.approx([0.5, math.nan], nan_ok=True)
    assert table["binding"].tolist() == ["", "staff"]
