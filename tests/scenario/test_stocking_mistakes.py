"""One broken section ``stocking`` per kind of mistake, each with the place and the words that it must be told with."""

from __future__ import annotations

import pytest
from made_stocking import stocking_text

from mci.errors import InputError
from mci.scenario import read_scenario

HALL = "{at: fire hall, sets off: T+2"
E_LINE = "{cylinder: US E, pressure: 1900 psi"
COVERAGE = "{category: immediate, coverage: 99 %}"

# what is replaced, by what, the path of the mistake within the section, words of its rule, words of its fix
BROKEN = [
    ("  years: 5", "  year: 5", "year", "not a word that can stand here", "'years'"),
    ("  years: 5", "  years: 0", "years", "must be above 0", ""),
    ("budget: 9000.50", "budget: -1", "budget", "must not be negative", ""),
    (
        "    - cache: cupboard",
        f"    - {{cache: trailer, stations: [{HALL}, reaches: {{gate: 0}}}}]}}\n    - cache: cupboard",
        "caches[1].cache",
        "used twice",
        "own name",
    ),
    ("payload: 900 lb", "payload: 900", "caches[0].payload", "the unit is missing", ""),
    ("gas limit: 300 ft3", "gas limit: 0", "caches[0].gas limit", "must be above 0", ""),
    ("slots: {rack: 24, drawer: 2.5}", "slots: {}", "caches[0].slots", "must not be empty", ""),
    (
        "[{at: field tent, sets off: 0, reaches: {field: 0}}]",
        "[]",
        "caches[1].stations",
        "must not be empty",
        "",
    ),
    ("      stations: [{at: field tent, sets off: 0, reaches: {field: 0}}]\n", "", "caches[1].stations", "", ""),
    (HALL, "{at: north gate, sets off: T+2", "caches[0].stations[1].at", "used twice", ""),
    (", sets off: T+2", "", "caches[0].stations[1].sets off", "is missing", "on the road"),
    ("reaches: {field: 20 min}", "reaches: {fild: 20 min}", "caches[0].stations[1].reaches.fild", "no area", "'field'"),
    ("reaches: {field: 20 min}", "reaches: {}", "caches[0].stations[1].reaches", "must not be empty", ""),
    ("reaches: {field: 20 min}", "reaches: {field: -5 min}", "caches[0].stations[1].reaches.field", "negative", ""),
    (", reaches: {field: 20 min}", "", "caches[0].stations[1]", "there is no network", "reaches: {field: 10 min}"),
    ("US E: 2", "US EE: 2", "caches[0].owned.US EE", "not among the candidates", "US E aluminium"),
    ("US E: 2", "US M60: 2", "caches[0].owned.US M60", "not among the candidates", ""),
    ("US E: 2", "US E: 1, US E aluminium: 1", "caches[0].owned.US E aluminium", "twice", "once"),
    ("L/min: 6, US E", "L/min: 41, US E", "caches[0].owned.yoke regulator 0-15 L/min", "more than the 40", "at most"),
    ("US E: 2", "US E: 1.5", "caches[0].owned.US E", "whole number", ""),
    ("payload: 900 lb", "payload: 40 lb", "caches[0].owned", "20.7 kg, and its payload is 18.1 kg", "own fewer"),
    ("volume: 2.5 m3", "volume: 30 L", "caches[0].owned", "31.0 L of room, and it has 30.0 L", ""),
    ("gas limit: 300 ft3", "gas limit: 90 ft3", "caches[0].owned", "2 565 L of oxygen, and 2 549 L may be", ""),
    ("rack: 24", "rack: 1", "caches[0].owned", "2 slots of the kind 'rack', and it has 1", ""),
    (E_LINE, "{cylindr: US E, pressure: 1900 psi", "candidates[0].cylindr", "not a word that can", "'cylinder'"),
    (", pressure: 1900 psi", "", "candidates[0].pressure", "is missing", ""),
    ("1900 psi", "400 psi", "candidates[0].pressure", "below the in-service minimum", "it is kept"),
    ("1900 psi", "3000 psi", "candidates[0].pressure", "above the 2015 psi", ""),
    ("1900 psi", "1900 psi, gas model: rated", "candidates[0].gas model", "must be one of", ""),
    (
        "{regulator: yoke regulator 0-15 L/min, buy",
        "{regulator: yoke, buy",
        "candidates[1].regulator",
        "no regulator",
        "",
    ),
    (
        "{concentrator: concentrator 5 L/min",
        "{concentrator: PSA plant 2 m3/h",
        "candidates[4].concentrator",
        "is a plant",
        "",
    ),
    (
        "{device: nasal cannula, units: 10",
        "{device: cannula, units: 10",
        "candidates[2].device",
        "no device",
        "'nasal cannula'",
    ),
    (
        "at most: 3}",
        "at most: 3}\n    - {people: 1, yearly: 9}",
        "candidates[6].people",
        "offered twice",
        "name: full one",
    ),
    ("{people: 2, yearly", "{name: US E aluminium, people: 2, yearly", "candidates[5].name", "offered twice", ""),
    ("units: 10, buy: 18", "units: 0, buy: 18", "candidates[2].units", "whole number from 1", ""),
    ("at most: 40", "at most: 4.5", "candidates[1].at most", "whole number", ""),
    (" buy: 45,", "", "candidates[1]", "does not say what it costs", "0 where it costs nothing"),
    ("buy: 45", "buy: 45 $", "candidates[1].buy", "is not a number", ""),
    (", weight: 1 lb", "", "candidates[1]", "no weight, and the payload of 'trailer' is limited", "weight: 8 lb"),
    (", volume: 0.5 L", "", "candidates[1]", "no volume, and the volume of 'trailer' is limited", "volume: 7 L"),
    ("slot: drawer, slots: 0.5", "slots: 0.5", "candidates[2]", "does not say of which kind", "slot: rack"),
    ("people: 2, yearly", "people: 0, yearly", "candidates[5].people", "whole number from 1", ""),
    ("category: minimal, without", "category: minor, without", "goals[2].category", "must be one of", "minimal"),
    ("coverage: 99 %", "coverage: 101 %", "goals[0].coverage", "is not a share", ""),
    (COVERAGE, "{category: immediate}", "goals[0]", "either 'coverage' or 'without oxygen'", "two goals"),
    ("60 min, worst", "60 min, coverage: 1, worst", "goals[1]", "either 'coverage' or", ""),
    ("worst: 5 %", "worst: 0 %", "goals[1]", "are no incidents", "above 0"),
    ("worst: 5 %", "worst: 105 %", "goals[1].worst", "is not a share", ""),
    ("coverage: 99 %}", "coverage: 99 %, worst: 5 %}", "goals[0]", "about minutes", ""),
    (COVERAGE, f"{COVERAGE}\n    - {COVERAGE}", "goals[1]", "second goal of this kind", "stricter"),
    ("cupboard: {few", "cupbord: {few", "rules of thumb[0].packs.cupbord", "no cache", "'cupboard'"),
    (
        "cupboard: {few",
        "cupboard: {many",
        "rules of thumb[0].packs.cupboard.many cannulas",
        "not among",
        "'few cannulas'",
    ),
    ("aluminium: 3", "aluminium: 100", "rules of thumb[0].packs.trailer.US E aluminium", "more than the 99", ""),
    (
        "    - {rule: one each",
        "    - {rule: one each, packs: {trailer: {}}}\n    - {rule: one each",
        "rules of thumb[1].rule",
        "used twice",
        "",
    ),
]


@pytest.mark.parametrize(
    ("old", "new", "path", "rule", "fix"), BROKEN, ids=[f"{b[2]}-{i}" for i, b in enumerate(BROKEN)]
)
def test_mistake_is_told(write, old, new, path, rule, fix):
    """Each mistake is the only one, with its place, its rule and a way to mend it."""
    text = stocking_text((old, new))
    with pytest.raises(InputError) as caught:
        read_scenario(write(text))
    (mistake,) = caught.value.mistakes
    assert mistake.path == f"stocking.{path}"
    assert rule in mistake.rule
    assert fix in mistake.fix
    assert text.splitlines()[mistake.line - 1].strip()


@pytest.mark.parametrize(
    ("place", "rule", "fix"),
    [("fire hal", "no place of this name in the network", "'fire hall'"), ("bridge end", "is a junction", "staging")],
)
def test_station_must_be_a_place_of_the_network(write, place, rule, fix):
    """Where there is a network, a cache stands at a place of it where things are kept."""
    with pytest.raises(InputError) as caught:
        read_scenario(write(stocking_text((HALL, HALL.replace("fire hall", place)), network=True)))
    (mistake,) = caught.value.mistakes
    assert (mistake.path, mistake.value) == ("stocking.caches[0].stations[1].at", place)
    assert rule in mistake.rule
    assert fix in mistake.fix


def test_slot_that_no_cache_has_is_told_where_all_say_theirs(write):
    """A misspelt kind of slot is a mistake, unless some cache takes anything because it says nothing of slots."""
    misspelt = ("slot: rack", "slot: rak")
    assert read_scenario(write(stocking_text(misspelt, ("US E: 2", "US E: 0")))).stocking is not None
    closed = ("- cache: cupboard\n", "- cache: cupboard\n      slots: {drawer: 9}\n")
    with pytest.raises(InputError) as caught:
        read_scenario(write(stocking_text(misspelt, closed, ("US E: 2", "US E: 0"))))
    (mistake,) = caught.value.mistakes
    assert (mistake.path, mistake.value) == ("stocking.candidates[0].slot", "rak")
    assert "no cache has slots of this kind" in mistake.rule
    assert "'rack'" in mistake.fix


def test_mistakes_of_all_parts_are_told_together(write):
    """What is wrong with caches, candidates, goals and lists comes in one list, with what is wrong elsewhere."""
    text = stocking_text(
        ("pressure: full, area: field", "pressure: 3000 psi, area: field"),
        ("cache: cupboard", "cache: trailer"),
        ("1900 psi", "400 psi"),
        ("weight: 1 lb, ", ""),
        (COVERAGE, f"{COVERAGE}\n    - {COVERAGE}"),
        ("few cannulas: 2", "many cannulas: 2"),
    )
    with pytest.raises(InputError) as caught:
        read_scenario(write(text))
    assert {mistake.path for mistake in caught.value.mistakes} >= {
        "supplies[0].pressure",
        "stocking.caches[1].cache",
        "stocking.candidates[0].pressure",
        "stocking.candidates[1]",
        "stocking.goals[1]",
    }
