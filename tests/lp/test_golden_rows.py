"""Every family of rows on incidents that a human can solve: the rows word for word.

The numbers in the names are areas, levels, lots, sources, groups or options in the order of the
incident, then the period.
"""

from __future__ import annotations

import dataclasses

import pytest
from golden import families, lines, one_more
from incidents import concentrators, cylinders, ladder, outlet_set, patients, piped, regulator, scenario

from mci.demand.groups import count_demand
from mci.lp.index import make_index
from mci.scenario.model import DeviceStock, Scenario, Spell

#: Three patients, a fourth at T+10.  Two cylinders of 300 L with their own outlet; one of 600 L comes
#: at T+10 and needs the regulator (three outlets, 25 L/min in all).  Half a person changes the first
#: lot in 3 min each; 200 L stay back; two cannulas.  Mask 10 L/min, cannula 4 L/min.
MIXED = scenario(
    horizon=30,
    ladders=[ladder("two", ("mask", 10, 1.0), ("cannula", 4, 0.5))],
    patients=[patients(3, "two"), patients(1, "two", arrive=10)],
    lots=[
        cylinders(2, 300, key="own", built_in=outlet_set("own", total=15), change=3),
        cylinders(1, 600, key="bare", arrive=10),
    ],
    regulators=[regulator(1, outlets=outlet_set("reg", outlets=3, each=12, total=25))],
    staff={"a": 0.5},
    reserve={"a": 200},
    devices={("a", "cannula"): 2},
)

#: Two patients need another ladder (the first group, ``again``) from T+20; a third is there from T+10
#: to T+20.  One mask for a single patient, another comes at T+20; gas without end.
WORN = dataclasses.replace(
    made := scenario(
        horizon=30,
        ladders=[
            ladder("wear", ("mask", 10, 1.0), single_use=True),
            ladder("again", ("mask", 6, 1.0), single_use=True),
        ],
        patients=[
            patients(2, "wear", then=(Spell(20, "a", "immediate", "again"),)),
            patients(1, "wear", arrive=10, stay=10),
        ],
        lots=[piped(9)],
        devices={("a", "mask"): 1},
    ),
    devices=(*made.devices, DeviceStock("a-mask-truck", "a", "mask", 1, 20, "truck")),
)

#: Ventilators at 12 L/min of high-pressure gas, else a mask at 10 L/min.  A pipe with one outlet of
#: each kind and 20 L/min; three concentrators of 350 W on 700 W.
STRONG = scenario(
    horizon=10,
    ladders=[ladder("vent", ("vent", 12, 1.0), ("mask", 10, 0.5), strong="vent")],
    patients=[patients(2, "vent")],
    lots=[piped(1, strong=1, total=20), concentrators(3, flow=10, watts=350)],
    power={"a": 700},
)

GOLDEN: dict[str, tuple[Scenario, list[str]]] = {
    "connection": (
        MIXED,
        [
            "connection_0_0: - serve_0_0 + connect_0_0 = 0",
            "connection_0_1: - serve_0_1 + connect_0_1 + connect_2_1 = 0",
            "connection_1_0: - serve_1_0 + connect_1_0 = 0",
            "connection_1_1: - serve_1_1 + connect_1_1 + connect_3_1 = 0",
        ],
    ),
    "content": (
        MIXED,
        [  # 10 L/min for 10 and for 20 min, 4 L/min likewise
            "content_0: + 100 connect_0_0 + 200 connect_0_1 + 40 connect_1_0 + 80 connect_1_1 <= 600",
            "content_1: + 200 connect_2_1 + 80 connect_3_1 <= 600",
        ],
    ),
    "outlets": (
        MIXED,
        [
            "outlets_0_0: + connect_0_0 + connect_1_0 <= 2",
            "outlets_0_1: + connect_0_1 + connect_1_1 <= 2",
            "outlets_1_1: + connect_2_1 + connect_3_1 - 3 use_1_1 <= 0",
        ],
    ),
    "strong": (STRONG, ["strong_0_0: + connect_0_0 <= 1"]),
    "rate": (STRONG, ["rate_0_0: + 12 connect_0_0 + 10 connect_1_0 <= 20"]),
    "units": (STRONG, ["units_1_0: + use_1_0 <= 3"]),
    "regulators": (MIXED, ["regulators_0_1: + use_1_1 <= 1"]),
    "power": (STRONG, ["power_0_0: + 350 use_1_0 <= 700"]),
    "reserve": (
        MIXED,
        [
            (
                "reserve_0: + 100 connect_0_0 + 200 connect_0_1 + 40 connect_1_0 + 80 connect_1_1 "
                "+ 200 connect_2_1 + 80 connect_3_1 <= 1000"
            )
        ],
    ),
    "presence": (
        MIXED,
        ["presence_0_0: + serve_0_0 + serve_1_0 <= 3", "presence_0_1: + serve_0_1 + serve_1_1 <= 4"],
    ),
    "reusable": (MIXED, ["reusable_0_0: + serve_1_0 <= 2", "reusable_0_1: + serve_1_1 <= 2"]),
    "worn": (
        WORN,
        [
            "worn_0_2: + serve_0_2 - keep_0_2 - fit_0_2 <= 0",
            "worn_1_0: + serve_1_0 - fit_1_0 <= 0",
            "worn_1_1: + serve_1_1 - keep_1_1 - fit_1_1 <= 0",
        ],
    ),
    "owners": (WORN, ["owners_0_2: + keep_0_2 <= 2", "owners_1_1: + keep_1_1 - fit_1_0 <= 0"]),
    "fittings": (
        WORN,
        ["fittings_0_1: + fit_1_0 + fit_1_1 <= 1", "fittings_0_2: + fit_0_2 + fit_1_0 + fit_1_1 <= 2"],
    ),
    "holders": (
        WORN,
        [  # whoever needs the other ladder may have a mask from before: it counts in the area's two
            "holders_0_0: + fit_1_0 <= 1",
            "holders_0_1: + keep_1_1 + fit_1_1 <= 1",
            "holders_0_2: + keep_0_2 + fit_0_2 <= 2",
        ],
    ),
    "staff": (
        MIXED,
        [  # 3 min for 300 L: 100 L cost 1 min; half a person has 5 and 10 min
            "staff_0_0: + spare_0_0 + connect_0_0 + 0.4 connect_1_0 <= 5",
            "staff_0_1: + spare_0_1 - spare_0_0 + 2 connect_0_1 + 0.8 connect_1_1 <= 10",
        ],
    ),
    "continuity": (
        MIXED,
        [
            "continuity_0_1: - worse_0_1 + serve_0_0 - serve_0_1 <= 0",
            "continuity_1_1: - worse_1_1 + serve_0_0 - serve_0_1 + serve_1_0 - serve_1_1 <= 0",
        ],
    ),
}


@pytest.mark.parametrize("family", GOLDEN)
def test_rows_are_what_a_human_writes(family: str) -> None:
    """Each family of rows, on its incident, word for word."""
    incident, expected = GOLDEN[family]
    assert lines(incident, family) == expected


def test_every_family_has_a_golden_test() -> None:
    """Every family has rows in one of the incidents, and every row belongs to a family with a golden test."""
    every = [families(incident)[1] for incident in (MIXED, WORN, STRONG)]
    written = {name.split("_")[0] for incident in every for rows in incident for name in rows.names}
    assert written == set(GOLDEN)
    for same in zip(*every, strict=True):
        assert any(rows.names for rows in same)


def test_one_more_widens_the_rows_that_it_should() -> None:
    """One more of each resource: its gas, its outlets or unit, its reserve; a pipe gets an outlet, but no flow."""
    assert one_more(MIXED) == {
        "lot a own": ["content_0 +300", "outlets_0_0 +1", "outlets_0_1 +1", "reserve_0 +300"],
        "lot a bare": ["content_1 +600", "units_1_1 +1", "reserve_0 +600"],
        "regulator a reg": ["regulators_0_1 +1"],
        "device a cannula": ["reusable_0_0 +1", "reusable_0_1 +1"],
        "staff a person": ["staff_0_0 +10", "staff_0_1 +20"],
    }
    assert one_more(WORN) == {
        "lot a pipe": ["outlets_0_0 +1", "outlets_0_1 +1", "outlets_0_2 +1"],
        "device a mask": ["fittings_0_1 +1", "fittings_0_2 +1", "holders_0_0 +1", "holders_0_1 +1", "holders_0_2 +1"],
    }
    assert one_more(STRONG) == {
        "lot a pipe": ["outlets_0_0 +1", "strong_0_0 +1"],
        "lot a conc": ["units_1_0 +1"],
        "power a 350 W": ["power_0_0 +350"],
    }


def test_who_keeps_is_at_most_who_stayed_or_came_along() -> None:
    """``keep`` is bounded by the patients who were there before: none at first, two of three later."""
    columns, _ = families(WORN)
    kept = {name: upper for name, upper in zip(columns.names, columns.upper, strict=True) if name.startswith("keep")}
    assert kept == {"keep_0_2": 2, "keep_1_1": 2}


def test_limits_without_end_make_no_row() -> None:
    """Unlimited staff from T+10 on: only the time before is limited."""
    first = dataclasses.replace(MIXED.staff[0], available_until=10)
    shifts = (first, dataclasses.replace(first, people=float("inf"), available_from=10, available_until=30))
    assert lines(dataclasses.replace(MIXED, staff=shifts), "staff") == [
        "staff_0_0: + spare_0_0 + connect_0_0 + 0.4 connect_1_0 <= 5"
    ]


def test_regulators_enough_for_one_more_are_not_counted() -> None:
    """With a regulator for every cylinder and one more, units in use need no column."""
    spare = dataclasses.replace(MIXED, regulators=(dataclasses.replace(MIXED.regulators[0], quantity=2),))
    assert lines(spare, "regulators") == []
    assert lines(spare, "outlets")[-1] == "outlets_1_1: + connect_2_1 + connect_3_1 <= 3"


def test_sources_fit_valve_and_area() -> None:
    """A lot without outlets of its own is drawn through regulators of its area that fit its valve, and only those."""
    other = dataclasses.replace(MIXED.lots[1], valve="w", key="other")
    incident = dataclasses.replace(MIXED, lots=(*MIXED.lots, other))
    sources = make_index(incident, count_demand(incident)).sources
    assert [(source.lot, source.pool) for source in sources] == [(0, -1), (1, 0)]
