"""The bundled catalogue as a whole, and one broken copy per kind of mistake."""

from __future__ import annotations

import csv
import itertools
import shutil
from importlib import resources
from pathlib import Path

import pytest

from mci.catalogue.find import find_cylinder
from mci.catalogue.load import load_catalogue, read_catalogue
from mci.catalogue.model import Basis, DrawRule
from mci.errors import InputError

REFERENCE = Path(__file__).parent.parent / "reference"
DATA = resources.files("mci.catalogue") / "data"


def factors(name: str) -> list[dict[str, str]]:
    """Return published cylinder factors."""
    with (REFERENCE / f"{name}.csv").open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the bundled data that a test may break."""
    for file in ("cylinders.csv", "outlet_sets.csv", "devices.csv", "machines.csv", "ladders.yaml"):
        shutil.copyfile(str(DATA / file), tmp_path / file)
    return tmp_path


def named(row: dict[str, str]) -> str:
    """Name a published factor."""
    return f"{row['letter']} {row['source'][:12]}"


@pytest.mark.parametrize("row", factors("cylinder_factors"), ids=named)
def test_published_factors(row: dict[str, str]) -> None:
    """Each published factor is that of the catalogue's cylinder of that size."""
    cylinder = find_cylinder(row["letter"], region=row["region"])
    assert cylinder.factor_l_per_psi == float(row["factor [L/psi]"])


@pytest.mark.parametrize("row", factors("other_cylinder_factors"), ids=named)
def test_other_prints_of_a_factor_are_told(row: dict[str, str]) -> None:
    """Where sources disagree, by up to 13 %, the source of the cylinder says so."""
    cylinder = find_cylinder(row["letter"], region=row["region"])
    assert 0.87 <= float(row["factor [L/psi]"]) / cylinder.factor_l_per_psi < 1
    assert row["factor [L/psi]"] in cylinder.source.text
    assert row["source"] in cylinder.source.text


def test_every_entry_names_its_source() -> None:
    """No number without a source and a basis."""
    catalogue = load_catalogue()
    tables = (catalogue.cylinders, catalogue.outlet_sets, catalogue.devices, catalogue.machines, catalogue.ladders)
    for entry in itertools.chain.from_iterable(table.values() for table in tables):
        assert len(entry.source.text) > 5
        assert isinstance(entry.source.basis, Basis)
        if "all from memory" in entry.source.text:
            assert entry.source.basis is not Basis.VERIFIED


def test_ladders_are_assumptions_whose_credits_fall_from_one() -> None:
    """The prescribed rung meets the whole need, each further one less; all are marked assumptions."""
    for ladder in load_catalogue().ladders.values():
        credits_ = [rung.credit for rung in ladder.rungs]
        assert credits_[0] == 1
        assert all(upper > lower >= 0 for upper, lower in itertools.pairwise(credits_))
        assert ladder.source.basis is Basis.ASSUMPTION


def test_ladder_flows_can_come_from_some_outlet() -> None:
    """Every rung can be served by at least one flow outlet, or by a high-pressure outlet where the device needs one."""
    catalogue = load_catalogue()
    widest = max(outlets.outlet_max_lpm for outlets in catalogue.outlet_sets.values())
    for rung in itertools.chain.from_iterable(ladder.rungs for ladder in catalogue.ladders.values()):
        assert rung.device.high_pressure or rung.flow_lpm <= widest
        assert rung.device.rule is not DrawRule.SET_FLOW or rung.device.min_lpm <= rung.flow_lpm <= rung.device.max_lpm


def test_every_valve_has_a_regulator() -> None:
    """A cylinder without built-in outlets can be used with something in the catalogue."""
    catalogue = load_catalogue()
    fits = frozenset[str]().union(*(outlets.fits for outlets in catalogue.outlet_sets.values()))
    for cylinder in catalogue.cylinders.values():
        assert cylinder.built_in is not None or cylinder.valve in fits


def test_the_catalogue_is_read_once_and_cannot_be_changed() -> None:
    """Shared by all rooms, so nobody may write into it."""
    assert load_catalogue() is load_catalogue()
    with pytest.raises(TypeError):
        load_catalogue().cylinders["US E aluminium"] = None  # type: ignore[index]


BREAKS = [
    (
        "cylinders.csv",
        "US,E,aluminium,M24,yes,4.6,680",
        "US,E,aluminium,M24,yes,4.6,many",
        "content [L]: must be a num",
    ),
    ("cylinders.csv", "US,E,steel,,,,625", "US,E,steel,,,,-1", "content [L]: must be a number above 0"),
    ("cylinders.csv", "US,E,steel,,,", "US,E,aluminium,,,", "'US E aluminium' is there twice"),
    ("cylinders.csv", "US,E,steel,,,", "US,E,steel,,yes,", "us e already means another cylinder"),
    ("cylinders.csv", "2200,3.14,published factor", "2200,,published factor", "needs a number that this row does not"),
    ("cylinders.csv", ",integral valve,1,3.5", ",no such outlets,1,3.5", "is not in outlet_sets.csv"),
    ("cylinders.csv", "threaded US,,3,22,", ",,3,22,", "either a valve for a regulator or built-in outlets"),
    ("cylinders.csv", "all from memory (122 ft3)", "", "source: must not be empty"),
    ("cylinders.csv", "(122 ft3),from memory", "(122 ft3),heard of", "basis: must be one of: verified; from memory"),
    ("cylinders.csv", "region,letter", "area,letter", "the header must be region,letter"),
    ("outlet_sets.csv", "pin index,1,0,25,25,", "pin index,1,0,25,20,", "must be above 0 and at most the total"),
    ("outlet_sets.csv", "pin index,1,0,25,25,", "pin index,0,0,25,25,", "must be at least one outlet"),
    ("outlet_sets.csv", "pin index,1,0,25,25,", "pin index,1.5,0,25,25,", "must be a whole number"),
    ("outlet_sets.csv", "pin index,1,0,25,25,", "pin index,1,0,25,", "must have 8 cells, has 7"),
    ("devices.csv", "set flow,1,6,0.24", "set flow,7,6,0.24", "must not be above max_flow"),
    ("devices.csv", "set flow,1,6,0.24,0.44", "set flow,1,6,0.54,0.44", "must not be above fio2_high"),
    ("devices.csv", "set flow,1,6,0.24,0.44,yes", "set flow,1,6,0.24,0.44,once", "must be yes or no"),
    ("devices.csv", '0.24,0.44,yes,no,0,,"nremt', '0.14,0.44,yes,no,0,,"nremt', "of at least 0.21 and at most 1"),
    ("machines.csv", "concentrator outlet 5 L/min,2", "outlet,2", "outlets: is not in outlet_sets.csv"),
    ("ladders.yaml", "flow: 10 L/min, credit: 0.9", "flow: 10 L/min, credit: 1", "must fall from rung to rung"),
    ("ladders.yaml", "flow: 10 L/min, credit: 0.9", "flow: 9 L/min, credit: 0.9", "whose range is 10 to 15 L/min"),
    ("ladders.yaml", "flow: 10 L/min, credit: 0.9", "flow: 10, credit: 0.9", "the unit is missing"),
    (
        "ladders.yaml",
        "flow: 10 L/min, credit: 0.9",
        "fio2: 1, flow: 10 L/min, credit: 0.9",
        "only the oxygen flow is set",
    ),
    ("ladders.yaml", "flow: 10 L/min, credit: 0.9", "total flow: 10 L/min, credit: 0.9", "is its flow"),
    ("ladders.yaml", "flow: 10 L/min, credit: 0.9", "flow: 10 L/min", "the key credit is missing"),
    ("ladders.yaml", "total flow: 50 L/min, fio2: 0.6,", "total flow: 50 L/min,", "needs an fio2"),
    ("ladders.yaml", "minute volume: 8 L/min, fio2: 0.4", "minute volume: 8 L/min, fio2: 0.3", "range is 0.4 to 1"),
    ("ladders.yaml", "device: partial rebreather", "device: sponge", "'sponge' is not in the catalogue"),
    ("ladders.yaml", "  title: Low need", "  titel: Low need", "the key title is missing"),
    ("ladders.yaml", "  title: Low need", "  title: Low need\n  note: x", "the key note is not known"),
    ("ladders.yaml", "  title: Low need", "  title: Low need\n  title: x", "the key title is there twice"),
    ("ladders.yaml", "  title: Low need", "  title: [Low need", "is not YAML"),
    ("ladders.yaml", "moderate need:\n", "high need:\n", "the key high need is there twice"),
]


@pytest.mark.parametrize(("file", "good", "bad", "rule"), BREAKS, ids=[rule[:40] for *_, rule in BREAKS])
def test_a_broken_row_is_told_with_its_line(folder: Path, file: str, good: str, bad: str, rule: str) -> None:
    """The file, the line and the rule; the bundled data has the good text, once or first."""
    text = (folder / file).read_text(encoding="utf-8")
    assert good in text
    line = text[: text.index(good)].count("\n") + 1
    (folder / file).write_text(text.replace(good, bad, 1), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_catalogue(folder)
    told = [mistake for mistake in caught.value.mistakes if rule in str(mistake)]
    assert told
    assert told[0].file == file
    assert abs(told[0].line - line) <= 2  # a key that is missing or not closed is told near by


def test_all_broken_files_are_told_together(folder: Path) -> None:
    """Mistakes in three files, one error."""
    for file, good, bad, _ in (BREAKS[0], BREAKS[10], BREAKS[14], BREAKS[19]):
        path = folder / file
        path.write_text(path.read_text(encoding="utf-8").replace(good, bad, 1), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_catalogue(folder)
    assert {m.file for m in caught.value.mistakes} == {
        "cylinders.csv",
        "outlet_sets.csv",
        "devices.csv",
        "ladders.yaml",
    }
