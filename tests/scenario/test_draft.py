"""A scenario built with other numbers: every number has a path, and setting it changes that and nothing else."""

from __future__ import annotations

import dataclasses
import math
import pickle
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import mci
from mci.demand.groups import count_demand
from mci.errors import InputError, UsageError
from mci.scenario.draft import Draft, read_draft
from mci.scenario.model import Scenario
from mci.scenario.numbers import NumberKind
from mci.scenario.quantity import read_value, write_value

FOLDER = Path(mci.__file__).parents[1] / "scenarios"
BUNDLED = {path.stem: read_draft(path) for path in sorted(FOLDER.glob("*.yaml"))}
FERRY, TUNNEL = BUNDLED["ferry-fire"], BUNDLED["tunnel-fire"]


def _same(one: Scenario, other: Scenario) -> bool:
    return dataclasses.replace(one, sha256="") == dataclasses.replace(other, sha256="")


@pytest.mark.parametrize("draft", BUNDLED.values(), ids=BUNDLED)
def test_read_once_is_read_again(draft: Draft) -> None:
    """Without other numbers a draft builds what reading the file builds, hash included; also after it was sent."""
    path = FOLDER / draft.file
    assert draft.scenario() == mci.read_scenario(path) == pickle.loads(pickle.dumps(draft)).scenario()  # noqa: S301


@pytest.mark.parametrize("draft", [FERRY, TUNNEL, BUNDLED["by-hand"]], ids=["ferry", "tunnel", "by hand"])
def test_written_again_as_written_changes_nothing(draft: Draft) -> None:
    """Setting any number to its own text gives an equal scenario, but for the hash; so every path can be set."""
    plain = draft.scenario()
    for path, number in draft.numbers.items():
        again = draft.scenario({path.upper(): number.text})
        assert _same(plain, again), path
        assert again.sha256 != plain.sha256


def test_paths_of_the_ferry() -> None:
    """Batches, single patients, stocks, deliveries, ladders and what stands for several lines have paths."""
    wanted = {
        "patients.lounge, badly affected.count": "8",
        "patients.lounge.arrive.pattern": "evenly",
        "patients.deck hand who went back in.then.1.after": "40 min",
        "regulators.manifold 6 outlets at quay.count": "2",
        "staff.quay #2.from": "T+30",
        "ladders.smoke exposure.rungs.4.credit": "0.3",
        "weights.minimal": "0.1",
        "deliveries.county oxygen truck.brings.US M60 aluminium.pressure": "full",
        "patients.immediate.count": "10",
        "patients.count": "40",
        "deliveries.county oxygen truck.delay": "0 min",
        "supplies.pressure": "100 %",
    }
    assert {path: FERRY.numbers[path].text for path in wanted} == wanted
    assert not any(path.startswith(("incident.start", "areas.")) for path in FERRY.numbers)
    assert TUNNEL.numbers["patients.N01.arrive"].value == 12.0
    assert TUNNEL.numbers["network.roads.bridge.drive"].kind is NumberKind.DURATION
    assert TUNNEL.numbers["network.roads.bridge.closed.1.until"].value == 80.0


@given(st.sampled_from(["immediate", "delayed", "minimal"]), st.integers(14, 300))
def test_a_total_is_exact(category: str, total: int) -> None:
    """So many patients of a category come as were asked for, and nobody else changes."""
    scenario = TUNNEL.scenario({f"patients.{category}.count": str(total)})
    counts: Counter[str] = Counter()
    for batch in scenario.patients:
        counts[batch.course[0].category] += batch.count
    written: Counter[str] = Counter()
    for batch in TUNNEL.scenario().patients:
        written[batch.course[0].category] += batch.count
    assert counts == {**written, category: total}


def test_fewer_than_the_single_patients() -> None:
    """A total below those who are listed one by one is a mistake that says how many they are."""
    with pytest.raises(InputError, match="2 patients are listed one by one") as caught:
        FERRY.scenario({"patients.immediate.count": "1", "weights.delayed": "x"})
    assert caught.value.mistakes[0].path == "patients.immediate.count"
    assert caught.value.mistakes[0].value == "1"
    assert FERRY.scenario({"patients.immediate.count": "2"}).patients[0].label == "lounge"  # its batch is left out


def test_delay_share_and_pressure() -> None:
    """A delay moves all that a delivery brings; shares round counts down; gauges fall, those of full ones too."""
    plain = FERRY.scenario()
    late = FERRY.scenario({"deliveries.county oxygen truck.delay": "30 min"})
    assert {lot.available_from for lot in late.lots} == {0.0, 130.0}
    half = FERRY.scenario({"regulators.share": "50 %"})
    kept = sorted(stock.quantity for stock in half.regulators if not stock.delivery)
    assert kept == [1, 7]  # of 2 and 15; of 1 none is left
    lower = FERRY.scenario({"supplies.pressure": "80 %"})
    for lot, before in zip(lower.lots, plain.lots, strict=True):
        assert lot.gauge_psi == pytest.approx((1.0 if lot.delivery else 0.8) * before.gauge_psi)
    fewer = TUNNEL.scenario({"supplies.north.share": "50 %"})
    count = Counter((lot.area, lot.delivery) for lot in fewer.lots for _ in range(lot.quantity))
    assert count["south", ""] == sum(lot.quantity for lot in TUNNEL.scenario().lots if lot.area == "south")
    assert count["north", ""] < sum(lot.quantity for lot in TUNNEL.scenario().lots if lot.area == "north")


def test_full_cylinders_of_every_kind_have_a_gauge() -> None:
    """A share of the pressure also lowers cylinders that are written as full, from the full pressure of their kind."""
    hospital = BUNDLED["hospital-main-failure"]

    def gauges(scenario: Scenario) -> list[float]:
        return [lot.gauge_psi or 0.0 for lot in scenario.lots if lot.cylinder and not lot.delivery]

    lower, plain = gauges(hospital.scenario({"supplies.pressure": "0.9"})), gauges(hospital.scenario())
    assert plain
    assert lower == pytest.approx([0.9 * gauge for gauge in plain])


def test_left_out_lines_do_not_move_rosters() -> None:
    """Where a line is left out, files that later lines name stay with their lines."""
    scenario = TUNNEL.scenario(
        {"patients.immediate.count": str(int(TUNNEL.numbers["patients.immediate.count"].value) - 9)}
    )
    assert sum(patients.label.startswith("N") for patients in scenario.patients) == 18
    assert count_demand(scenario).patients["all"] == 61


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"patients.lounge.cuont": "3"}, "patients.lounge.count"),
        ({"patients.count": "50", "Patients.Lounge.Count": "3"}, "set the same number"),
        ({"supplies.pressure": "0.9", "supplies.US E aluminium at quay.pressure": "500 psi"}, "set the same number"),
    ],
)
def test_wrong_use(values: dict[str, str], words: str) -> None:
    """An unknown path names those like it; two paths that set the same number are refused."""
    with pytest.raises(UsageError, match=words):
        FERRY.scenario(values)


@pytest.mark.parametrize(
    ("path", "text"), [("weights.minimal", "-1"), ("patients.lounge.count", "0"), ("supplies.pressure", "120 %")]
)
def test_wrong_values(path: str, text: str) -> None:
    """A value that the language refuses is a mistake that shows it."""
    with pytest.raises(InputError) as caught:
        FERRY.scenario({path: text})
    assert any(mistake.value == text for mistake in caught.value.mistakes)


@given(st.sampled_from([kind for kind in NumberKind if kind is not NumberKind.WORD]), st.integers(1, 10**9))
def test_values_are_read_as_written(kind: NumberKind, thousandths: int) -> None:
    """Whatever value is written reads back the same, in every kind of number."""
    value = thousandths / 1000
    if kind in (NumberKind.COUNT, NumberKind.STOCK):
        value = float(thousandths)
    if kind is NumberKind.SHARE:
        value = thousandths / 10**9
    assert math.isclose(read_value(kind, write_value(kind, value)), value, rel_tol=1e-9, abs_tol=1e-9)


def test_shares_and_single_rows_do_not_mix() -> None:
    """A share of an inventory keeps its first rows, whatever is set in them; all areas and one are not both scaled."""
    last = next(path for path in reversed(TUNNEL.numbers) if path.startswith("supplies.K-"))
    fewer = {"supplies.share": "10 %", last: "500 psi"}
    assert _same(TUNNEL.scenario(fewer), TUNNEL.scenario({"supplies.share": "10 %"}))  # the last row is left out
    with pytest.raises(UsageError, match="set the same number"):
        TUNNEL.scenario({"supplies.share": "50 %", "supplies.north.share": "50 %"})


def test_a_line_called_like_a_category_keeps_its_path(write, right: str) -> None:
    """A batch ``minimal`` has its own count under that path, not how many come in all; so nothing is ambiguous."""
    second = "  - {batch: other, count: 5, category: minimal, area: west, ladder: low need, arrive: T+5}\n"
    text = right.replace("batch: walking", "batch: Minimal").replace("supplies:\n", f"{second}supplies:\n", 1)
    draft = read_draft(write(text))
    assert draft.numbers["patients.Minimal.count"].value == 20
    assert "patients.minimal.count" not in draft.numbers
    counts = {each.label: each.count for each in draft.scenario({"patients.minimal.count": "7"}).patients}
    assert counts == {"A": 1, "Minimal": 7, "other": 5}
