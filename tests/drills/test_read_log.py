"""A team's log: what is written is read, what is doubtful is told, and nothing is guessed silently."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_log import COLUMNS, in_whole_minutes, log_text, made_orders, made_scenario, paper_rows
from planned import plan

from mci.drills.log import Log, NoteKind
from mci.drills.read_log import read_log
from mci.errors import InputError
from mci.plan.orders import Action, Order
from mci.plan.table import orders_text, read_orders
from mci.replay.judge import replay
from mci.scenario.exercise import Exercise, Inject, InjectKind
from mci.scenario.model import Arrival, Patients, Scenario, Spell
from mci.scenario.read import read_scenario

SCENARIO = made_scenario()
#: What no paper holds: when a change began, and digits beyond the tenth.
_EXACT = 1e-6


def _read(folder: Path, text: str, scenario: Scenario = SCENARIO) -> Log:
    file = folder / "log.csv"
    file.write_text(text, encoding="utf-8", newline="")
    return read_log(file, scenario)


def _line(**cells: str) -> dict[str, str]:
    names = {column.split()[0].lower(): column for column in COLUMNS}
    return dict.fromkeys(COLUMNS, "") | {names[key]: text for key, text in cells.items()}


def _read_lines(folder: Path, *lines: dict[str, str]) -> Log:
    return _read(folder, log_text(lines))


def _kinds(log: Log, line: int) -> set[NoteKind]:
    return {note.kind for note in log.notes if note.line == line}


def _told(log: Log, line: int) -> str:
    return " ".join(f"{note.read} {note.why}" for note in log.notes if note.line == line)


def _are_alike(orders: Sequence[Order], others: Sequence[Order]) -> bool:
    """Tell whether orders are the same as far as paper can hold them."""
    plain = [[replace(each, minute=0.0, begin=0.0, gauge_psi=None) for each in some] for some in (orders, others)]
    apart = [abs(one.minute - other.minute) for one, other in zip(orders, others, strict=False)]
    return plain[0] == plain[1] and max(apart, default=0.0) < _EXACT


NEW = _line(time="T+4", area="field", action="new cylinder", cylinder="C1", regulator="R1", by="Staff 1")
ON = _line(time="T+6", area="field", action="on", patient="P01", device="NRB", flow="15", cylinder="C1", regulator="R1")
OFF = _line(time="T+20", area="field", action="off", patient="P01")


# --- what is written is read ----------------------------------------------------------------------


def test_a_plans_own_table_is_read_as_it_is(tmp_path: Path) -> None:
    """The orders of a plan come back exactly, without a note, and score the same."""
    text = orders_text(made_orders(), SCENARIO.start)
    log = _read(tmp_path, text)
    assert log.orders == read_orders(tmp_path / "log.csv")
    assert (log.notes, log.left_out, log.read) == ((), 0, len(made_orders()))
    assert replay(SCENARIO, log.orders).weighted == pytest.approx(replay(SCENARIO, made_orders()).weighted, abs=1e-6)


def test_the_ferry_is_read_as_it_is(tmp_path: Path) -> None:
    """A bundled scenario with batches, manifolds and a delivery: its plan's table, and the same on paper."""
    ferry = read_scenario(Path(__file__).parents[2] / "scenarios" / "ferry-fire.yaml")
    this = plan(ferry)
    log = _read(tmp_path, orders_text(this.plan.orders, ferry.start), ferry)
    assert log.orders == read_orders(tmp_path / "log.csv")
    assert log.notes == ()
    assert replay(ferry, log.orders).weighted == pytest.approx(this.verdict.weighted, abs=1e-6)
    paper = _read(tmp_path, log_text(paper_rows(ferry, this.plan.orders, clock=False)), ferry)
    assert replay(ferry, paper.orders).weighted == pytest.approx(this.verdict.weighted, abs=1e-6)
    assert paper.left_out == 0


@pytest.mark.parametrize("clock", [False, True], ids=["minutes", "clock"])
def test_paper_is_read_as_it_is(tmp_path: Path, *, clock: bool) -> None:
    """Marks, short forms and either kind of time, past midnight: the same orders and the same score."""
    orders = in_whole_minutes(made_orders()) if clock else made_orders()
    log = _read(tmp_path, log_text(paper_rows(SCENARIO, orders, clock=clock)))
    assert _are_alike(log.orders, orders)
    assert log.left_out == 0
    assert replay(SCENARIO, log.orders).weighted == pytest.approx(replay(SCENARIO, orders).weighted, abs=1e-6)
    assert {note.kind for note in log.notes} <= {NoteKind.GAP}  # of cylinders that were empty within a minute


def test_a_workbook_is_read_like_a_table(tmp_path: Path) -> None:
    """The same lines on a sheet called log, times as a spreadsheet keeps them."""
    import datetime

    import xlsxwriter

    rows = paper_rows(SCENARIO, in_whole_minutes(made_orders()), clock=True)
    with xlsxwriter.Workbook(tmp_path / "log.xlsx") as book:
        book.add_worksheet("cover")
        sheet = book.add_worksheet("Log")
        moment = book.add_format({"num_format": "hh:mm"})
        sheet.write_row(0, 0, COLUMNS)
        for number, row in enumerate(rows, start=1):
            sheet.write_row(number, 0, [row[column] for column in COLUMNS])
            hour, minute = row["Time"].split(":")
            sheet.write_datetime(number, 0, datetime.time(int(hour), int(minute)), moment)
    assert _are_alike(read_log(tmp_path / "log.xlsx", SCENARIO).orders, in_whole_minutes(made_orders()))


@pytest.mark.parametrize("count", [0, 2])
def test_the_key_in_a_packet_is_no_log(tmp_path: Path, count: int) -> None:
    """Of a packet's workbook the log sheet is read, never the answer key's orders; left empty it is refused."""
    import xlsxwriter

    rows = paper_rows(SCENARIO, in_whole_minutes(made_orders()), clock=True)
    with xlsxwriter.Workbook(tmp_path / "packet.xlsx") as book:
        for name, lines in (("orders", rows), ("log-sheet", rows[:count])):
            sheet = book.add_worksheet(name)
            for number, line in enumerate([{column: column for column in COLUMNS}, *lines]):
                sheet.write_row(number, 0, [line[column] for column in COLUMNS])
    if count:
        assert read_log(tmp_path / "packet.xlsx", SCENARIO).read == count
    else:
        with pytest.raises(InputError, match="holds no lines"):
            read_log(tmp_path / "packet.xlsx", SCENARIO)


@given(st.permutations(COLUMNS), st.sampled_from([(",", "."), (";", ","), ("\t", ","), (";", ".")]))
@settings(max_examples=8)
def test_columns_in_any_order(
    tmp_path_factory: pytest.TempPathFactory, columns: list[str], signs: tuple[str, str]
) -> None:
    """Columns in any order, apart by commas, semicolons or tabs, numbers with a decimal comma."""
    rows = paper_rows(SCENARIO, made_orders(), clock=False)
    separator, decimal = signs
    if decimal == ",":
        rows = [row | {key: row[key].replace(".", ",") for key in ("Time", "Flow")} for row in rows]
    log = _read(tmp_path_factory.mktemp("log"), log_text(rows, columns, separator))
    assert _are_alike(log.orders, made_orders())


# --- what is corrupted is read the same, or told ---------------------------------------------------

ROWS = paper_rows(SCENARIO, in_whole_minutes(made_orders()), clock=True)
SCORE = replay(SCENARIO, in_whole_minutes(made_orders())).weighted
_NAMES = ("Area", "Action", "Patient", "Device", "Cylinder", "Regulator", "By")


def _unsaid(orders: Sequence[Order]) -> list[Order]:
    """Return orders without what nobody misses: who changed a cylinder, why, and an outlet that stays the same."""
    stays = (Action.DISCONNECT, Action.SET_FLOW, Action.STEP_DOWN)
    plain = [replace(each, by="", reason="") for each in orders]
    return [replace(each, supply="", regulator="") if each.action in stays else each for each in plain]


def _slip(text: str, draw: st.DrawFn) -> str:
    """Return a text with one slip of the pen in its letters."""
    letters = [place for place, letter in enumerate(text) if letter.isalpha()]
    if not letters:
        return text
    place = draw(st.sampled_from(letters))
    swapped = text[:place] + text[place + 1 : place + 2] + text[place] + text[place + 2 :]
    return draw(st.sampled_from([text[:place] + text[place + 1 :], f"{text[:place]}x{text[place:]}", swapped]))


@st.composite
def corruptions(draw: st.DrawFn) -> tuple[int, list[dict[str, str]]]:
    """Return the line that is corrupted, as a spreadsheet counts, and all lines."""
    rows = [dict(row) for row in ROWS]
    place = draw(st.integers(0, len(rows) - 1))
    row = rows[place]
    kind = draw(st.sampled_from(["slip", "case", "missing", "swap", "unit", "twice", "time", "late"]))
    column = draw(st.sampled_from([name for name in COLUMNS if row[name]]))
    named = draw(st.sampled_from([name for name in _NAMES if row[name]]))
    if kind == "slip":
        row[named] = _slip(row[named], draw)
    elif kind == "case":
        row[named] = draw(
            st.sampled_from([row[named].upper(), row[named].lower(), f"  {row[named]} ", row[named] + "."])
        )
    elif kind == "missing":
        row[column] = ""
    elif kind == "swap":
        row[column], row[named] = row[named], row[column]
    elif kind == "unit" and row["Flow"]:
        row["Flow"] = draw(st.sampled_from(["L", " L/min", "lpm", " psi", " kg"])).join([row["Flow"], ""])
    elif kind == "unit" and row["Gauge psi"]:
        row["Gauge psi"] += draw(st.sampled_from([" psi", " bar", " L"]))
    elif kind == "twice":
        rows.insert(place + 1, dict(row))
    elif kind == "time":
        row["Time"] = draw(st.sampled_from([row["Time"].replace(":", ""), row["Time"].replace(":", "h"), "soon", "?"]))
    elif kind == "late":
        row["Time"] = draw(st.sampled_from(["T+500", "T-3", "22:10"]))
    return place + 2, rows


@given(corruptions())
@settings(max_examples=60)
def test_what_is_corrupted_is_read_the_same_or_told(
    tmp_path_factory: pytest.TempPathFactory, corrupted: tuple[int, list[dict[str, str]]]
) -> None:
    """Whenever orders or score differ from those of the log as it was, a note names the line."""
    line, rows = corrupted
    log = _read(tmp_path_factory.mktemp("log"), log_text(rows))
    same = _are_alike(_unsaid(log.orders), _unsaid(in_whole_minutes(made_orders())))
    if not same or abs(replay(SCENARIO, log.orders).weighted - SCORE) > 1e-9:
        assert _kinds(log, line), (rows[line - 2], log.notes)
    assert len(log.orders) >= len(ROWS) - 8  # one bad line never spoils the log


@given(st.lists(st.lists(st.text(max_size=8), min_size=11, max_size=11), min_size=1, max_size=5))
@settings(max_examples=20)
def test_any_cells_are_a_log_or_an_error(tmp_path_factory: pytest.TempPathFactory, cells: list[list[str]]) -> None:
    """No text in a cell breaks the reader."""
    rows = [dict(zip(COLUMNS, row, strict=True)) for row in cells]
    try:
        log = _read(tmp_path_factory.mktemp("log"), log_text(rows))
    except InputError as error:
        log = Log("", (), (), (), len(error.mistakes), 0)
    assert log.left_out <= log.read


# --- what is missing is completed where one thing alone can be meant --------------------------------


def test_a_regulator_is_completed_from_its_cylinder(tmp_path: Path) -> None:
    """One regulator sits on the cylinder, and the patient is in one place."""
    log = _read_lines(tmp_path, NEW, ON | {"Regulator": "", "Area": ""}, OFF)
    assert (log.orders[1].regulator, log.orders[1].area) == ("field yoke regulator 0-15 L/min 1", "field")
    assert "R1 It alone sits on C1." in _told(log, 3)
    assert _kinds(log, 3) == {NoteKind.CORRECTED}


def test_a_cylinder_is_completed_from_its_regulator(tmp_path: Path) -> None:
    """What the regulator sits on is where the gas comes from."""
    log = _read_lines(tmp_path, NEW, ON | {"Cylinder": ""})
    assert log.orders[1].supply == "field US D aluminium 1"


def test_device_and_flow_are_completed_from_the_ladder(tmp_path: Path) -> None:
    """One rung has that device, one that flow; what several have is not completed."""
    flowless = _read_lines(tmp_path, NEW, ON | {"Device": "SM", "Flow": ""}, OFF)
    deviceless = _read_lines(tmp_path, NEW, ON | {"Device": ""}, OFF)
    assert (flowless.orders[1].flow_lpm, _kinds(flowless, 3)) == (6, {NoteKind.CORRECTED})
    assert (deviceless.orders[1].device, _kinds(deviceless, 3)) == ("non-rebreather", {NoteKind.CORRECTED})
    assert 3 not in _read_lines(tmp_path, NEW, ON | {"Flow": ""}, OFF).lines
    assert 3 not in _read_lines(tmp_path, NEW, ON | {"Device": "", "Flow": "3.7"}, OFF).lines


def test_a_move_keeps_what_it_does_not_say(tmp_path: Path) -> None:
    """Device and flow stay, and a note says so."""
    second = NEW | {"Cylinder": "C2", "Regulator": "R2", "Time": "T+5"}
    move = _line(time="T+9", area="field", action="move", patient="P01", cylinder="C2", regulator="R2")
    log = _read_lines(tmp_path, NEW, second, ON, move, OFF)
    assert (log.orders[3].device, log.orders[3].flow_lpm) == ("non-rebreather", 15)
    assert _kinds(log, 5) == {NoteKind.CORRECTED}


def test_a_remark_does_no_harm(tmp_path: Path) -> None:
    """A line with nothing but a note is kept as a remark."""
    log = _read_lines(tmp_path, NEW, _line(time="T+5", remarks="radio check"), ON, OFF)
    assert log.remarks == ((3, "radio check"),)
    assert (len(log.orders), log.left_out, log.notes) == (3, 0, ())


# --- gaps and contradictions ------------------------------------------------------------------------


def test_a_cylinder_that_nobody_opened(tmp_path: Path) -> None:
    """Somebody must have brought it into service, where cylinder and regulator are named; otherwise nobody knows."""
    log = _read_lines(tmp_path, ON)
    assert [order.action for order in log.orders] == [Action.CHANGE, Action.CONNECT]
    assert log.lines == (2, 2)
    assert NoteKind.GAP in _kinds(log, 2)
    assert _read_lines(tmp_path, ON | {"Regulator": ""}).orders == ()
    assert _read_lines(tmp_path, ON | {"Cylinder": ""}).orders == ()


def test_a_patient_who_left_without_being_taken_off(tmp_path: Path) -> None:
    """P01 leaves at T+85."""
    log = _read_lines(tmp_path, NEW, ON | {"Flow": "2", "Device": "NC"})
    assert NoteKind.GAP in _kinds(log, 3)
    assert "P01 leaves field at T+85 min and is not disconnected by then" in _told(log, 3)


def test_gas_from_an_empty_cylinder(tmp_path: Path) -> None:
    """A full D at 15 L/min does not last to T+80."""
    off = _line(time="T+80", action="off", patient="P01")
    log = _read_lines(tmp_path, NEW, ON, off)
    assert NoteKind.GAP in _kinds(log, 3)
    assert "C1 is down to its residual pressure" in _told(log, 3)


def test_who_is_on_oxygen_already_is_moved(tmp_path: Path) -> None:
    """A second connection to another outlet is a move; to the same outlet, another flow."""
    second = NEW | {"Cylinder": "C2", "Regulator": "R2", "Time": "T+5"}
    again = ON | {"Time": "T+9", "Cylinder": "C2", "Regulator": "R2"}
    log = _read_lines(tmp_path, NEW, second, ON, again, again | {"Time": "T+10", "Flow": "12"}, OFF)
    assert [order.action for order in log.orders[2:5]] == [Action.CONNECT, Action.MOVE, Action.SET_FLOW]
    assert _kinds(log, 5) == {NoteKind.CORRECTED}
    assert _kinds(log, 6) == {NoteKind.CORRECTED}


def test_a_line_written_twice_counts_once(tmp_path: Path) -> None:
    """With a note, also where it is spelled another way."""
    log = _read_lines(tmp_path, NEW, ON, ON | {"Time": "23:36", "Patient": "p1", "Device": "non rebreather"})
    assert len(log.orders) == 2
    assert "It says the same as line 3, and counts once." in _told(log, 4)


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        ((NEW, ON | {"Time": "T+2"}), "P01 is not there: P01 comes at T+5"),
        ((NEW, ON, ON | {"Flow": "10"}), "Line 3 says otherwise of P01 at the same moment"),
        ((NEW, ON | {"Area": "hall", "Cylinder": "", "Regulator": "R1"}), "P01 is at field then, not at hall"),
    ],
    ids=["before arrival", "two flows at once", "in another area"],
)
def test_contradictions_are_told_and_left_out(tmp_path: Path, lines: tuple[dict[str, str], ...], told: str) -> None:
    """Two lines, or a line and the scenario, cannot both be true."""
    log = _read_lines(tmp_path, *lines)
    last = len(lines) + 1
    assert NoteKind.CONTRADICTION in _kinds(log, last)
    assert told in _told(log, last)
    assert last not in log.lines


def test_one_cylinder_in_two_places(tmp_path: Path) -> None:
    """C1 is on R1 and serves P01; P02 cannot have it on R2."""
    other = ON | {"Time": "T+12", "Patient": "P02", "Regulator": "R2"}
    log = _read_lines(tmp_path, NEW, ON, other)
    assert "C1 cannot be on R2: it is on R1, which serves somebody" in _told(log, 4)
    assert NoteKind.CONTRADICTION in _kinds(log, 4)
    assert len(log.orders) == 2


def test_a_cylinder_that_nobody_changed(tmp_path: Path) -> None:
    """R1 serves somebody from C1, so nobody else can be on C2 there; alone, it must have been changed."""
    cannula = ON | {"Device": "NC", "Flow": "2"}
    busy = _read_lines(tmp_path, NEW, cannula, cannula | {"Time": "T+12", "Patient": "P02", "Cylinder": "C2"})
    assert "R1 sits on C1 and serves P01; nobody wrote that it was changed to C2" in _told(busy, 4)
    assert busy.orders[-1].supply == "field US D aluminium 1"
    off = _line(time="T+11", area="field", action="off", patient="P01")
    free = _read_lines(tmp_path, NEW, cannula, off, cannula | {"Time": "T+12", "Patient": "P02", "Cylinder": "C2"})
    assert [order.action for order in free.orders[-2:]] == [Action.CHANGE, Action.CONNECT]
    assert "C2 was brought into service on R1, which was on C1" in _told(free, 5)


def test_lines_of_one_minute_follow_each_other(tmp_path: Path) -> None:
    """Connected and taken off again within the same minute of a watch; with seconds, each at its own moment."""
    off = _line(time="T+6", area="field", action="off", patient="P01")
    log = _read_lines(tmp_path, NEW, ON, off)
    assert [(order.action, order.minute) for order in log.orders[1:]] == [
        (Action.CONNECT, 6),
        (Action.DISCONNECT, 6.01),
    ]
    assert _kinds(log, 4) == {NoteKind.CORRECTED}
    early = _read_lines(tmp_path, NEW, ON | {"Time": "T+6.25"}, off | {"Time": "T+6.25"})
    assert early.left_out == 1


def test_the_watch_of_a_team_may_be_a_minute_early(tmp_path: Path) -> None:
    """P01 arrives at T+5: connected at T+4.2 is connected on arrival, with a note."""
    log = _read_lines(tmp_path, NEW, ON | {"Time": "T+4.2"}, OFF)
    assert (log.orders[1].minute, _kinds(log, 3)) == (5, {NoteKind.CORRECTED})


def test_a_gauge_that_cannot_be(tmp_path: Path) -> None:
    """A cylinder that is full does not read 900 psi; 5 % are forgiven."""
    wrong = _read_lines(tmp_path, NEW | {"Gauge psi": "900"})
    assert _kinds(wrong, 2) == {NoteKind.CONTRADICTION}
    assert "The gauge of" in _told(wrong, 2) or "the gauge of" in _told(wrong, 2)
    assert _read_lines(tmp_path, NEW | {"Gauge psi": "1950"}).notes == ()
    assert _read_lines(tmp_path, NEW | {"Gauge psi": "134.4 bar"}).notes == ()


def test_moments_that_cannot_be(tmp_path: Path) -> None:
    """Before T+0, after the end, backwards, and none at all: each is told, what can be used is used."""
    lines = [NEW, ON | {"Time": "T-2"}, ON | {"Time": "T+130"}, ON | {"Time": "soon"}, ON, NEW | {"Time": "T+3"}]
    log = _read_lines(tmp_path, *lines)
    assert "It is before T+0." in _told(log, 3)
    assert "It is after the end at T+120." in _told(log, 4)
    assert "is no moment" in _told(log, 5)
    assert "It stands after a line of T+6" in _told(log, 7)
    assert log.left_out == 3


def test_names_of_people_are_not_kept(tmp_path: Path) -> None:
    """Who is no role or mark is nobody, and the name is repeated nowhere."""
    log = _read_lines(tmp_path, NEW | {"By": "J. Somebody"}, ON)
    assert log.orders[0].by == ""
    assert _kinds(log, 2) == {NoteKind.CORRECTED}
    assert "Somebody" not in str(log)


def test_a_cell_in_the_wrong_column(tmp_path: Path) -> None:
    """Cylinder and regulator swapped, device and flow in one cell: read, with a note on each."""
    swapped = _read_lines(tmp_path, NEW, ON | {"Cylinder": "R1", "Regulator": "C1"}, OFF)
    joined = _read_lines(tmp_path, NEW, ON | {"Device": "NRB 15 L/min", "Flow": ""}, OFF)
    for log in (swapped, joined):
        assert _are_alike(log.orders, _read_lines(tmp_path, NEW, ON, OFF).orders)
        assert _kinds(log, 3) == {NoteKind.CORRECTED}


# --- second waves, and files that are no log ---------------------------------------------------------


def test_patients_of_a_second_wave_are_known(tmp_path: Path) -> None:
    """Whoever comes unannounced is in the log, and in the incident as it happens."""
    wave = Patients("P31", 1, Arrival.together(20), 60.0, math.inf, (Spell(0, "field", "delayed", "moderate need"),))
    inject = Inject(InjectKind.SECOND_WAVE, 15, "field", patients=(wave,))
    exercise = replace(SCENARIO, exercise=Exercise(injects=(inject,)))
    text = log_text([NEW, ON | {"Time": "T+21", "Patient": "P31", "Device": "NC", "Flow": "4"}])
    assert [order.patient for order in _read(tmp_path, text, exercise).orders] == ["", "P31"]
    assert _read(tmp_path, text).left_out == 1


def test_marks_are_those_that_players_have(tmp_path: Path) -> None:
    """A cylinder that is found low keeps the mark that stands on its tape."""
    low = Inject(InjectKind.CYLINDER_LOW, 10, "field", "field US D aluminium 1", psi=300.0)
    exercise = replace(SCENARIO, exercise=Exercise(injects=(low,)))
    log = _read(tmp_path, log_text([NEW | {"Gauge psi": "300"}, ON]), exercise)
    assert log.orders[0].supply == "field US D aluminium 1"
    assert not any("gauge" in note.why for note in log.notes)


def test_clock_times_without_a_start_are_a_question(tmp_path: Path) -> None:
    """Every line with one is named."""
    with pytest.raises(InputError, match="the incident has no start") as caught:
        _read(tmp_path, log_text([NEW | {"Time": "23:34"}, ON | {"Time": "23:36"}]), replace(SCENARIO, start=None))
    assert [mistake.line for mistake in caught.value.mistakes] == [2, 3]


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "is empty"),
        (b"\xff\xfe\x00", "UTF-8"),
        (b"mood,weather\ngood,fine\n", "no column says when"),
        (b"time,action\n", "holds no lines"),
    ],
)
def test_what_is_no_log_is_refused(tmp_path: Path, content: bytes, told: str) -> None:
    """An error that says what is needed, with all that is missing."""
    file = tmp_path / "log.csv"
    file.write_bytes(content)
    with pytest.raises(InputError, match=told):
        read_log(file, SCENARIO)
    with pytest.raises(InputError, match="there is no such file"):
        read_log(tmp_path / "none.csv", SCENARIO)
