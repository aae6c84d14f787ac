"""Every bundled scenario plans, keeps the laws, and shows what its first comment says."""

from __future__ import annotations

import math
import pathlib
import re

import numpy as np
import pytest

from mci.demand.stays import find_stays
from mci.lp.outcome import Status
from mci.pipeline import Run
from mci.scenario.cache_reach import arrivals
from mci.scenario.check import doubts
from mci.scenario.doubts_stocking import STOCKING_RULES
from mci.scenario.draft import read_draft
from mci.scenario.model import LotKind
from mci.scenario.network import PlaceKind
from mci.surge.sampling import draw

FOLDER = pathlib.Path(__file__).parents[2] / "scenarios"


def test_begins_by_saying_what_it_shows(text: str) -> None:
    """The first line is a comment of a sentence; the comment also says for whom the scenario is."""
    first, *rest = text.splitlines()
    comment = [first]
    for line in rest:
        if not line.startswith("#"):
            break
        comment.append(line)
    assert first.startswith("# ")
    assert len(first) > 40
    assert any(line.startswith("# For ") for line in comment)


def test_is_solved(plan: Run) -> None:
    """The plan is optimal, not stopped at a limit, and reaches its own bound but for rounding."""
    outcome = plan.outcome
    assert outcome.status is Status.OPTIMAL
    assert outcome.achieved <= outcome.bound * (1 + 1e-9)
    assert outcome.achieved == pytest.approx(outcome.bound, rel=1e-5)


def test_conserves_litres(plan: Run) -> None:
    """In every area and period litres drawn equal litres breathed (flow x minutes x patients)."""
    service = plan.outcome.service
    minutes = service["end_min"] - service["start_min"]
    keys = ["area", "start_min"]
    breathed = service.assign(litres=service["flow_lpm"] * service["patients"] * minutes).groupby(keys)["litres"].sum()
    drawn = plan.outcome.draw.groupby(keys)["litres"].sum()
    both = breathed.to_frame("breathed").join(drawn.rename("drawn"), how="outer").fillna(0.0)
    assert np.allclose(both["breathed"], both["drawn"], rtol=1e-6, atol=0.1)


def test_draws_only_what_is_there(plan: Run) -> None:
    """No lot gives more than it holds, nothing before it has come or after it is gone."""
    for lot in plan.scenario.lots:
        mine = plan.outcome.draw[plan.outcome.draw["lot"] == lot.key]
        assert mine["litres"].sum() <= lot.litres * (1 + 1e-6)
        if len(mine):
            assert mine["start_min"].min() >= lot.available_from - 1e-6
            assert mine["end_min"].max() <= lot.available_until + 1e-6


def test_keeps_the_reserve(plan: Run) -> None:
    """What is left at the end is at least the reserve, per area."""
    last = plan.stock.groupby("area")["litres"].last()
    for area, litres in plan.scenario.reserve.items():
        if litres > 0:
            assert last[area] >= litres - 0.1


def test_covers_neither_all_nor_little(plan: Run) -> None:
    """There is something to decide: 70 to 95 %, half and more where vehicles bring more, a fifth where caches do.

    What a drawn exercise leaves short comes with its injects, of which a plan knows nothing.
    """
    exercise = plan.scenario.exercise
    most = 1.0 if exercise is not None and exercise.seed is not None else 0.95
    least = 0.2 if plan.scenario.stocking else 0.5 if plan.scenario.network else 0.7
    assert least <= plan.coverage.set_index("category")["coverage"]["all"] <= most


def test_says_how_many_patients(text: str, plan: Run) -> None:
    """The number of patients in the opening comment is the number planned."""
    written = re.search(r"(\d+) (?:patients|residents)", text.split("\nincident", 1)[0])
    if written:
        assert int(written[1]) == plan.coverage.set_index("category")["patients"]["all"]


def test_ferry_is_short_until_the_truck_comes(ferry: Run) -> None:
    """Before T+100 people are below target, afterwards nobody; the stock is used up when the truck comes."""
    assert ferry.windows["end_min"].max() == 100
    assert ferry.windows["without_patient_min"].sum() > 0
    at_truck = ferry.stock[ferry.stock["time_min"] == 100].iloc[0]
    assert at_truck["delivered_litres"] == pytest.approx(8 * 1738 * (2216 - 200) / 2216)
    assert at_truck["litres"] - at_truck["delivered_litres"] == pytest.approx(0, abs=1)


def test_ferry_lacks_gas_and_masks(ferry: Run) -> None:
    """Gas is worth most, and non-rebreathers are among what must come, in several steps."""
    assert ferry.worth["resource"].iloc[0] in ("gas supply", "gas supply and regulators")
    everyone = ferry.resupply[ferry.resupply["goal"] == "everyone"]
    assert everyone["item"].str.startswith("non-rebreather").any()
    assert (everyone["unit"] == "cylinder").sum() >= 3
    assert not any("cannot be served" in note for note in ferry.resupply_notes)


def test_tunnel_leaves_unfit_cylinders_out(tunnel: Run) -> None:
    """Four of 26 cylinders are left out: two overdue, one without a date, one too low; all others are counted."""
    why = {left.what.split()[0]: left.why for left in tunnel.scenario.left_out}
    assert set(why) == {"K-104", "K-106", "K-110", "K-209"}
    assert "2025-09-30" in why["K-104"]
    assert "2024-10-31" in why["K-209"]
    assert "no date" in why["K-110"]
    assert "below the in-service minimum" in why["K-106"]
    counted = sum(len(lot.units) for lot in tunnel.scenario.lots)
    rows = (FOLDER / "tunnel-fire-cylinders.csv").read_text(encoding="utf-8").splitlines()
    assert counted + len(why) == len(rows) - 1 == 26


def test_tunnel_is_short_at_one_portal(tunnel: Run) -> None:
    """Nearly all patient-minutes without oxygen are at the north portal."""
    without = tunnel.over_time.assign(
        minutes=tunnel.over_time["without"] * (tunnel.over_time["end_min"] - tunnel.over_time["start_min"])
    )
    by_area = without.groupby("area")["minutes"].sum()
    assert by_area["north"] > 500
    assert by_area["south"] < 0.1 * by_area["north"]


def test_tunnel_moves_patients(tunnel: Run) -> None:
    """Fourteen patients come to the south portal from the north: each of them is at both, one after the other."""
    moved = next(p for p in tunnel.scenario.patients if "driven round" in p.label)
    assert moved.count == 14
    assert [spell.area for spell in moved.course] == ["north", "south"]


def test_care_home_is_bound_by_power(care_home: Run) -> None:
    """Power is among what one more is worth having, and most are without while one generator stands."""
    assert "electrical power" in set(care_home.worth["resource"])
    table = care_home.over_time
    without = table.groupby("start_min")["without"].sum()
    assert without[without > 0.01].index.min() == 480
    assert without[without > 0.01].index.max() < 720
    powered = {supply.key: supply.watts for supply in care_home.scenario.power}
    assert sum(powered.values()) == 3 * 9500
    # with one generator: 9500 W / 700 W = 13 concentrators of 10 L/min, and the outlets of the cylinders
    dark = table[(table["start_min"] >= 480) & (table["end_min"] <= 720)].groupby("start_min")["delivered_lpm"].sum()
    concentrators = 13 * 10
    assert dark.min() >= concentrators - 0.1
    assert dark.max() <= concentrators + (10 + 10) * 3 + 15 + 0.1


def test_hospital_is_bound_by_high_pressure_connections(hospital: Run) -> None:
    """Of ten ventilated patients six are connected from the failure until the lorry comes, four are bagged."""
    service = hospital.outcome.service
    icu = service[(service["area"] == "icu") & (service["start_min"] >= 60) & (service["end_min"] <= 300)]
    ventilated = icu[icu["device"] == "turbine ventilator"].groupby("start_min")["patients"].sum()
    assert ventilated.to_numpy() == pytest.approx(6, abs=1e-3)
    bagged = icu[icu["device"] == "bag-valve-mask"].groupby("start_min")["patients"].sum()
    assert bagged.to_numpy() == pytest.approx(4, abs=1e-3)
    words = hospital.worth.loc[hospital.worth["area"] == "icu", "one_more"]
    assert "bullnose regulator with 4 bar outlet" in set(words)


def test_hospital_is_whole_until_the_main_is_shut(hospital: Run) -> None:
    """Nobody is below target in the first hour, and afterwards nothing comes out of the wall."""
    assert hospital.windows["start_min"].min() == 60
    piped = {lot.key for lot in hospital.scenario.lots if lot.kind is LotKind.PIPED}
    draw = hospital.outcome.draw
    assert draw.loc[draw["lot"].isin(piped), "end_min"].max() == 60


def test_tunnel_reaches_the_bridge_in_nine_minutes(tunnel: Run) -> None:
    """What leaves the valley depot at T+9 is off the bridge when it closes; the way round takes half an hour longer."""
    network = tunnel.scenario.network
    assert network is not None
    minutes = {road.key: road.minutes for road in network.roads}
    (closed,) = next(road for road in network.roads if road.key == "bridge").closed
    assert 9 + minutes["valley road"] + minutes["bridge"] == closed.start
    assert minutes["river road"] - minutes["bridge"] == 30


def test_heatwave_halls_last_less_than_a_day(heatwave: Run) -> None:
    """At the top rungs every hall that is open from the start has breathed its cylinders empty within a day."""
    scenario = heatwave.scenario
    stays = find_stays(scenario)
    for area in scenario.areas:
        here = [stay for stay in stays if stay.area == area.key]
        begin = min(stay.start for stay in here)
        held = sum(lot.litres for lot in scenario.lots if lot.area == area.key)
        drawn = sum(
            max(0.0, min(stay.end, begin + 1440) - stay.start)
            * stay.count
            * scenario.ladders[stay.ladder].rungs[0].flow_lpm
            for stay in here
        )
        assert drawn > held, area.key


def test_heatwave_is_as_large_as_it_says(heatwave: Run) -> None:
    """Twelve halls, three depots, two places that fill, six vehicles besides the trolley, and patients in thousands."""
    network = heatwave.scenario.network
    assert network is not None
    kinds = [place.kind for place in network.places]
    assert [kinds.count(kind) for kind in (PlaceKind.AREA, PlaceKind.DEPOT, PlaceKind.FILL_STATION)] == [12, 3, 2]
    assert sum(not vehicle.on_foot for vehicle in network.vehicles) == 6
    assert heatwave.coverage.set_index("category")["patients"]["all"] == 3000


def test_caches_are_in_no_doubt(plan: Run) -> None:
    """Nothing that is written about caches looks wrong; what areas lack of their own is what caches are for."""
    codes = {rule.__name__.replace("_", "-") for rule in STOCKING_RULES}
    assert codes.isdisjoint(doubt.code for doubt in doubts(plan.scenario, find_stays(plan.scenario)))


def test_fair_asks_for_more_than_the_field_has(fair: Run) -> None:
    """The first-aid post and the ambulances have a quarter of the gas that the average incident breathes at target."""
    demand = sum(
        (stay.end - stay.start) * stay.count * fair.scenario.ladders[stay.ladder].rungs[0].flow_lpm
        for stay in find_stays(fair.scenario)
    )
    assert sum(lot.litres for lot in fair.scenario.lots) < demand / 4


def test_fair_trailer_has_few_cradles(fair: Run) -> None:
    """The cheapest gas is limited twice: by cradles for large cylinders, and by the gas that may be kept in all."""
    stocking = fair.scenario.stocking
    assert stocking is not None
    (trailer,) = stocking.caches
    large = next(each for each in stocking.candidates if each.slot == "cradle")
    assert large.at_most > trailer.slots["cradle"]
    assert trailer.slots["cradle"] * large.gas_l < trailer.gas_l < large.at_most * large.gas_l


def test_no_station_is_near_to_every_town(trailers: Run) -> None:
    """From each place some town is reached an hour after the start or later; the bridge makes the crossroads late."""
    scenario = trailers.scenario
    assert scenario.stocking is not None
    there = {s.place: arrivals(s, scenario.network) for cache in scenario.stocking.caches for s in cache.stations}
    assert {min(moments.values()) for moments in there.values()} == {20.0, 30.0}
    assert all(max(moments.values()) >= 60 for moments in there.values())
    assert there["crossroads"]["mill"] == 60 + 10  # opened after an hour, ten minutes across
    assert there["school"]["mill"] < there["crossroads"]["mill"]


def test_trailers_serve_mostly_one_town() -> None:
    """In most sampled incidents one town has more than three quarters of all patients."""
    draft = read_draft(FOLDER / "two-trailers.yaml")
    drawn = draw(draft.uncertainty, draft.numbers, 64, seed=1)
    counts = np.array([[batch.count for batch in draft.scenario(case.values).patients] for case in drawn.cases])
    shares = counts.max(axis=1) / counts.sum(axis=1)
    assert np.mean(shares > 0.75) > 0.5


def test_litres_are_reckoned_as_on_paper(ferry: Run, tunnel: Run, hospital: Run) -> None:
    """Factor x (gauge - residual); rated content by pressure; liquid less what is unusable and boils off."""
    held = {lot.key: lot for run in (ferry, tunnel, hospital) for lot in run.scenario.lots}
    assert held["quay US D aluminium"].litres == pytest.approx(12 * 0.16 * (1900 - 200))
    assert held["quay US M steel"].litres == pytest.approx(2 * 1.56 * (2000 - 200))
    residual_bar = 200 / 14.5038
    assert held["icu UK J 137 bar"].litres == pytest.approx(10 * 6800 * (130 - residual_bar) / 137, rel=1e-3)
    assert held["north EU 2L 200 bar"].litres == pytest.approx(400 * (180 - residual_bar) / 200, rel=1e-3)
    vessel = next(lot for lot in hospital.scenario.lots if lot.kind is LotKind.LIQUID)
    assert vessel.litres == pytest.approx(120 * 860 * 0.92 - 720 * 1, rel=2e-3)
    assert not math.isinf(vessel.litres)
