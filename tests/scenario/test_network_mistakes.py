"""One broken network per kind of mistake, each with the place and the words that it must be told with."""

from __future__ import annotations

import pytest
from made_network import network_text

from mci.errors import InputError
from mci.scenario import read_scenario

TRUCK = "{vehicle: truck 10, at: valley, slots: {US M60: 6}"
SCHOOL = "{road: school road, between: [valley, school yard]"

# what is replaced, by what, the path of the mistake, words of its rule, words of its fix
BROKEN = [
    ("network:\n", "network:\n  wagons: []\n", "network.wagons", "not a word that can stand here", ""),
    ("{depot: valley", "{deopt: valley", "network.places[0].deopt", "not a word that can stand here", "'depot'"),
    (
        "{staging: school",
        "{depot: valley}\n    - {staging: school",
        "network.places[3].depot",
        "used twice",
        "own name",
    ),
    ("{junction: bridge end}", "{junction: bridge end}\n    - {depot: west}", "network.places[5].depot", "an area", ""),
    ("lead: 3 h", "lead: 3", "network.places[1].lead", "the unit is missing", ""),
    (", lead: 3 h", "", "network.places[1].lead", "'lead' is missing", "from the request"),
    ("until: 06:00}}", "until: 20:00}}", "network.places[2].open daily", "at the same time", "always open"),
    ("until: T+240}", "until: T+100}", "network.places[0].open[2]", "ends before it begins", "later than 'from'"),
    ("{from: T+200, until", "{from: T+199, until", "network.places[0].open", "overlap", "once"),
    ("{from: 5 h}", "{}", "network.places[0].open[1]", "needs 'from', 'until' or both", ""),
    (
        "title: Valley depot, open: [",
        "open daily: {from: 06:00, until: 20:00}, open: [",
        "network.places[0]",
        "both",
        "",
    ),
    ("per hour: 12, litres per hour: 6 m3, ", "", "network.places[2]", "how fast it fills", "'per hour'"),
    ("per hour: 12, litres", "per hour: 0, litres", "network.places[2].per hour", "must be above 0", ""),
    ("fills: [US E]", "fills: []", "network.places[2].fills", "must not be empty", ""),
    ("fills: [US E]", "fills: [US EE]", "network.places[2].fills[0]", "no cylinder of this name", ""),
    ("between: [valley, bridge end]", "between: [vally, west]", "network.roads[0].between[0]", "no place", "'valley'"),
    ("between: [valley, bridge end]", "between: [valley, valley]", "network.roads[0]", "same place", "two places"),
    ("from: school yard, to: east", "from: east, to: east", "network.roads[3]", "same place", ""),
    ("from: school yard, to: east", "from: school yard", "network.roads[3]", "either 'between' or", "depot, north"),
    (SCHOOL, SCHOOL + ", to: east", "network.roads[5]", "either 'between' or", ""),
    (SCHOOL, SCHOOL + ", closed: [{from: T+9, until: T+5}]", "network.roads[5].closed[0]", "before it begins", ""),
    (SCHOOL, SCHOOL + ", closed: [{until: T+9}, {from: T+8}]", "network.roads[5].closed", "overlap", ""),
    ("{road: school road", "{road: bridge", "network.roads[5].road", "used twice", ""),
    ("{path: footbridge", "{path: bridge", "network.roads[7].path", "used twice", ""),
    ("{path: footbridge", "{path: truck 2", "network.vehicles[1].vehicle", "used twice", ""),
    ("{path: footbridge", "{path: west > east", "network.roads[7].path", "must not contain '>'", "Leave it out"),
    ("walk: 12 min", "walk: 12 min, drive: 9 min", "network.roads[7].drive", "not a word that can stand here", ""),
    (
        "{porters: trolley, at: west",
        "{porters: trolley, at: valley",
        "network.vehicles[2].at",
        "no path leads",
        "Add a",
    ),
    ("{porters: trolley", "{porters: truck 2", "network.vehicles[2].porters", "used twice", ""),
    ("slots: {US M60: 6}", "slots: {}", "network.vehicles[0].slots", "must not be empty", ""),
    ("slots: {US M60: 6}", "slots: {US M60: 6, US M60 aluminium: 2}", "network.vehicles[0].slots", "twice", "once"),
    ("slots: {US M60: 6}", "slots: {US M60: 0}", "network.vehicles[0].slots.US M60", "whole number from 1", ""),
    ("truck 10, at: valley", "truck 10, at: valey", "network.vehicles[0].at", "no place of this name", "'valley'"),
    ("from: T+15, until: 22:00", "from: T+500, until: 22:00", "network.vehicles[1]", "ends before it begins", ""),
    ("payload: 900 kg", "payload: 900 psi", "network.vehicles[1].payload", "is not a mass", ""),
    ("at: gasworks}", "at: bridge end}", "network.stock[3].at", "is a junction", "staging"),
    ("at: gasworks}", "at: west}", "network.stock[3].at", "is a treatment area", "'lends'"),
    ("at: hilltop}", "at: gasworks}", "network.stock[4].at", "is a supplier, which takes no empties", "fill station"),
    ("at: gasworks}", "at: gaswork}", "network.stock[3].at", "no place of this name", "'gasworks'"),
    ("pressure: full, at: gas", "pressure: 3000 psi, at: gas", "network.stock[3].pressure", "more than 10 % above", ""),
    (
        "regulator: yoke regulator 0-15 L/min, count: 6",
        "regulator: wall outlet pair, count: 6",
        "network.stock[5].regulator",
        "not a regulator for a cylinder",
        "",
    ),
    ("device: nasal cannula, count: 50", "device: hose, count: 50", "network.stock[6].device", "no device of this", ""),
    (
        "device: nasal cannula, count: 50",
        "device: nasal cannula, count: unlimited",
        "network.stock[6].count",
        "whole number",
        "",
    ),
    ("lends:\n    - west", "lends:\n    - valley", "network.lends[0]", "no area of this name", ""),
    ("patients:", "reserve: {west: 9 L}\npatients:", "network.lends[0]", "has a reserve to keep", "Remove"),
    ("US M60: 13 kg", "US M60: 2 kg", "network.cylinder masses.US M60 aluminium", "less than the gas in it", "full"),
    ("crews: 6", "crews: 0", "network.crews", "whole number from 1", ""),
    ("start: 14:30, ", "", "network.places[2].open daily", "need the clock time", "start: 14:35"),
]


@pytest.mark.parametrize(("old", "new", "path", "rule", "fix"), BROKEN, ids=[f"{b[2]}-{b[3][:18]}" for b in BROKEN])
def test_mistake_is_told_with_place_rule_and_fix(write, old, new, path, rule, fix):
    """A single mistake gives exactly one entry, at its line, with the rule and the way to mend it."""
    text = network_text().replace("until: 22:00", "until: T+450")
    old, new = old.replace("until: 22:00", "until: T+450"), new.replace("until: 22:00", "until: T+450")
    assert old in text
    text = text.replace(old, new, 1)
    with pytest.raises(InputError) as caught:
        read_scenario(write(text))
    (mistake,) = caught.value.mistakes
    assert mistake.path == path
    assert rule in mistake.rule
    assert fix in mistake.fix
    assert mistake.line is not None
    assert text.splitlines()[mistake.line - 1].strip()


def test_area_with_nothing_to_lend_is_told(write):
    """An area whose supplies are all unlimited or brought later lends nothing."""
    text = network_text().replace("count: 30", "count: unlimited")
    text = text.replace("  - {cylinder: US E aluminium, count: 5, pressure: 2000 psi, area: west}\n", "")
    text = text.replace("  - {regulator: yoke regulator 0-15 L/min, count: 8, area: west}\n", "")
    with pytest.raises(InputError, match="has nothing to lend"):
        read_scenario(write(text))


def test_unknown_mass_is_asked_for_where_it_matters(write):
    """A cylinder without a known mass is a mistake on a vehicle whose payload is limited, and only there."""
    text = network_text().replace("US M60: 13 kg", "US E: 5 kg").replace("US M60", "EU 10L 200 bar")
    text = text.replace("resupply: {cylinder: EU 10L 200 bar", "resupply: {cylinder: US M60")
    with pytest.raises(InputError) as caught:
        read_scenario(write(text))
    (mistake,) = caught.value.mistakes
    assert mistake.path == "network.vehicles[1].payload"
    assert "no mass of one EU 10L 200 bar is known" in mistake.rule
    assert "cylinder masses: {EU 10L 200 bar: 16 kg}" in mistake.fix
    assert read_scenario(write(text.replace("payload: 900 kg, ", ""))).network is not None


def test_full_cylinder_too_low_to_fill_is_told(write):
    """A fill station cannot give what would not be brought into service."""
    text = network_text() + "in service minimum: 2100 psi\n"
    with pytest.raises(InputError) as caught:
        read_scenario(write(text))
    assert [mistake.path for mistake in caught.value.mistakes] == ["network.places[2].fills"]


def test_mistakes_of_all_parts_are_told_together(write):
    """Mistakes of supplies, regulators, places, roads, vehicles and stock come in one list."""
    text = network_text().replace("2000 psi", "3000 psi").replace("start: 14:30, ", "")
    text = text.replace("until: 22:00", "until: T+450").replace("{road: school road", "{road: bridge")
    text = text.replace("at: west, slots", "at: valley, slots").replace("at: gasworks}", "at: bridge end}")
    with pytest.raises(InputError) as caught:
        read_scenario(write(text))
    assert {mistake.path for mistake in caught.value.mistakes} >= {
        "supplies[0].pressure",
        "network.places[2].open daily",
        "network.roads[5].road",
        "network.vehicles[2].at",
        "network.stock[3].at",
    }


def test_places_that_cannot_be_read_bring_no_further_mistakes(write):
    """Where 'places' is no list, that is told, and not that every road leads to an unknown place."""
    head, tail = network_text().split("  places:\n")
    text = head + "  places: none\n  roads:\n" + tail.split("  roads:\n")[1]
    with pytest.raises(InputError) as caught:
        read_scenario(write(text))
    assert [m.path for m in caught.value.mistakes] == ["network.places"]
