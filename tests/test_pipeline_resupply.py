"""The whole resupply run: trips and orders that the judge finds valid, within the bound, with and without a loss."""

from __future__ import annotations

from pathlib import Path

import pytest
from joint import ALWAYS, INF, area
from made_network import INCIDENT, SMALL_NETWORK, network_text
from one_road import TRUCK, one_road, planner

from mci.errors import UsageError
from mci.pipeline import run
from mci.pipeline_resupply import ResupplyRun, run_resupply
from mci.plan.deliver import deliver
from mci.replay.trips import judge_trips
from mci.replay.verdict import Validity
from mci.resupply.schedule import Goal
from mci.scenario import read_scenario
from mci.scenario.model import Scenario
from mci.scenario.network import Filling, Place, PlaceKind
from mci.settings import Settings

TUNNEL = Path(__file__).parents[1] / "scenarios" / "tunnel-fire.yaml"
NOISE = 1e-3  # weighted credit-minutes


@pytest.fixture(scope="module")
def quay(tmp_path_factory: pytest.TempPathFactory) -> Scenario:
    """Return a fire at a quay: two portals, one depot, one truck."""
    file = tmp_path_factory.mktemp("quay") / "quay.yaml"
    file.write_text(network_text(SMALL_NETWORK, ""), encoding="utf-8")
    return read_scenario(file)


@pytest.fixture(scope="module")
def runs(quay: Scenario) -> dict[str, ResupplyRun]:
    """Return runs that several tests look at."""
    tunnel = read_scenario(TUNNEL)
    return {
        "tunnel": run_resupply(tunnel),
        "tunnel without bridge and van": run_resupply(tunnel, lost=["bridge", "van"], losses=False),
        "quay": run_resupply(quay),
        "quay without truck": run_resupply(quay, lost=["truck"]),
        "quay without a road": run_resupply(quay, lost=["west road"], losses=False),
        "quay with a late truck": run_resupply(quay, late=[("truck", 30.0)], losses=False),
        "quay with a goal": run_resupply(quay, goals=[Goal("immediate", 0.95)], losses=False),
    }


NAMES = (
    "tunnel",
    "tunnel without bridge and van",
    "quay",
    "quay without truck",
    "quay without a road",
    "quay with a late truck",
    "quay with a goal",
)


@pytest.mark.parametrize("name", NAMES)
def test_trips_and_orders_can_be_carried_out(name: str, runs: dict[str, ResupplyRun]) -> None:
    """The judge finds nothing in the trips, planned and latest, and the orders on both VALID."""
    found = runs[name]
    assert found.findings == ()
    assert found.run.executable is not None
    assert found.late is not None
    assert found.late.verdict.validity is Validity.VALID
    assert not [each for each in judge_trips(found.scenario, found.schedule.latest) if each.judged]
    assert judge_trips(found.scenario, found.schedule.planned, found.run.executable.verdict) == ()


@pytest.mark.parametrize("name", NAMES)
def test_nothing_beats_the_bound(name: str, runs: dict[str, ResupplyRun]) -> None:
    """Whole patients do not beat divisible ones on the same trips, and no trips beat the bound."""
    found = runs[name]
    assert found.run.executable is not None
    assert found.late is not None
    schedule, orders = found.schedule, found.run.executable.verdict.weighted
    assert orders <= found.run.outcome.bound + NOISE
    assert schedule.reached <= schedule.bound + NOISE
    assert found.run.outcome.bound <= schedule.bound + NOISE
    assert found.late.verdict.weighted <= schedule.bound + NOISE
    if not schedule.goals:
        assert schedule.without_trips <= schedule.reached + NOISE


def test_the_run_is_of_what_trips_bring(runs: dict[str, ResupplyRun]) -> None:
    """Orders are made on the planned trips as deliveries; nothing further is asked there."""
    found = runs["quay"]
    assert found.run.scenario == deliver(found.scenario, found.schedule.planned)
    assert found.run.worth.empty
    assert found.run.resupply.empty
    assert found.disruptions == ()


def test_orders_come_close_to_the_bound(runs: dict[str, ResupplyRun]) -> None:
    """In the tunnel within 5 % of what no trips and orders can beat, as late as is safe too."""
    found = runs["tunnel"]
    assert found.run.executable is not None
    assert found.late is not None
    assert found.run.executable.verdict.weighted >= 0.95 * found.schedule.bound
    assert found.late.verdict.weighted >= 0.95 * found.schedule.bound
    assert found.run.executable.verdict.weighted > found.schedule.without_trips


def test_a_bridge_and_a_van_less_are_named_and_cost_something(runs: dict[str, ResupplyRun]) -> None:
    """Neither is used any more; coverage falls by no less than the loss of either, and the plan is another."""
    whole, less = runs["tunnel"], runs["tunnel without bridge and van"]
    assert less.disruptions == ("without road bridge", "without vehicle van")
    assert {trip.vehicle for trip in less.schedule.planned} == {"truck", "pickup"}
    assert "bridge" not in {road for trip in less.schedule.latest for stop in trip.stops for road in stop.via}
    assert less.schedule.bound <= whole.schedule.bound + NOISE
    cost = {loss.key: loss.weighted for loss in whole.schedule.losses}
    assert cost["bridge"] > 0
    assert cost["van"] > 0
    assert less.schedule.reached <= whole.schedule.reached - max(cost["bridge"], cost["van"]) + NOISE
    assert less.run.executable is not None
    assert whole.run.executable is not None
    assert less.run.executable.verdict.weighted < whole.run.executable.verdict.weighted
    assert less.schedule.losses == ()


def test_what_nobody_needs_costs_nothing(runs: dict[str, ResupplyRun]) -> None:
    """In the tunnel the supplier and two roads; each part once.

    What the river road costs depends on which trips the search finds in its time.
    """
    losses = runs["tunnel"].schedule.losses
    unused = {loss.key for loss in losses if loss.weighted == 0 and not any(loss.lost.values())}
    assert unused - {"river road"} == {"gasworks", "lake road", "south road"}
    assert len(losses) == 12


def test_without_the_only_truck_nothing_comes(runs: dict[str, ResupplyRun]) -> None:
    """What is reached is what the areas reach alone, and the loss of the truck is what the trips had gained."""
    whole, less = runs["quay"], runs["quay without truck"]
    assert less.disruptions == ("without vehicle truck",)
    assert less.schedule.departures == ()
    assert less.schedule.reached == pytest.approx(whole.schedule.without_trips)
    (cost,) = (loss.weighted for loss in whole.schedule.losses if loss.key == "truck")
    assert cost == pytest.approx(whole.schedule.reached - less.schedule.reached)


def test_a_loss_is_what_planning_without_it_finds(runs: dict[str, ResupplyRun]) -> None:
    """One area is cut off: what the table says is what is then planned."""
    whole, less = runs["quay"], runs["quay without a road"]
    (cost,) = (loss.weighted for loss in whole.schedule.losses if loss.key == "west road")
    assert less.schedule.reached == pytest.approx(whole.schedule.reached - cost)
    assert {stop.place for trip in less.schedule.planned for stop in trip.stops} == {"valley", "east"}


def test_what_is_late_is_named_and_leaves_later(runs: dict[str, ResupplyRun]) -> None:
    """The truck is there from T+30 on and loaded in 9 min."""
    late = runs["quay with a late truck"]
    (words,) = late.disruptions
    assert "vehicle truck" in words
    assert "30 min late" in words
    assert min(each.earliest for each in late.schedule.departures) == pytest.approx(39)
    assert late.schedule.reached <= runs["quay"].schedule.reached + NOISE


def test_a_goal_is_met_by_the_orders_with_less(runs: dict[str, ResupplyRun]) -> None:
    """95 % of Immediate: met by divisible patients and, but for half a percent, by orders, with fewer cylinders."""
    found = runs["quay with a goal"]
    (planned,), (ordered,) = found.schedule.met, found.met
    assert (planned.area, ordered.area) == ("west", "west")
    assert planned.reached == pytest.approx(planned.needed)
    assert ordered.needed == pytest.approx(planned.needed)
    assert 0.995 * ordered.needed <= ordered.reached <= ordered.needed
    assert found.schedule.fewest_cylinders <= found.schedule.cylinders < runs["quay"].schedule.cylinders
    assert found.run.provenance.settings["priority"] == "strict"
    assert found.run.provenance.settings["first"] == ("immediate",)


# empties

STATION = Place("depot", "", PlaceKind.FILL_STATION, ALWAYS, filling=Filling(frozenset({"small"}), 12, INF))


def _going_round(own: int, horizon: float, change: float) -> Scenario:
    """Return an area whose few cylinders must be filled again and again, 20 min away."""
    return one_road(
        own, minutes=20, horizon=horizon, regulators=2, places=(area("a"), STATION), stock=(), change=change
    )


@pytest.mark.parametrize(("own", "horizon", "change"), [(2, 180, 5), (2, 240, 0), (3, 240, 0)])
def test_empties_that_were_thought_free_too_early_are_fetched_later(own: int, horizon: float, change: float) -> None:
    """The programme empties them sooner than crews do; a further turn makes trips that find them, and gain as much."""
    incident = _going_round(own, horizon, change)
    asked = planner(incident)
    first = asked.trips()
    orders = run(deliver(incident, first), Settings(), further=False).executable
    assert orders is not None
    assert {each.law for each in judge_trips(incident, first, orders.verdict)} == {"empties"}
    found = run_resupply(incident, losses=False)
    assert found.findings == ()
    assert found.schedule.planned != first
    assert found.schedule.reached > found.schedule.without_trips + 29
    assert found.run.executable is not None
    assert found.run.executable.verdict.weighted == pytest.approx(found.schedule.reached)


def test_empties_that_are_there_in_time_need_one_turn() -> None:
    """The trips are the first that were thought of."""
    incident = _going_round(4, 180, 0)
    found = run_resupply(incident, losses=False)
    assert found.schedule.planned == planner(incident).trips()
    assert found.findings == ()


# mistakes


def test_without_a_network_there_is_nothing_to_resupply(tmp_path: Path) -> None:
    """It is said what to add, or what else to use."""
    file = tmp_path / "quay.yaml"
    file.write_text(INCIDENT, encoding="utf-8")
    with pytest.raises(UsageError, match="no network: add places, roads and vehicles, or use mci plan"):
        run_resupply(read_scenario(file))


def test_what_is_unknown_is_told_with_what_is_near() -> None:
    """Lost or late; a road cannot be late."""
    incident = one_road()
    with pytest.raises(UsageError, match="'trukc'; did you mean 'truck'"):
        run_resupply(incident, lost=["road", "trukc"])
    with pytest.raises(UsageError, match="'dept'; did you mean 'depot'"):
        run_resupply(incident, late=[("truck", 5.0), ("dept", 5.0)])
    with pytest.raises(UsageError, match="'road' is a road"):
        run_resupply(incident, late=[("road", 5.0)])
    with pytest.raises(UsageError, match=f"there are depot, road, {TRUCK.key}"):
        run_resupply(incident, lost=["xyz"])
