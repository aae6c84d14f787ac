"""Sheets of a drill: everybody sees what is theirs, and nobody what is not; nothing is left out; HTML stays inert."""

from __future__ import annotations

import dataclasses
import itertools
import re
from html import unescape
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_drill import EVIL, evil_drill, made_drill

from mci.drills.criteria import load_criteria
from mci.drills.result import Difficulty, Level
from mci.report.drill_cards import build_cards
from mci.report.drill_controllers import build_controllers, told_injects
from mci.report.drill_html import cards_html, controllers_html, key_html, players_html
from mci.report.drill_key import _ranges, build_key
from mci.report.drill_players import _kits
from mci.report.drill_series import cover_lines, timeline_data
from mci.report.figures.drill_timeline import _lanes
from mci.scenario import read_scenario
from mci.scenario.exercise import InjectKind

SHEETS = (players_html, cards_html, controllers_html, key_html)


class _Page(HTMLParser):
    """The tags of a page and its text."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.open: list[str] = []
        self.links: list[str] = []
        self.text = ""
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.links += [value or "" for name, value in attrs if name in ("href", "src") and tag != "use"]
        if tag not in ("meta", "link", "br", "col", "path", "rect", "circle"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag not in ("path", "rect", "circle"):
            assert self.open.pop() == tag

    def handle_startendtag(self, tag: str, _attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)

    def handle_data(self, data: str) -> None:
        if not (self.open and self.open[-1] == "style"):
            self.text += data


def text_of(html: str) -> str:
    """Return the words of a page, spaces as spaces."""
    return re.sub(r"\s+", " ", _Page(html).text.replace("\u00a0", " "))


def test_players_see_nothing_but_what_they_are_briefed() -> None:
    """Their sheet stays the same whatever happens, whoever else comes, and whatever would be best."""
    drill = made_drill()
    bare = dataclasses.replace(
        drill,
        briefed=dataclasses.replace(drill.briefed, exercise=None),
        actual=drill.briefed,
        casualties=(),
        events=(),
        objectives=(),
        best=drill.usual[0],
        again=None,
        usual=(),
        over_time=drill.over_time.iloc[:0],
        decisions=(),
        difficulty=Difficulty(None, None, 0.0, 0.0, 0.0, 0.0, 1),
        exercise_text="",
        notes=(),
    )
    assert players_html(bare) == players_html(drill)


def test_no_secret_is_in_the_players_sheet() -> None:
    """No inject, no unannounced casualty, no casualty's signs, no order and no difficulty stand in it."""
    drill = made_drill()
    told = text_of(players_html(drill))
    secrets = [event.what for event in drill.events]
    secrets += [card.key for card in drill.casualties]
    secrets += [card.found for card in drill.casualties] + [decision.what for decision in drill.decisions]
    assert [secret for secret in secrets if secret in told] == []
    assert not re.search(r"inject|unannounced|usual practice|best orders", told, re.IGNORECASE)


def test_players_find_all_that_is_there() -> None:
    """Every mark, the truck at the time announced, and the casualties announced."""
    told = text_of(players_html(made_drill()))
    for words in ("R1 to R6", "R7, R8", "C1 to C6", "C7, C8", "C9 to C12", "Staff 3: changes cylinders from T+20"):
        assert words in told
    assert "T+45 (09:55)county truck" in told
    assert "T+65" not in told
    assert "Casualties announced8" in told
    assert "below 500 psi" in told
    assert "falls to 200 psi" in told


def test_what_has_a_name_of_its_own_is_on_the_list_too() -> None:
    """Cylinders from an inventory keep their numbers and have no marks; whoever lays them out must find them."""
    tunnel = read_scenario(Path(__file__).parents[2] / "scenarios" / "tunnel-fire.yaml")
    for kit in _kits(tunnel):
        listed = [name for legend in kit.legends for name in legend.marks.split(", ")]
        own = [each.mark for each in kit.gauges if each.mark.startswith("K-")]
        assert own
        assert sorted(name for name in listed if name.startswith("K-")) == sorted(own)


def test_every_casualty_has_one_card_with_all_stages_and_needs() -> None:
    """In the order in which they come, front and back."""
    drill = made_drill()
    cards = build_cards(drill).body
    assert sorted(card.key for card in cards) == sorted(card.key for card in drill.casualties)
    html = cards_html(drill)
    assert (
        html.count('<article class="folder') == html.count('class="front"') == html.count('class="back"') == len(cards)
    )
    by_key = {card.key: card for card in drill.casualties}
    assert all(1 + len(card.stages) == len(by_key[card.key].stages) for card in cards)
    assert all(len(card.needs) == len(by_key[card.key].needs) for card in cards)
    starts = [by_key[card.key].arrive for card in cards]
    assert starts == sorted(starts)


def test_every_event_has_a_row_and_every_inject_one_slip() -> None:
    """Contingency injects are rows but no slips; nor are the casualties of a second wave."""
    drill = made_drill()
    body = build_controllers(drill).body
    assert [row.number for row in body.events] == [str(event.number) for event in drill.events]
    injects = drill.briefed.exercise.injects if drill.briefed.exercise else ()
    assert [event.inject for event in told_injects(drill)] == list(injects)
    assert [slip.what for slip in body.slips] == [event.what for event in told_injects(drill)]
    kinds = [row.kind for row in body.events]
    assert (kinds.count("inject"), kinds.count("contingency")) == (len(injects), len(injects))
    told = text_of(controllers_html(drill))
    assert all(event.what in told for event in drill.events)


def test_the_slip_does_not_say_what_is_expected() -> None:
    """It is handed to players."""
    html = controllers_html(made_drill())
    slips = html[html.index('class="slips"') : html.index("Controller’s sheet")]
    assert not any(event.expected in unescape(slips) for event in made_drill().events)


def test_controllers_bring_in_and_take_back_everybody() -> None:
    """A change of need that an inject tells is there once, not twice."""
    drill = made_drill()
    rows = [row.what for area in build_controllers(drill).body.areas for row in area.rows]
    for card in drill.casualties:
        assert sum(row.startswith(f"Bring in {card.key} ") for row in rows) == 1
        assert sum(row.startswith(f"{card.key} leaves") for row in rows) == (card.leave < drill.actual.horizon)
    assert not any("P07 from now on" in row for row in rows)
    silent = tuple(
        event for event in drill.events if not event.inject or event.inject.kind is not InjectKind.PATIENT_WORSENS
    )
    rows = [row.what for row in build_controllers(dataclasses.replace(drill, events=silent)).body.areas[0].rows]
    assert any("P07 from now on: Immediate" in row for row in rows)


def test_every_criterion_can_be_ticked_with_its_source() -> None:
    """Seen, partly, not seen, not observed; what has no source says so."""
    html = controllers_html(made_drill())
    told = text_of(html)
    for each in load_criteria():
        assert each.what in told
        assert (each.source.text or "common practice, no source") in told
    sheet = html[html.index("Evaluator’s sheet") : html.index("Flows of the devices")]
    assert sheet.count('class="box"') == 4 * len(load_criteria())
    assert "10 to 15" in told  # flows of a non-rebreather


def test_the_key_says_what_it_knows_and_shows_every_order() -> None:
    """Difficulty with numbers, hindsight, and each order once; decisions point to their orders."""
    drill = made_drill()
    hard = Difficulty(Level.MODERATE, Level.MODERATE, 0.14652, 248.615, 291.3, 304.1, 7)
    told = text_of(key_html(dataclasses.replace(drill, difficulty=hard)))
    assert "Moderate, as asked: usual practice loses 14.7 % of what the best orders reach." in told
    assert "reaches 249 weighted credit-minutes, the best orders 291; no orders can beat 304." in told
    assert "know everything beforehand" in told
    assert "no orders whatsoever can beat it" in told
    lines = [line for sheet in build_key(drill).body.sheets for line in sheet.lines]
    assert sorted(int(line.number) for line in lines) == list(range(1, len(drill.best.plan.orders) + 1))
    marked = {int(line.number) for line in lines if "A" in line.letters.split()}
    assert marked == set(drill.decisions[0].rows)


def test_the_last_row_is_what_difficulty_is_measured_by() -> None:
    """Its shares are as those of weighted coverage; without it the best orders may look worse than usual ones."""
    drill = made_drill()
    *_, row = build_key(drill).body.coverage.rows
    assert row.word == "All, by weight"
    met = [float(share.removesuffix(" %")) for share, _ in row.cells]
    usual = max(judged.verdict.weighted for judged in drill.usual)
    assert met[0] / met[-1] == pytest.approx(usual / drill.best.verdict.weighted, abs=0.005)


@pytest.mark.parametrize(
    ("asked", "level", "words"),
    [
        (None, None, "Below the easiest band:"),
        (None, Level.HARD, "Hard:"),
        (Level.HARD, Level.MODERATE, "Moderate, though hard was asked:"),
        (Level.EASY, None, "Below the easiest band, though easy was asked:"),
    ],
)
def test_a_level_is_not_claimed_where_it_was_not_reached(asked: Level | None, level: Level | None, words: str) -> None:
    """What was asked and what came out are both told."""
    drill = made_drill()
    hard = dataclasses.replace(drill.difficulty, asked=asked, level=level)
    assert build_key(dataclasses.replace(drill, difficulty=hard)).body.headline[0].startswith(words)


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.__name__)
def test_sheets_are_inert_and_marked(sheet) -> None:  # type: ignore[no-untyped-def]
    """Tags are closed, nothing is loaded, hostile text is text; each says that it is exercise data."""
    for drill in (made_drill(), evil_drill()):
        html = sheet(drill)
        page = _Page(html)
        assert page.open == []
        assert not {"script", "iframe", "object", "form", "img"} & set(page.tags)
        assert all(link.startswith(("data:", "#")) for link in page.links)
        assert page.text.count("Exercise data, invented; not for care of any patient") >= 2
    assert EVIL in _Page(sheet(evil_drill())).text


def test_a_drill_without_injects_deliveries_or_crew_is_printed() -> None:
    """Nothing to show is no reason to fail."""
    drill = made_drill()
    scenario = dataclasses.replace(drill.briefed, exercise=None, staff=(), start=None,
                                   lots=tuple(lot for lot in drill.briefed.lots if not lot.delivery),
                                   regulators=tuple(r for r in drill.briefed.regulators if not r.delivery))  # fmt: skip
    bare = dataclasses.replace(
        drill,
        briefed=scenario,
        actual=scenario,
        again=None,
        usual=(),
        decisions=(),
        notes=(),
        events=tuple(event for event in drill.events if event.inject is None),
        casualties=tuple(card for card in drill.casualties if not card.unannounced),
    )
    told = [text_of(sheet(bare)) for sheet in SHEETS]
    assert "Deliveries announced None." in told[0]
    assert "Inject slips" not in told[2]
    assert not timeline_data(bare).injects
    assert [line.kind for line in cover_lines(bare).plans] == ["best"]


@given(st.sets(st.integers(min_value=1, max_value=40), min_size=1))
def test_ranges_name_exactly_their_rows(rows: set[int]) -> None:
    """Read again they are the same numbers, each once."""
    again: list[int] = []
    for part in _ranges(sorted(rows)).split(", "):
        first, _, last = part.partition(" to ")
        again += range(int(first), int(last or first) + 1)
    assert again == sorted(rows)


@given(st.lists(st.floats(min_value=0, max_value=240), max_size=30), st.floats(min_value=0.5, max_value=20))
def test_marks_of_one_lane_do_not_touch(moments: list[float], apart: float) -> None:
    """What is too close stands in another lane."""
    moments.sort()
    lanes = _lanes(moments, apart)
    for lane in set(lanes):
        mine = [at for at, other in zip(moments, lanes, strict=True) if other == lane]
        assert all(later - before >= apart for before, later in itertools.pairwise(mine))
