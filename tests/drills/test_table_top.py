"""The table-top: what is typed, what happens, and what players cannot know yet."""

from __future__ import annotations

import json
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from played import INJECTS, POWER, WITH_MACHINES, play, played_drill
from properties.common import repeatable

from mci.drills.table_top import TableTop
from mci.errors import InputError
from mci.plan.orders import Action, Order
from mci.replay.judge import replay

#: A good start: two cylinders in service, three casualties on oxygen.
START = (
    "change R1 to C1",
    "change R2 to C2",
    "go 4",
    "connect P01 non-rebreather 15 C1",
    "go to T+6",
    "change R3 to C4",
    "connect P02 simple mask 6 from C2 by R2",
)
#: Lines of every kind, some of them nonsense at most moments.
LINES = st.sampled_from(
    [
        "change R1 to C1",
        "change R2 to C2 by Staff 2",
        "change R3 to C3",
        "change R1 to C4",
        "connect P01 non-rebreather 15 C1",
        "connect P02 simple mask 6 C2",
        "connect P02 simple mask 6 R1",
        "connect P03 cannula 2 R3",
        "connect P04 simple mask 6 C1",
        "move P02 to R3",
        "flow P01 10",
        "flow P02 5",
        "step down P01 partial rebreather 10",
        "off P01",
        "off P02",
        "go 1",
        "go 3",
        "go to T+11",
        "go 20",
        "next",
        "next",
        "state",
        "cards",
        "undo",
        "nonsense",
        "go back",
        "end",
    ]
)
SCRIPTS = st.lists(LINES, min_size=1, max_size=14)


@pytest.fixture
def session() -> TableTop:
    """Return a session at the beginning."""
    return TableTop(played_drill())


def _all(session: TableTop) -> tuple[object, ...]:
    """Return everything that there is to see of a session."""
    seen = [session.type_line(line) for line in ("state", "cards", "log", "marks")]
    return session.position, session.finished, session.prompt, session.save(), seen


# --- laws --------------------------------------------------------------------------------------


@repeatable(25)
@given(SCRIPTS)
def test_a_script_plays_the_same_twice(script: list[str]) -> None:
    """Every line that is shown, and the whole position."""
    one, other = TableTop(played_drill()), TableTop(played_drill())
    assert one.opening() == other.opening()
    assert play(one, script) == play(other, script)
    assert _all(one) == _all(other)


@repeatable(25)
@given(SCRIPTS, LINES)
def test_undo_restores(script: list[str], line: str) -> None:
    """Whatever a line changed, undo brings back; a line that changed nothing leaves what was before to undo."""
    session = TableTop(played_drill())
    play(session, [each for each in script if each != "undo"])
    before = _all(session)
    session.type_line(line if line != "undo" else "next")
    if session.save() != before[3]:
        session.type_line("undo")
    assert _all(session) == before


@repeatable(25)
@given(SCRIPTS, SCRIPTS)
def test_a_saved_session_goes_on_as_if_it_had_not_been_saved(script: list[str], more: list[str]) -> None:
    """The same lines give the same answers, undo included."""
    session = TableTop(played_drill())
    play(session, script)
    again = TableTop.resume(played_drill(), session.save())
    assert _all(again) == _all(session)
    assert play(again, more) == play(session, more)
    assert _all(again) == _all(session)


@repeatable(25)
@given(SCRIPTS)
def test_what_is_refused_changes_nothing_and_what_is_kept_breaks_no_law(script: list[str]) -> None:
    """At the end replay objects to nothing but what time brought: empty cylinders, what ended, power."""
    session = TableTop(played_drill())
    for line in script:
        before = session.position, session.save()
        told = session.type_line(line)
        if any(each.startswith("Not done") for each in told):
            assert (session.position, session.save()) == before
    session.type_line("end")
    orders = session.log().orders
    assert orders == session.position.orders
    findings = [each for each in replay(played_drill().actual, orders).findings if each.judged]
    assert {each.law for each in findings} <= {"content", "window", "power"}, findings


@repeatable(20)
@given(st.lists(LINES.filter(lambda line: not re.search("R3|C3|end|20", line)), max_size=12))
def test_nobody_sees_what_has_not_happened(script: list[str]) -> None:
    """Until the first inject all is shown as in a drill without injects, whatever is done with other things."""
    one, other = TableTop(played_drill()), TableTop(played_drill(()))
    for line in script:
        told = one.type_line(line), other.type_line(line)
        if max(one.position.clock, other.position.clock) >= min(each.at for each in INJECTS):
            return
        assert told[0] == told[1]
        assert play(one, ["state", "cards"]) == play(other, ["state", "cards"])


# --- orders ------------------------------------------------------------------------------------


def test_a_change_takes_its_time(session: TableTop) -> None:
    """Begun now by whoever is free, done two minutes later, and the outlet is of no use before."""
    assert session.type_line("change R1 to C1") == ("Begun: R1 goes on C1, by Staff 1, done at T+2.",)
    assert session.type_line("change R2 to C2 by Staff 1")[0].startswith("Not done: Staff 1 cannot begin at T+0")
    assert session.type_line("change R2 to C2") == ("Begun: R2 goes on C2, by Staff 2, done at T+2.",)
    assert any("Free to change cylinders: nobody" in line for line in session.type_line("state"))
    assert session.type_line("next")[:2] == (
        "T+2 Done: R1 goes on C1, by Staff 1.",
        "T+2 Done: R2 goes on C2, by Staff 2.",
    )
    assert any(line == "In service: R1 on C1 (1500 psi): nobody." for line in session.type_line("state"))


def test_orders_in_the_words_of_the_log(session: TableTop) -> None:
    """Names, marks and short forms; what follows is added: cylinder and regulator."""
    play(session, START)
    given = {order.patient: order for order in session.position.orders if order.action is Action.CONNECT}
    assert (given["P01"].supply, given["P01"].regulator) == (
        "yard US D aluminium 1",
        "yard yoke regulator 0-15 L/min 1",
    )
    assert session.type_line("flow P01 25")[0].startswith("Not done: non-rebreather takes 10 to 15 L/min")
    (told,) = session.type_line("step down P01 partial rebreather 10")
    assert told == "Done: step down P01 partial rebreather 10 L/min."
    assert [order.reason for order in session.position.orders if order.action is Action.STEP_DOWN] == [
        "by order of the team"
    ]


def test_a_lower_flow_is_a_step_down(session: TableTop) -> None:
    """As what it is: replay lets nobody be lowered by anything else."""
    play(session, [*START, "go 1"])
    (told,) = session.type_line("flow P02 5")
    assert told == "Done: step down P02 5 L/min."
    session.type_line("go 1")
    (told,) = session.type_line("flow P02 6")
    assert told == "Done: set flow P02 6 L/min."


def test_the_reason_of_a_law_is_told(session: TableTop) -> None:
    """With names and numbers."""
    play(session, START)
    assert session.type_line("connect P03 cannula 2 C1")[0] == ("Not done: R1 has 1 flow outlet, not 2.")
    assert session.type_line("connect P04 cannula 2 C4")[0].startswith("Not done: P04 is not there at T+6")
    assert "'blah' is not understood" in session.type_line("blah P01")[0]


def test_two_orders_for_one_patient_at_one_moment(session: TableTop) -> None:
    """Orders of a moment take effect together; how to go on is told."""
    play(session, START)
    told = session.type_line("off P02")
    assert told[0].startswith("Not done:")
    assert told[1].startswith("Another order for P02 stands at this moment")
    session.type_line("go 1")
    assert session.type_line("off P02")[0].startswith("Done: disconnect P02")


def test_two_casualties_change_places_in_one_step(session: TableTop) -> None:
    """Joined on one line they are judged together; one after the other the first outlet is taken."""
    play(session, [*START, "go 1"])
    assert session.type_line("move P01 to R2 C2")[0] == "Not done: R2 has 1 flow outlet, not 2."
    told = session.type_line("move P01 to R2 C2; move P02 to R1 C1")
    assert told == ("Done: move P01 from C2 by R2.", "Done: move P02 from C1 by R1.")
    before = session.position
    assert session.type_line("move P01 to R1 C1; off P09")[0].startswith("'P09' is not understood")
    assert session.type_line("; ;") == ()
    assert session.position == before


def _line(order: Order) -> str:
    """Write an order as somebody would type it."""
    flow = f"{order.flow_lpm:g} L/min"
    return {
        Action.CHANGE: f"change {order.regulator} to {order.supply} by {order.by}",
        Action.DISCONNECT: f"off {order.patient}",
        Action.CONNECT: f"connect {order.patient} {order.device} {flow} {order.supply} {order.regulator}",
        Action.MOVE: f"move {order.patient} {order.device} {flow} {order.supply} {order.regulator}",
        Action.STEP_DOWN: f"step down {order.patient} {order.device} {flow}",
        Action.SET_FLOW: f"flow {order.patient} {order.device} {flow}",
    }[order.action]


@pytest.mark.parametrize("way", ["best", "usual"])
def test_any_valid_orders_can_be_typed(session: TableTop, way: str) -> None:
    """The best orders and usual practice, typed moment by moment, are all done, and reach as much."""
    drill = played_drill()
    judged = drill.best if way == "best" else drill.usual[0]
    moments: dict[float, list[str]] = {}
    for order in judged.plan.orders:
        if order.reason != "leaves":
            moments.setdefault(order.begin, []).append(_line(order))
    for minute in sorted(moments):
        while session.position.clock < minute - 1e-5:
            session.type_line(f"go to {minute:.10g}")
        told = session.type_line("; ".join(moments[minute]))
        assert all(line.startswith(("Done", "Begun")) for line in told), told
    session.type_line("end")
    verdict = replay(drill.actual, session.log().orders)
    assert verdict.validity, verdict.findings[:1]
    assert verdict.weighted == pytest.approx(judged.verdict.weighted)


# --- time --------------------------------------------------------------------------------------


def test_time_stops_at_what_nobody_had_announced(session: TableTop) -> None:
    """At each inject, not at arrivals; what has passed is told in order."""
    told = session.type_line("go to T+30")
    assert session.position.clock == 10
    assert [line.split(" ")[0] for line in told if line.startswith("T+")] == ["T+4", "T+6", "T+10"]
    assert told[-1].endswith("time has stopped for this.")
    stops = []
    while not session.finished:
        session.type_line("go 60")
        stops.append(session.position.clock)
    assert stops == [14, 20, 26, 60]


def test_next_stops_at_everything_that_can_be_seen(session: TableTop) -> None:
    """Arrivals, injects and their ends, changes done, departures, deliveries; not at a cylinder that runs empty."""
    play(session, START[:2])
    stops = []
    while not session.finished:
        session.type_line("next")
        stops.append(session.position.clock)
    contingencies = {each.minute for each in played_drill().events if each.contingency}
    assert stops == sorted({2, 4, 6, 10, 12, 14, 18, 20, 26, 30, 42, 44, 46, 60})
    assert contingencies - set(stops)


@pytest.mark.parametrize("line", ["go", "go back", "go to", "go to T-5", "go -5", "go 0", "go to T+0"])
def test_time_only_goes_on(session: TableTop, line: str) -> None:
    """Nothing else is done, and it is said how to write it."""
    assert len(session.type_line(line)) == 1
    assert session.position.clock == 0


@pytest.mark.parametrize("line", ["go 5", "go 5 min", "GO TO T+5", "go T+5", "go to 5", "go 10:05", "go to 10:05"])
def test_ways_to_say_when(session: TableTop, line: str) -> None:
    """Minutes from now, moments after the start, clock times."""
    session.type_line(line)
    assert session.position.clock == 5


def test_who_leaves_is_taken_off(session: TableTop) -> None:
    """At the very moment, with the reason; the outlet is free."""
    play(session, [*START, "end"])
    off = {order.patient: (order.minute, order.reason) for order in session.log().orders if order.reason == "leaves"}
    assert off == {"P01": (44, "leaves"), "P02": (46, "leaves")}
    assert session.finished
    assert "is over" in session.type_line("connect P04 cannula 2 C1")[0]
    assert session.type_line("go 5") == session.type_line("next") == ("The exercise is over.",)


# --- what is seen ------------------------------------------------------------------------------


def test_a_regulator_that_leaks_serves_nobody(session: TableTop) -> None:
    """The casualty on it hangs on nothing until somebody acts; it goes on nothing any more."""
    play(session, [*START, "go 20", "go 20", "go 20"])
    assert session.position.clock == 20
    seen = session.type_line("state")
    assert any(line.startswith("Of no use: R2") for line in seen)
    assert any(line.startswith("On oxygen: P02") for line in seen)
    session.type_line("go 3")
    services = session._session.stand(session.position).services
    assert max(each.end for each in services if each.patient == "P02") == 20
    assert session.type_line("change R2 to C3")[0].startswith("Not done")


def test_the_wrong_washer_is_found_when_it_is_tried(session: TableTop) -> None:
    """Before it is told, no more is said than is seen: when it will seal is not."""
    (told,) = session.type_line("change R3 to C3")
    assert told == "Not done: R3 does not seal, and no oxygen comes through it."
    play(session, ["go to T+10", "go to T+14", "go to T+18"])
    assert session.type_line("change R3 to C3")[0].startswith("Begun")


def test_a_low_cylinder_is_found_when_its_gauge_is_read(session: TableTop) -> None:
    """In service, or when it is told; until then it counts for what its label says."""
    assert "Not in service: C1 to C4, US D aluminium, 1500 psi." in session.type_line("state")
    play(session, ["change R1 to C3", "go 2"])
    assert "In service: R1 on C3 (600 psi): nobody." in session.type_line("state")


def test_a_casualty_gets_worse_without_oxygen_and_better_with_it(session: TableTop) -> None:
    """Saturation falls for whoever waits, and rises on oxygen."""

    def saturation(key: str) -> int:
        return int(re.search(r"saturation (\d+) %", " ".join(session.type_line(f"cards {key}")))[1])

    play(session, START)
    first = saturation("P01"), saturation("P03")
    session.type_line("go 3")
    assert saturation("P01") > first[0]
    assert saturation("P03") < first[1]
    assert session.type_line("cards P04") == ("P04 is not here.",)
    assert session.type_line("cards P99") == ("There is no casualty 'P99'.",)


@pytest.mark.parametrize(("tried", "meant"), [("?", "help"), ("status", "state"), ("wait 5", "go 5")])
def test_what_people_try_first_is_understood(tried: str, meant: str) -> None:
    """Common words do what the word in the help does."""
    one, other = TableTop(played_drill()), TableTop(played_drill())
    assert one.type_line(tried) == other.type_line(meant)
    assert one.position == other.position


def test_whoever_wants_to_stop_is_told_how(session: TableTop) -> None:
    """Nothing is thrown away by a word; the two ways to stop are told."""
    before = session.position
    for word in ("quit", "exit"):
        (told,) = session.type_line(word)
        assert "Ctrl-D" in told
        assert told.startswith("end ")
    assert session.position == before


def test_marks_and_help(session: TableTop) -> None:
    """What marks stand for is what players were told; help names every command."""
    assert any(line.startswith("R1 to R3: yoke regulator") for line in session.type_line("marks"))
    told = " ".join(session.type_line("help"))
    for word in ("go 5", "next", "state", "cards", "marks", "log", "undo", "save", "end", "connect", "change", "off"):
        assert word in told
    assert session.type_line("") == session.type_line("# a remark") == ()
    assert session.type_line("undo") == ("There is nothing to undo.",)


def test_machines_stand_still_when_the_power_fails() -> None:
    """Whoever is on one gets nothing, can be taken off it, and nobody is told how long it lasts."""
    session = TableTop(played_drill(POWER, WITH_MACHINES))
    play(session, ["go to T+6", "connect P02 nasal cannula 4 S1", "connect P03 nasal cannula 2 S2", "go 20"])
    assert session.position.clock == 20
    session.type_line("go 2")
    connected = session._session.stand(session.position).connected
    assert not any(each.gas for each in connected.values())
    assert session.type_line("off P03")[0].startswith("Done")
    session.type_line("go 2")
    assert session.type_line("connect P03 nasal cannula 2 S2")[-1] == "No gas comes."
    session.type_line("go to T+31")
    assert session._session.stand(session.position).connected["P02"].gas


# --- saved -------------------------------------------------------------------------------------


def test_save_asks_whoever_reads_the_lines(session: TableTop) -> None:
    """Nothing is written here."""
    assert session.type_line("save") == ()
    assert session.wants_saving
    session.type_line("state")
    assert not session.wants_saving


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "is no saved table-top session"),
        ("[1]", "is no saved table-top session"),
        ('{"kind": "other"}', "is no saved table-top session"),
    ],
)
def test_other_files_are_no_sessions(text: str, words: str) -> None:
    """With the file's name."""
    with pytest.raises(InputError, match=words) as raised:
        TableTop.resume(played_drill(), text, "game.json")
    assert "game.json" in str(raised.value)


def test_a_session_of_another_drill_or_one_that_was_edited(session: TableTop) -> None:
    """The drill is known by its exercise, and every line must be possible."""
    play(session, START)
    with pytest.raises(InputError, match="belongs to another drill"):
        TableTop.resume(played_drill(()), session.save())
    state = json.loads(session.save())
    for lines, words in (
        (["go 4", "connect P02 NRB 15 C1"], "line 2 of the session cannot be done"),
        ("go", "no list"),
    ):
        with pytest.raises(InputError, match=words):
            TableTop.resume(played_drill(), json.dumps({**state, "lines": lines}))


def test_what_went_wrong_before_forbids_nothing_now(session: TableTop) -> None:
    """A cylinder that ran empty with somebody on it is replaced, and the casualty breathes on."""
    play(session, [*START, "go 20", "go 20", "go 20"])
    assert session.position.clock == 20
    empty = session._session.stand(session.position).connected["P01"]
    assert not empty.gas
    assert session.type_line("change R1 to C4")[0].startswith("Begun")
    session.type_line("go 3")
    assert session._session.stand(session.position).connected["P01"].gas
