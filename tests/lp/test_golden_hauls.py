"""Every family of rows of transport, of what is given and of goals, on a network that a human can draw: word for word.

The numbers in the names are fleets, hops, items, places, grants or goals in the order of the network, then the step.
Rows that other incidents have too are in ``test_golden_rows``; here is what differs where more may be given.
"""

from __future__ import annotations

import dataclasses

import pytest
from golden import families, written
from incidents import cylinders, patients
from joint import ALWAYS, INF, ITEMS, area, errand, joint, truck
from small_network import both_ways
from test_golden_rows import GOLDEN as OTHERS

from mci.lp.haul_plan import Joint
from mci.scenario.network import Filling, Place, PlaceKind, Stock, Window

FEW = {key: ITEMS[key] for key in ("small full", "small empty", "reg")}
TRUCK = truck(place="f", slots={"small": 2}, payload_kg=9, loading=3, unloading=4)

#: One patient at ``a`` (place 0); ``f`` (place 1) fills 12 an hour or 5400 L from T+10 on.  12 min of road, in steps of
#: 10 min.  One truck is at ``f``, one like it at ``a`` from T+10 on.  A full one, two empties from T+5, a regulator.
NEAR = errand(
    horizon=30,
    regulators=0,
    places=(
        area("a"),
        Place("f", "f", PlaceKind.FILL_STATION, (Window(10, INF),), filling=Filling(frozenset({"small"}), 12, 5400)),
    ),
    roads=both_ways("road", "a", "f", 12),
    vehicles=(TRUCK, dataclasses.replace(TRUCK, key="later", place="a", available_from=10)),
    items=FEW,
    stock=(Stock("f", "small full", 1, 0), Stock("f", "small empty", 2, 5), Stock("f", "reg", 1, 0)),
)

#: 22 min of road.  Crews for one truck and a half.  The area has two cylinders of 250 L, one regulator, keeps 100 L.
FAR = dataclasses.replace(
    errand(
        horizon=30,
        regulators=1,
        people=[patients(2, "one")],
        places=(
            area("a"),
            Place("f", "f", PlaceKind.FILL_STATION, ALWAYS, filling=Filling(frozenset({"small"}), 6, INF)),
        ),
        roads=both_ways("road", "a", "f", 22),
        vehicles=(dataclasses.replace(TRUCK, payload_kg=INF),),
        items=FEW,
        stock=(Stock("f", "small full", 1, 0), Stock("f", "reg", 1, 0)),
        crews=3,
    ),
    lots=(dataclasses.replace(cylinders(2, 250, key="own"), cylinder=ITEMS["small full"].lot.cylinder),),
    reserve={"a": 100},
)

GOLDEN: dict[str, tuple[str, list[str]]] = {
    "fleet": (
        "near",
        [
            "fleet_0_0_0: + wait_0_0_0 + go_0_0_0 = 0",
            "fleet_0_0_1: + wait_0_0_1 - wait_0_0_0 + go_0_0_1 - go_0_1_0 = 1",
            "fleet_0_0_2: + wait_0_0_2 - wait_0_0_1 - go_0_1_1 = 0",
            "fleet_0_1_0: + wait_0_1_0 + go_0_1_0 = 1",
            "fleet_0_1_1: + wait_0_1_1 - wait_0_1_0 - go_0_0_0 + go_0_1_1 = 0",
            "fleet_0_1_2: + wait_0_1_2 - wait_0_1_1 - go_0_0_1 = 0",
        ],
    ),
    "capacity": (
        "near",
        [  # two slots for full and empty together; of regulators there is one
            "capacity_0_0_0: + carry_0_0_0 + carry_1_0_0 - 2 go_0_0_0 <= 0",
            "capacity_0_0_1: + carry_0_0_1 + carry_1_0_1 - 2 go_0_0_1 <= 0",
            "capacity_0_1_0: + carry_0_1_0 + carry_1_1_0 - 2 go_0_1_0 <= 0",
            "capacity_0_1_1: + carry_0_1_1 + carry_1_1_1 - 2 go_0_1_1 <= 0",
            "capacity_1_0_0: + carry_2_0_0 - go_0_0_0 <= 0",
            "capacity_1_0_1: + carry_2_0_1 - go_0_0_1 <= 0",
            "capacity_1_1_0: + carry_2_1_0 - go_0_1_0 <= 0",
            "capacity_1_1_1: + carry_2_1_1 - go_0_1_1 <= 0",
        ],
    ),
    "payload": (
        "near",
        [
            "payload_0_0: + 5 carry_0_0_0 + 4 carry_1_0_0 + carry_2_0_0 - 9 go_0_0_0 <= 0",
            "payload_0_1: + 5 carry_0_0_1 + 4 carry_1_0_1 + carry_2_0_1 - 9 go_0_0_1 <= 0",
            "payload_1_0: + 5 carry_0_1_0 + 4 carry_1_1_0 + carry_2_1_0 - 9 go_0_1_0 <= 0",
            "payload_1_1: + 5 carry_0_1_1 + 4 carry_1_1_1 + carry_2_1_1 - 9 go_0_1_1 <= 0",
        ],
    ),
    "driven": (
        "near",
        [  # who leaves before T+10 has by T+22, in the third step, surely driven 12 min
            "driven_0_0: - driven_0_0 = 0",
            "driven_0_1: - driven_0_1 = 0",
            "driven_0_2: - driven_0_2 + 12 go_0_0_0 + 12 go_0_1_0 = 0",
        ],
    ),
    "road": (
        "near",
        [
            "road_0_0: + driven_0_0 <= 10",
            "road_0_1: + driven_0_0 + driven_0_1 <= 30",
            "road_0_2: + driven_0_0 + driven_0_1 + driven_0_2 <= 50",
        ],
    ),
    "crews": ("far", ["crews_1: + 2 go_0_0_0 + 2 go_0_1_0 <= 3"]),
    "filling": (
        "near",
        [
            "filling_1_0_0: + fill_0_1_0 <= 0",
            "filling_1_0_1: + fill_0_1_0 + fill_0_1_1 <= 2",
            "filling_1_0_2: + fill_0_1_0 + fill_0_1_1 + fill_0_1_2 <= 4",
            "filling_1_1_0: + 300 fill_0_1_0 <= 0",
            "filling_1_1_1: + 300 fill_0_1_0 + 300 fill_0_1_1 <= 900",
            "filling_1_1_2: + 300 fill_0_1_0 + 300 fill_0_1_1 + 300 fill_0_1_2 <= 1800",
        ],
    ),
    "store": (
        "near",
        [  # what is full or a regulator can be given at a; an empty is set free there; at f, open from T+10 on, empties
            # become full
            "store_0_0_0: + store_0_0_0 + carry_0_0_0 + number_0_0 = 0",
            "store_0_0_1: + store_0_0_1 - store_0_0_0 + carry_0_0_1 - carry_0_1_0 + number_0_1 - number_0_0 = 0",
            "store_0_0_2: + store_0_0_2 - store_0_0_1 - carry_0_1_1 + number_0_2 - number_0_1 = 0",
            "store_0_1_0: + store_0_1_0 + carry_0_1_0 - fill_0_1_0 = 0",
            "store_0_1_1: + store_0_1_1 - store_0_1_0 - carry_0_0_0 + carry_0_1_1 - fill_0_1_1 = 1",
            "store_0_1_2: + store_0_1_2 - store_0_1_1 - carry_0_0_1 - fill_0_1_2 = 0",
            "store_1_0_0: + store_1_0_0 + carry_1_0_0 - free_1_0_0 = 0",
            "store_1_0_1: + store_1_0_1 - store_1_0_0 + carry_1_0_1 - carry_1_1_0 - free_1_0_1 + free_1_0_0 = 0",
            "store_1_0_2: + store_1_0_2 - store_1_0_1 - carry_1_1_1 - free_1_0_2 + free_1_0_1 = 0",
            "store_1_1_0: + store_1_1_0 + carry_1_1_0 + fill_0_1_0 = 0",
            "store_1_1_1: + store_1_1_1 - store_1_1_0 - carry_1_0_0 + carry_1_1_1 + fill_0_1_1 = 2",
            "store_1_1_2: + store_1_1_2 - store_1_1_1 - carry_1_0_1 + fill_0_1_2 = 0",
            "store_2_0_0: + store_2_0_0 + carry_2_0_0 + number_1_0 = 0",
            "store_2_0_1: + store_2_0_1 - store_2_0_0 + carry_2_0_1 - carry_2_1_0 + number_1_1 - number_1_0 = 0",
            "store_2_0_2: + store_2_0_2 - store_2_0_1 - carry_2_1_1 + number_1_2 - number_1_1 = 0",
            "store_2_1_0: + store_2_1_0 + carry_2_1_0 = 0",
            "store_2_1_1: + store_2_1_1 - store_2_1_0 - carry_2_0_0 + carry_2_1_1 = 1",
            "store_2_1_2: + store_2_1_2 - store_2_1_1 - carry_2_0_1 = 0",
        ],
    ),
    "stays": (
        "near",
        [
            "stays_0_1: + number_0_0 - number_0_1 <= 0",
            "stays_0_2: + number_0_1 - number_0_2 <= 0",
            "stays_1_1: + number_1_0 - number_1_1 <= 0",
            "stays_1_2: + number_1_1 - number_1_2 <= 0",
        ],
    ),
    "empties": (
        "near",
        [
            "empties_1_0_0: + free_1_0_0 - emptied_1_0_0 <= 0",
            "empties_1_0_1: + free_1_0_1 - emptied_1_0_1 <= 0",
            "empties_1_0_2: + free_1_0_2 - emptied_1_0_2 <= 0",
        ],
    ),
    "handling": (
        "near",
        [  # 7 min for a load: of two cylinders, or of 9 kg where one weighs 5 kg
            "handling_0_0: + 3.5 number_0_0 + driven_0_0 <= 10",
            "handling_0_1: + 3.5 number_0_1 + driven_0_0 + driven_0_1 <= 30",
            "handling_0_2: + 3.5 number_0_2 + driven_0_0 + driven_0_1 + driven_0_2 <= 50",
            "handling_1_0: + 3.88889 number_0_0 + driven_0_0 <= 10",
            "handling_1_1: + 3.88889 number_0_1 + driven_0_0 + driven_0_1 <= 30",
            "handling_1_2: + 3.88889 number_0_2 + driven_0_0 + driven_0_1 + driven_0_2 <= 50",
        ],
    ),
    "emptied": (
        "far",
        [  # empty with 5 % left: a litre of the own ones empties 1/237.5, one of what is given 1/285
            "emptied_1_0_0: - emptied_1_0_0 + 0.00350877 litres_0_0 + 0.421053 connect_0_0 = 0",
            (
                "emptied_1_0_1: - emptied_1_0_1 + emptied_1_0_0 + 0.00350877 litres_0_1 - 0.00350877 litres_0_0 "
                "+ 0.421053 connect_0_1 = 0"
            ),
            (
                "emptied_1_0_2: - emptied_1_0_2 + emptied_1_0_1 + 0.00350877 litres_0_2 - 0.00350877 litres_0_1 "
                "+ 0.421053 connect_0_2 = 0"
            ),
        ],
    ),
    "freed": (
        "near",
        [
            "freed_1_0_1: + free_1_0_0 - free_1_0_1 <= 0",
            "freed_1_0_2: + free_1_0_1 - free_1_0_2 <= 0",
        ],
    ),
    "there": (
        "far",
        [
            "there_1_0_0: + free_1_0_0 - number_0_0 <= 2",
            "there_1_0_1: + free_1_0_1 - number_0_1 <= 2",
            "there_1_0_2: + free_1_0_2 - number_0_2 <= 2",
        ],
    ),
    "drawn": (
        "near",
        [
            "drawn_0_0: - litres_0_0 + 100 connect_0_0 = 0",
            "drawn_0_1: - litres_0_1 + litres_0_0 + 100 connect_0_1 = 0",
            "drawn_0_2: - litres_0_2 + litres_0_1 + 100 connect_0_2 = 0",
        ],
    ),
    "given": (
        "near",
        [
            "given_0_0: + litres_0_0 - 300 number_0_0 <= 0",
            "given_0_1: + litres_0_1 - 300 number_0_1 <= 0",
            "given_0_2: + litres_0_2 - 300 number_0_2 <= 0",
        ],
    ),
    "units": (
        "near",
        [
            "units_0_0: + use_0_0 - number_0_0 <= 0",
            "units_0_1: + use_0_1 - number_0_1 <= 0",
            "units_0_2: + use_0_2 - number_0_2 <= 0",
        ],
    ),
    "regulators": (
        "far",
        [
            "regulators_0_0: + use_0_0 + use_1_0 - number_1_0 <= 1",
            "regulators_0_1: + use_0_1 + use_1_1 - number_1_1 <= 1",
            "regulators_0_2: + use_0_2 + use_1_2 - number_1_2 <= 1",
        ],
    ),
    "reserve": (
        "far",
        ["reserve_0: + 100 connect_0_0 + 100 connect_0_1 + 100 connect_0_2 + litres_0_2 - 300 number_0_2 <= 400"],
    ),
    "goal": ("near", ["goal_0: - missing_0 - 10 serve_0_0 - 10 serve_0_1 - 10 serve_0_2 <= -27"]),
}
#: Families in which nothing differs where more may be given.
ALIKE = {"connection", "outlets", "presence", "content"}


def _joints() -> dict[str, Joint]:
    return {"near": joint(NEAR, 10, {"immediate": 0.9}), "far": joint(FAR, 10, {"immediate": 0.9})}


@pytest.mark.parametrize("family", GOLDEN)
def test_rows_of_transport_are_what_a_human_writes(family: str) -> None:
    """Each family of rows, on its incident, word for word."""
    name, expected = GOLDEN[family]
    built = _joints()[name].built
    assert written(built.columns, built.families, family) == expected


def test_every_family_of_transport_has_a_golden_test() -> None:
    """Every row belongs to a family with a golden test here or, where nothing differs, there; none is unused."""
    names = {name.split("_")[0] for each in _joints().values() for rows in each.built.families for name in rows.names}
    assert names == set(GOLDEN) | ALIKE
    assert set(OTHERS) >= ALIKE


def test_every_function_of_transport_writes_rows() -> None:
    """Each family has rows in one of the two incidents, but for those of care alone."""
    care = len(families(NEAR)[1])
    for near, far in zip(*(each.built.families[care:] for each in _joints().values()), strict=True):
        assert near.names or far.names


def test_supplies_without_a_limit_stay_so() -> None:
    """Where devices are unlimited, one that may be given besides makes no row."""
    stock = (*NEAR.network.stock, Stock("f", "mask", 5, 0))
    more = dataclasses.replace(NEAR.network, items={**FEW, "mask": ITEMS["mask"]}, stock=stock)
    built = joint(dataclasses.replace(NEAR, network=more), 10).built
    assert not [name for rows in built.families for name in rows.names if name.startswith(("fittings", "reusable"))]
