"""One broken scenario per kind of mistake, each with the place and the words that it must be told with."""

from __future__ import annotations

import pytest

from mci.errors import InputError
from mci.scenario import read_scenario

ROSTER = "patient,category,area,ladder,arrive\nr1,delayed,west,low need,T+20\n"
INVENTORY = "id,cylinder,pressure,area,test date\n101,US E,1900 psi,west,2024-05\n"

# what is replaced, by what, the path of the mistake, words of its rule, words of its fix
BROKEN = [
    ("horizon: 4 h", "hroizon: 4 h", "incident.hroizon", "not a word that can stand here", "Did you mean 'horizon'?"),
    ("  horizon: 4 h\n", "", "incident.horizon", "'horizon' is missing", "Length of the plan"),
    ("horizon: 4 h", "horizon: 4", "incident.horizon", "the unit is missing", ""),
    ("horizon: 4 h", "horizon: 0", "incident.horizon", "longer than 0", ""),
    ("horizon: 4 h", "horizon: 15 d", "incident", "longer than 14 days", ""),
    ("horizon: 4 h", "horizon: 3 min", "patients", "nobody arrives before the end", "longer horizon"),
    ("horizon: 4 h", "horizon:", "incident.horizon", "has no value", "Write a value"),
    ("horizon: 4 h", "horizon: [4 h]", "incident.horizon", "must be a single value", ""),
    ("start: 14:35", "start: 25:10", "incident.start", "is not a clock time", ""),
    ("inspection date: 2026-05-01", "inspection date: 2026-02-30", "incident.inspection date", "is not a date", ""),
    ("areas: {west: West portal, east: East portal}", "areas: [west, east]", "areas", "must be a mapping", ""),
    ("category: immediate", "category: imediate", "patients[0].category", "must be one of", "'immediate'"),
    ("area: west, ladder", "area: wset, ladder", "patients[0].area", "no area of this name", "Did you mean 'west'?"),
    ("ladder: low need", "ladder: lwo need", "patients[0].ladder", "no ladder of this name", "'low need'"),
    ("arrive: T+10", "arrive: -10 min", "patients[0].arrive", "before the start", ""),
    ("arrive: T+10", "arrive: soon", "patients[0].arrive", "is not a moment", ""),
    ("leave: 16:40", "leave: T+5", "patients[0]", "leaves before or at arrival", ""),
    ("leave: 16:40", "leave: 16:40, stay: 2 h", "patients[0]", "both 'leave' and 'stay'", "Keep one"),
    ("count: 20", "count: -20", "patients[1].count", "must not be negative", "1 or more"),
    ("count: 20", "count: 2.5", "patients[1].count", "must be a whole number", ""),
    ("count: 20", "count: 0", "patients[1].count", "must be a whole number from 1", ""),
    ("batch: walking", "batch: A", "patients[1].batch", "this name is used twice", "line 8"),
    ("{batch: walking", "{bacth: walking", "patients[1].bacth", "not a word that can stand here", "'batch'"),
    ("{batch: walking,", "{", "patients[1]", "must name what it is about", ""),
    ("  - {patient: A,", "  - walking\n  - {patient: A,", "patients[0]", "must be a mapping", ""),
    (
        "arrive: T+5,",
        "arrive: {from: T+5, over: 30 min, pattern: evenly, step: 1 h},",
        "patients[1].arrive",
        "step is longer",
        "",
    ),
    (
        "arrive: T+5,",
        "arrive: {from: T+5, over: 30 min, pattern: evenly}, then: [{at: T+60, area: west}],",
        "patients[1]",
        "'at' cannot be used",
        "after: 30 min",
    ),
    (
        "leave: 16:40",
        "then: [{after: 60 min, area: east}, {after: 30 min, area: west}]",
        "patients[0].then",
        "each later than the one before",
        "",
    ),
    ("leave: 16:40", "then: [{after: 60 min}]", "patients[0].then[0]", "must change something", ""),
    ("leave: 16:40", "then: [{area: east}]", "patients[0].then[0]", "either 'after' or 'at'", ""),
    ("2000 psi", "2000 L", "supplies[0].pressure", "is not a gauge pressure", ""),
    ("2000 psi", "'2,000 psi'", "supplies[0].pressure", "write a point, not a comma", ""),
    ("2000 psi", "-2000 psi", "supplies[0].pressure", "must not be negative", ""),
    ("2000 psi", "2600 psi", "supplies[0].pressure", "more than 10 % above", "Check the kind"),
    ("US E aluminium", "E", "supplies[0].cylinder", "different cylinders in different regions", "US E aluminium or"),
    ("US E aluminium", "US E alloy", "supplies[0].cylinder", "no cylinder of this name", "'US E aluminium'"),
    ("2000 psi", "2000 psi, temperature: 900 C", "supplies[0]", "oxygen table", ""),
    ("2000 psi", "2000 psi, gas model: ideal", "supplies[0].gas model", "must be one of", ""),
    (
        "concentrator: concentrator 5 L/min",
        "concentrator: PSA plant 2 m3/h",
        "supplies[1].concentrator",
        "is a plant",
        "Write plant",
    ),
    (
        "regulator: yoke regulator 0-15 L/min",
        "regulator: wall outlet pair",
        "regulators[0].regulator",
        "not a regulator for a cylinder",
        "",
    ),
    ("count: unlimited", "count: -1", "devices[0].count", "must not be negative", ""),
    ("count: unlimited", "count: plenty", "devices[0].count", "must be a whole number", ""),
    (
        "  - {device: nasal cannula, count: 30, area: east}\n",
        "",
        "devices",
        "'nasal cannula' at area 'east'",
        "unlimited",
    ),
    ("{people: 2, area: west}, ", "", "staff", "area 'west' has cylinders or machines", "people: 2"),
    ("{people: 2, area: west}", "{people: 2, area: west, from: T+9, until: T+3}", "staff[0].until", "before it", ""),
    ("power: [{power: 2 kW, area: east}]\n", "", "power", "has machines, but no power", "6 kW"),
    ("power: 2 kW", "power: 2 hp", "power[0].power", "is not a power", ""),
    ("regulator: threaded", "regulator: yoke", "resupply.regulator", "does not fit the threaded US", "fits: threaded"),
    (", regulator: threaded regulator 0-15 L/min", "", "resupply", "needs a regulator", "threaded"),
    ("resupply:", "residual: 2300 psi\nresupply:", "resupply.cylinder", "not above the residual", "residual"),
    ("resupply: {", "resupply: {extra: 1, ", "resupply.extra", "not a word that can stand here", "Known:"),
    ("cylinder: US M60", "cylinder: UK CD", "resupply.regulator", "takes no regulator", "Remove"),
    ("patients:\n", "reserve: {wset: 5 L}\npatients:\n", "reserve.wset", "no area of this name", "'west'"),
    ("patients:\n", "weights: {immediate: heavy}\npatients:\n", "weights.immediate", "is not a number", ""),
    ("patients:\n", "areas: {a: b}\npatients:\n", "areas", "'areas' is written twice", "line 6"),
    ("area: west, ladder", "area: west, area: east, ladder", "patients[0].area", "written twice", "line 8"),
    ("name: Quay fire", "name: !!python/object:os.system x", "incident.name", "tags (!) are not allowed", ""),
    ("name: Quay fire", "name: &n Quay fire\n  summary: *n", "incident.summary", "aliases (*) are not allowed", ""),
    (
        "supplies:\n",
        (
            "supplies:\n  - {liquid: tank, contents: 2 L, evaporation: 20 L/min, outlets: 1, outlet flow: 15 L/min, "
            "total flow: 15 L/min, area: west}\n"
        ),
        "supplies",
        "nothing of 'tank (2 L)' is left",
        "evaporation",
    ),
    (
        "supplies:\n",
        "supplies:\n  - {piped: wall, outlets: 0, outlet flow: 15 L/min, total flow: 15 L/min, area: west}\n",
        "supplies[0]",
        "has no outlet",
        "",
    ),
    (
        "patients:\n",
        "ladders: {own: {title: t, rungs: [{device: non-rebreather, flow: 6 L/min, credit: 1}]}}\npatients:\n",
        "ladders.own.rungs[0]",
        "whose range is 10 to 15 L/min",
        "",
    ),
    (
        "patients:\n",
        "ladders: {own: {title: t, rungs: [{device: high-flow cannula, flow: 30 L/min, credit: 1}]}}\npatients:\n",
        "ladders.own.rungs[0]",
        "its total flow and fio2, not its flow",
        "",
    ),
    (
        "patients:\n",
        (
            "ladders: {own: {title: t, rungs: [{device: nasal cannula, flow: 2 L/min, credit: 0.5}, "
            "{device: nasal cannula, flow: 1 L/min, credit: 0.6}]}}\npatients:\n"
        ),
        "ladders.own",
        "must fall and never rise",
        "",
    ),
    (
        "patients:\n",
        "cylinder kinds: {own: {content: 9 L, full pressure: 0, reference: 1 C, valve: a, change: 9 s}}\npatients:\n",
        "cylinder kinds.own.full pressure",
        "must be above 0",
        "",
    ),
    (
        "patients:\n",
        "machine kinds: {own: {outlets: 1, outlet flow: 9 L/min, total flow: 8 L/min, power: 9 W}}\npatients:\n",
        "machine kinds.own",
        "one outlet gives more than all together",
        "",
    ),
    ("supplies:\n", "  - {roster: gone.csv}\nsupplies:\n", "patients[2].roster", "there is no such file", "folder"),
    ("supplies:\n", "  - {roster: ../r.csv}\nsupplies:\n", "patients[2].roster", "must lie in the folder", ""),
    ("supplies:\n", "  - {roster: /etc/r.csv}\nsupplies:\n", "patients[2].roster", "must lie in the folder", ""),
    ("supplies:\n", "  - {roster: roster.txt}\nsupplies:\n", "patients[2].roster", ".csv or .xlsx", ""),
    ("supplies:\n", "  - {roster: r.csv, sheet: x}\nsupplies:\n", "patients[2].roster", "has no sheets", ""),
    ("  inspection date: 2026-05-01\n", "", "incident", "needs the day on which test dates", "inspection date"),
]


@pytest.mark.parametrize(("old", "new", "path", "rule", "fix"), BROKEN, ids=[f"{b[2]}-{b[3][:18]}" for b in BROKEN])
def test_mistake_is_told_with_place_rule_and_fix(write, right, old, new, path, rule, fix):
    """A single mistake gives exactly one entry, at its line, with the rule and the way to mend it."""
    assert old in right
    text = right.replace("regulators:\n", "  - {inventory: inv.csv}\nregulators:\n").replace(old, new, 1)
    with pytest.raises(InputError) as caught:
        read_scenario(write(text, r__csv=ROSTER, inv__csv=INVENTORY))
    (mistake,) = caught.value.mistakes
    assert mistake.path == path
    assert rule in mistake.rule
    assert fix in mistake.fix
    assert mistake.file == "scenario.yaml"
    assert 1 <= mistake.line <= len(text.splitlines())
    assert mistake.column >= 1


WHOLE = [
    (b"", "holds no scenario"),
    (b"just text", "holds no scenario"),
    (b"a: [1, 2\nb: 3", "not readable as YAML"),
    (b"a: 1\n---\nb: 2", "second YAML document"),
    (b"a: \xff\xfe", "not UTF-8"),
    (b"a: " + b"[" * 60 + b"]" * 60, "nested more than"),
    (b"[" * 100_000, "nest"),
    (b"? [a, b]\n: 1", "must be plain text"),
    (b"a: 1\n" * 5_000_000, "larger than"),
]


@pytest.mark.parametrize(("content", "rule"), WHOLE, ids=[w[1] for w in WHOLE])
def test_file_that_is_no_scenario_is_refused(tmp_path, content, rule):
    """Whatever the bytes, the answer is a mistake in words and never another exception."""
    path = tmp_path / "scenario.yaml"
    path.write_bytes(content)
    with pytest.raises(InputError, match=rule):
        read_scenario(path)


def test_missing_scenario_is_told(tmp_path):
    """A file that is not there is a mistake like any other."""
    with pytest.raises(InputError, match="there is no such file"):
        read_scenario(tmp_path / "gone.yaml")


def test_alias_bomb_costs_nothing(write):
    """Aliases are refused where they stand and never expanded."""
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]" for i in range(1, 30)]
    with pytest.raises(InputError) as caught:
        read_scenario(write("\n".join(lines)))
    assert any("aliases" in m.rule for m in caught.value.mistakes)
    assert len(caught.value.mistakes) < 1000


def test_table_rows_are_told_with_their_cells(write, right):
    """Mistakes in a roster come with row, column and cell, together with those of the scenario."""
    roster = "patient,category,area,ladder,arrive\nr1,delayed,west,low need,\nr2,dleayed,nowhere,low need,T+5\n"
    text = right.replace("supplies:\n", "  - {roster: r.csv}\nsupplies:\n").replace("2000 psi", "2000")
    with pytest.raises(InputError) as caught:
        read_scenario(write(text, r__csv=roster))
    told = [(m.file, m.line, m.path, m.value) for m in caught.value.mistakes]
    assert told == [
        ("r.csv", 2, "row 2, column arrive (cell E2)", None),
        ("r.csv", 3, "row 3, column category (cell B3)", "dleayed"),
        ("r.csv", 3, "row 3, column area (cell C3)", "nowhere"),
        ("scenario.yaml", 12, "supplies[0].pressure", "2000"),
    ]


def test_folder_is_named_as_one(tmp_path):
    """A folder in place of the scenario is told by name, on every system the same way."""
    with pytest.raises(InputError) as caught:
        read_scenario(tmp_path)
    (mistake,) = caught.value.mistakes
    assert (mistake.rule, mistake.file) == ("is a folder, not a file", tmp_path.name)
