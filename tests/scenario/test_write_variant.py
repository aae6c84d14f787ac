"""A sampled incident written as a scenario is that incident, with what the caches bring in it."""

from __future__ import annotations

import csv
import dataclasses
import io
import json
import math
import pathlib
import random
import shutil
from collections.abc import Mapping

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import mci
from mci.cells import safe_text
from mci.demand.groups import count_demand
from mci.lp.allocate import build, weighted_need
from mci.lp.solve import Solver
from mci.scenario.brought_text import Brought, brought_by
from mci.scenario.cache_reach import arrivals
from mci.scenario.draft import Draft, read_draft
from mci.scenario.model import Scenario
from mci.scenario.schema import ScenarioFile
from mci.scenario.stocking import Stocking
from mci.scenario.write_variant import SECTIONS, Origin, write_variant
from mci.scenario.written import keys_of
from mci.stocking.fill import Parcels, fill
from mci.surge.sampling import draw

FOLDER = pathlib.Path(mci.__file__).parents[1] / "scenarios"
NAMES = ("ferry-fire", "tunnel-fire", "county-fair", "two-trailers")
#: For scenarios without caches: every kind of thing, some of it in an unusual way, and machines where no power is.
CACHES = """
stocking:
  caches:
    - cache: "van, 'red'"
      stations: [{at: valley, sets off: 5 min 20 s, reaches: AREAS}]
    - cache: oxygen van from the valley
      stations: [{at: valley, sets off: T+0, reaches: AREAS}]
  candidates:
    - {cylinder: US E, pressure: 1900 psi, units: 2, buy: 1, residual: 15 bar, temperature: 70 F, change: 90 s}
    - {name: cold one, cylinder: EU 10L 200 bar, pressure: 150 bar, buy: 1, temperature: -5 C, gas model: real gas}
    - {cylinder: US M60, pressure: full, buy: 1}
    - {regulator: yoke regulator 0-15 L/min, buy: 1}
    - {device: nasal cannula, buy: 1}
    - {name: few cannulas, device: nasal cannula, units: 5, buy: 1}
    - {concentrator: concentrator 5 L/min, buy: 1, change: 4 min}
    - {name: as usual, concentrator: concentrator 5 L/min, buy: 1}
    - {people: 2, yearly: 1}
"""


def _draft(name: str, folder: pathlib.Path) -> Draft:
    """Return a bundled scenario, with caches where it has none."""
    for path in FOLDER.glob(f"{name}*"):
        shutil.copy(path, folder)
    path = folder / f"{name}.yaml"
    text = path.read_text(encoding="utf-8")
    if "\nstocking:" not in text:
        areas = "{north: 7 min, south: 1 h}" if name == "tunnel-fire" else "{quay: 7 min}"
        path.write_text(text + CACHES.replace("AREAS", areas), encoding="utf-8")
    return read_draft(path)


@pytest.fixture(scope="module", params=NAMES)
def draft(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Draft:
    return _draft(request.param, tmp_path_factory.mktemp("drafts"))


def _parcels(scenario: Scenario, stocking: Stocking, seed: int, most: tuple[int, ...] = (0, 1, 2, 6)) -> Parcels:
    """Return random units of everything for every area to which a cache comes."""
    dice = random.Random(seed)  # noqa: S311 - no secret
    parcels: dict[tuple[str, str, str], Mapping[str, int]] = {}
    for cache in stocking.caches:
        station = dice.choice(cache.stations)
        for area in arrivals(station, scenario.network):
            units = {candidate.key: dice.choice(most) for candidate in stocking.candidates}
            parcels[cache.key, station.place, area] = {key: count for key, count in units.items() if count}
    return parcels


def _written(draft: Draft, values: Mapping[str, str], brought: tuple[Brought, ...], **given: str) -> Mapping[str, str]:
    named = {"name": "Sample 7", "summary": "One of many.", "file": "incident-7.yaml", **given}
    return write_variant(draft, values, brought, origin=Origin(7, 11), **named)


def _read(files: Mapping[str, str], folder: pathlib.Path) -> Scenario:
    for name, content in files.items():
        (folder / name).write_text(content, encoding="utf-8", newline="")
    return mci.read_scenario(folder / next(iter(files)))


def _rounded(value: object) -> object:
    return float(f"{value:.12g}") if isinstance(value, float) else value


def _plain(stocks: object, horizon: float = math.inf) -> list[str]:
    """Return stocks without their names, and with which of them come; people and power only where there are any."""
    found = []
    for stock in stocks:  # type: ignore[attr-defined]
        known = {field.name: _rounded(getattr(stock, field.name)) for field in dataclasses.fields(stock)}
        if "people" in known or "watts" in known:
            known["available_until"] = min(known["available_until"], horizon)
            if known["available_from"] >= horizon or known.get("watts") == 0:
                continue
        comes = bool(known.pop("delivery", ""))
        found.append(repr({**known, "key": "", "comes": comes}))
    return sorted(found)


def _essence(scenario: Scenario) -> dict[str, object]:
    """Return all that an incident is, in a form in which names of stocks and their order do not matter."""
    everything = {field.name: getattr(scenario, field.name) for field in dataclasses.fields(scenario)}
    for apart in ("file", "sha256", "name", "summary", "assumptions", "uncertainty", "stocking"):
        del everything[apart]
    for stocks in ("lots", "regulators", "devices", "staff", "power"):
        everything[stocks] = _plain(everything[stocks], scenario.horizon)
    return everything


def _filled(
    draft: Draft, values: Mapping[str, str], seed: int, most: tuple[int, ...] = (0, 1, 2, 6)
) -> tuple[Scenario, Mapping[str, str]]:
    """Return an incident with random parcels, and the files that say it."""
    scenario, stocking = draft.scenario(values), draft.scenario().stocking
    assert stocking is not None
    parcels = _parcels(scenario, stocking, seed, most)
    return fill(scenario, stocking, parcels), _written(draft, values, brought_by(scenario, stocking, parcels))


def test_the_file_is_the_incident(draft: Draft, tmp_path: pathlib.Path) -> None:
    """Patients, supplies, moments, rules and network are those of the incident that was drawn and filled."""
    assert draft.uncertainty is not None
    for case in draw(draft.uncertainty, draft.numbers, 6, 5).cases:
        filled, files = _filled(draft, case.values, int(case.key))
        again = _read(files, tmp_path)
        assert _essence(again) == _essence(filled)
        assert (again.name, again.summary) == ("Sample 7", "One of many.")
        assert again.uncertainty is again.stocking is None


def _best(scenario: Scenario) -> float:
    """Return the bound that :func:`mci.lp.allocate.allocate` finds in its first stage, which is all that is asked."""
    built = build(scenario, count_demand(scenario))[2]
    return float(built.aims[0] @ Solver(built).minimise(-built.aims[0]).values)


def test_the_best_possible_is_the_same(draft: Draft, tmp_path: pathlib.Path) -> None:
    """No better and no worse a plan can be made from the file than for the incident, which needs more than it has."""
    assert draft.uncertainty is not None
    case = draw(draft.uncertainty, draft.numbers, 4, 8).cases[3]
    values = {**case.values, "incident.horizon": "90 min"}  # shorter, to be quick
    filled, files = _filled(draft, values, 3, (0, 1))
    bound = _best(filled)
    assert _best(_read(files, tmp_path)) == pytest.approx(bound, rel=1e-9)
    assert _best(draft.scenario(values)) < 0.99 * bound < 0.98 * weighted_need(filled, count_demand(filled))


@pytest.mark.parametrize("name", sorted(path.stem for path in FOLDER.glob("*.yaml")))
def test_every_bundled_scenario_can_be_written(name: str, tmp_path: pathlib.Path) -> None:
    """As it stands, with nothing that comes, the file is the scenario."""
    draft = read_draft(FOLDER / f"{name}.yaml")
    again = _read(_written(draft, {}, ()), tmp_path)
    assert _essence(again) == _essence(draft.scenario())
    assert again.assumptions == draft.scenario().assumptions or draft.scenario().stocking is not None


def test_the_whole_language_can_be_written(write, example: str, beside: dict[str, str], tmp_path: pathlib.Path) -> None:
    """Every section but what is uncertain and what may be packed is written, in the order in which it is told."""
    draft = read_draft(write(example, **beside))
    files = _written(draft, {}, ())
    tree = yaml.safe_load(files["incident-7.yaml"])
    told = [key for key in yaml.load(example, Loader=yaml.BaseLoader) if key in tree]  # noqa: S506 - makes texts only
    assert list(tree) == list(SECTIONS)
    assert sorted(SECTIONS) == sorted(told)
    assert set(keys_of(ScenarioFile)) - set(SECTIONS) == {"stocking", "uncertain"}
    folder = tmp_path / "again"
    folder.mkdir()
    assert _essence(_read(files, folder)) == _essence(draft.scenario())


def test_what_a_candidate_was_packed_for_stays(tmp_path: pathlib.Path) -> None:
    """Where the incident itself has another residual pressure, cylinders keep the one they were packed for."""
    draft = _draft("ferry-fire", tmp_path)
    path = tmp_path / "ferry-fire.yaml"
    path.write_text(path.read_text(encoding="utf-8") + "\nresidual: 200 psi\n", encoding="utf-8")
    draft = read_draft(path)
    filled, files = _filled(draft, {"residual": "20 bar"}, 4)
    assert _essence(_read(files, tmp_path)) == _essence(filled)
    assert "residual: 200 psi}" in files["incident-7.yaml"]


LONELY = """\
incident: {name: Hut, horizon: 2 h}
areas: {hut: Hut, inn: Inn}
patients: [{patient: A, category: immediate, area: hut, ladder: low need, arrive: T+10}]
devices: [{device: nasal cannula, count: 0, area: hut}]
resupply: {cylinder: US E, regulator: yoke regulator 0-15 L/min}
"""


@pytest.mark.parametrize("people", [0, 1])
def test_where_nobody_is_and_no_power(write, people: int, tmp_path: pathlib.Path) -> None:
    """What comes to a place without people or power can be read, and neither is made up there."""
    draft = read_draft(write(LONELY + CACHES.replace("AREAS", "{hut: 5 min, inn: 0}")))
    scenario, stocking = draft.scenario(), draft.scenario().stocking
    assert stocking is not None
    held = {"US E aluminium": 1, "as usual": 2, **({"people": people} if people else {})}
    parcels: Parcels = {("van, 'red'", "valley", "hut"): held}
    files = _written(draft, {}, brought_by(scenario, stocking, parcels))
    again = _read(files, tmp_path)
    assert _essence(again) == _essence(fill(scenario, stocking, parcels))
    assert "power: 0 W" in files["incident-7.yaml"]
    assert ("nobody is there" in files["incident-7.yaml"]) == (people == 0)


def test_what_comes_is_written_as_a_planner_would(tmp_path: pathlib.Path) -> None:
    """Amounts stand in the units in which they have few digits, and moments in minutes and seconds."""
    draft = _draft("tunnel-fire", tmp_path)
    scenario, stocking = draft.scenario(), draft.scenario().stocking
    assert stocking is not None
    held = {candidate.key: 2 for candidate in stocking.candidates}
    parcels: Parcels = {("van, 'red'", "valley", "south"): held}
    text = _written(draft, {}, brought_by(scenario, stocking, parcels))["incident-7.yaml"]
    assert (
        """\
  - delivery: van, 'red'
    at: T+65 min 20 s
    area: south
    brings:
      - {cylinder: US E aluminium, count: 2, pressure: 1900 psi, residual: 15 bar, temperature: 70 F, change: 90 s}
      - {cylinder: EU 10L 200 bar, count: 2, pressure: 150 bar, temperature: "-5 C", gas model: real gas}
      - {cylinder: US M60 aluminium, count: 2, pressure: full}
      - {regulator: yoke regulator 0-15 L/min, count: 2}
      - {device: nasal cannula, count: 2}
      - {device: nasal cannula, count: 2}
      - {concentrator: concentrator 5 L/min, count: 2, change: 4 min}
      - {concentrator: concentrator 5 L/min, count: 2}
"""
        in text
    )
    assert "  - {people: 2, area: south, from: T+65 min 20 s}   # with van, 'red'\n" in text
    assert "  - {power: 0 W, area: south}   # no power is there for the machines that come\n" in text


def test_deliveries_have_names_of_their_own(tmp_path: pathlib.Path) -> None:
    """A cache is called by its name, with the area where it goes to several, also where a delivery is called so."""
    draft = _draft("tunnel-fire", tmp_path)
    stocking = draft.scenario().stocking
    assert stocking is not None
    one = (stocking.candidates[0], 3)
    van = "oxygen van from the valley"
    brought = (
        *(Brought("red", area, 5.0, (one,)) for area in ("north", "south")),
        Brought(van, "north", 7.25, (one,)),
        Brought("people only", "north", 9.0, ((stocking.candidates[-1], 2),)),
    )
    tree = yaml.safe_load(_written(draft, {}, brought)["incident-7.yaml"])
    assert [(line["delivery"], line["at"]) for line in tree["deliveries"]] == [
        (van, "T+110"),
        ("red, to north", "T+5"),
        ("red, to south", "T+5"),
        (f"{van} #2", "T+7.25"),
    ]
    assert tree["staff"][-1] == {"people": 2, "area": "north", "from": "T+9"}


def test_the_file_says_what_it_is(tmp_path: pathlib.Path) -> None:
    """Its first lines tell which sample of which scenario it is, that it is no report, and in what it differs."""
    draft = _draft("tunnel-fire", tmp_path)
    values = {"patients.south.count": "7", "patients.south, walking.count": "6"}
    text = _written(draft, values, (Brought("red van", "north", 65.0, ()),))["incident-7.yaml"]
    head = text.partition("incident:")[0]
    words = " ".join(head.replace("#", " ").split())
    assert "Sampled incident 7 of 'Lorry fire in the ridge tunnel' (tunnel-fire.yaml), drawn with seed 11" in words
    assert "for planning and exercises" in words
    assert "patients.south.count: 7, not 10" in words
    assert "walking" not in words  # is as written
    assert "red van comes to north at T+65 (08:55)" in words
    assert all(line.startswith("#") for line in head.splitlines())
    assert max(map(len, text.splitlines())) <= 120
    assert text.count("# mother of N09") == 1


NASTY = (
    "yes", "null", "~", "- x", "-x", "a: b", "a #b", "# no", 'say "so"', "it's", "'quoted'", "{x}", "[1, 2]", "x:",
    "? y", "Zürich 🚑", "氧", "\\U", "0x1F", "007", "=1+1", "+1", "@SUM(A1)", "*a", "&b", "!t", "%d", ">", "|", "---",
    "<<", "1e3", "14:35", "T+5", ",", "a;b", "'=x", "unlimited", "full", "x, to y",
)  # fmt: skip
_PRINTABLE = st.text(st.characters(exclude_categories=("C", "Z"), include_characters=" "), min_size=1, max_size=25)
_NAMES = st.lists(
    st.sampled_from(NASTY) | _PRINTABLE.map(str.strip).filter(bool), min_size=10, max_size=10, unique_by=str.lower
)


def _table(*rows: tuple[str, ...]) -> str:
    stream = io.StringIO()
    csv.writer(stream).writerows([safe_text(cell) for cell in row] for row in rows)
    return stream.getvalue()


def _named(names: list[str], folder: pathlib.Path) -> Draft:
    """Return a scenario in which the planner's own names are these; written as JSON, which is YAML too."""
    area, lone, batch, walker, ladder, regulator, machine, cylinder, place, delivery = names
    thing = {"outlets": "1", "outlet flow": "15 L/min", "total flow": "15 L/min"}
    tree = {
        "incident": {"name": lone, "horizon": "2 h", "inspection date": "2026-05-01"},
        "areas": {area: batch},
        "patients": [
            {"patient": lone, "category": "immediate", "area": area, "ladder": ladder, "arrive": "T+5"},
            {"batch": batch, "count": "3", "category": "minimal", "area": area, "ladder": ladder, "arrive": "T+5"},
            {"roster": "patients.csv"},
        ],
        "supplies": [
            {"inventory": "cylinders.csv"},
            {"cylinder": cylinder, "count": "2", "pressure": "full", "area": area},
            {"piped": place, "area": area, **thing},
        ],
        "regulators": [{"regulator": regulator, "count": "2", "area": area}],
        "devices": [{"device": "nasal cannula", "count": "unlimited", "area": area}],
        "staff": [{"people": "unlimited", "area": area}],
        "power": [{"power": "unlimited", "area": area}],
        "deliveries": [
            {"delivery": delivery, "at": "T+9", "area": area, "brings": [{"regulator": regulator, "count": "1"}]}
        ],
        "resupply": {"cylinder": cylinder, "regulator": regulator},
        "ladders": {
            ladder: {
                "title": place,
                "source": machine,
                "rungs": [{"device": "nasal cannula", "flow": "2 L/min", "credit": "1"}],
            }
        },
        "regulator kinds": {regulator: {"fits": [place], **thing}},
        "machine kinds": {machine: {"power": "350 W", **thing}},
        "cylinder kinds": {
            cylinder: {
                "content": "680 L", "full pressure": "2015 psi", "reference": "-5 C", "valve": place, "change": "2 min",
            }
        },
        "stocking": {
            "caches": [{"cache": delivery, "stations": [{"at": place, "sets off": "T+5", "reaches": {area: "2 min"}}]}],
            "candidates": [
                {"name": "1", "cylinder": cylinder, "pressure": "1900 psi", "buy": "1"},
                {"name": "2", "regulator": regulator, "buy": "1"},
                {"name": "3", "concentrator": machine, "buy": "1"},
                {"name": "4", "device": "nasal cannula", "buy": "1"},
                {"people": "1", "buy": "1"},
            ],
        },
    }  # fmt: skip
    roster = [
        ("patient", "category", "area", "ladder", "arrive", "change", "stay", "note"),
        (walker, "delayed", area, ladder, "T+20", "", "50 min", batch),
        (walker, "minimal", area, ladder, "", "T+30", "", delivery),
        (f"{walker}{walker}", "delayed", area, ladder, "T+25", "", "", ""),
    ]
    inventory = [
        ("id", "cylinder", "pressure", "area", "test date", "note"),
        (lone, cylinder, "1900 psi", area, "2024-05", batch),
        (walker, cylinder, "full", area, "", place),
    ]
    (folder / "patients.csv").write_text(_table(*roster), encoding="utf-8")
    (folder / "cylinders.csv").write_text(_table(*inventory), encoding="utf-8")
    (folder / "named.yaml").write_text(json.dumps(tree, ensure_ascii=False), encoding="utf-8")
    return read_draft(folder / "named.yaml")


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(_NAMES)
def test_names_survive(tmp_path: pathlib.Path, names: list[str]) -> None:
    """Whatever a planner calls things, they are called so again, and no cell of a table is a formula."""
    draft = _named(names, tmp_path)
    filled, _ = _filled(draft, {}, len(names[0]))
    stocking = filled.stocking
    assert stocking is not None
    brought = brought_by(draft.scenario(), stocking, _parcels(draft.scenario(), stocking, len(names[0])))
    files = _written(draft, {}, brought, name=names[0], summary=names[1])
    again = _read(files, tmp_path)
    assert (again.name, again.summary) == (" ".join(names[0].split()), " ".join(names[1].split()))
    assert _essence(again) == _essence(filled)
    for row in csv.reader(io.StringIO(files["incident-7-cylinders.csv"])):
        assert not any(cell.startswith(("=", "+", "-", "@")) for cell in row)


def test_inventories_have_files_of_their_own(write, right: str, tmp_path: pathlib.Path) -> None:
    """Two inventories stay two files, named after the scenario; a sheet of a workbook becomes one too."""
    rows = ("id,cylinder,pressure,area,test date\n", "7,US E,full,west,2025-01\n", "8,US E,full,east,2025-01\n")
    lines = "supplies:\n  - {inventory: a.csv}\n  - {inventory: b.csv}\n"
    draft = read_draft(write(right.replace("supplies:\n", lines), a__csv=rows[0] + rows[1], b__csv=rows[0] + rows[2]))
    files = _written(draft, {}, (), file="drill.yaml")
    assert list(files) == ["drill.yaml", "drill-cylinders.csv", "drill-cylinders-2.csv"]
    assert _essence(_read(files, tmp_path)) == _essence(draft.scenario())
