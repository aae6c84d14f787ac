"""Mechanisms of injury: the bundled ones hold to what their file says, and every mistake is told with its line."""

from __future__ import annotations

from importlib import resources

import pytest

from mci.catalogue.categories import CATEGORIES
from mci.catalogue.load import load_catalogue
from mci.catalogue.mechanisms import Mechanism, Span, load_mechanisms, read_mechanisms
from mci.errors import InputError

TEXT = (resources.files("mci.catalogue") / "data" / "mechanisms.yaml").read_text(encoding="utf-8")
MECHANISMS = list(load_mechanisms().values())
by_key = pytest.mark.parametrize("mechanism", MECHANISMS, ids=lambda m: m.key)


def test_these_mechanisms_are_there() -> None:
    """The keys that scenarios may name."""
    assert set(load_mechanisms()) == {"road crash", "chlorine", "crowd crush", "smoke", "blast"}


@by_key
def test_shares_sum_to_one_and_keep_to_the_published_mix(mechanism: Mechanism) -> None:
    """All of the hurt are placed; no category has more people who need oxygen than people (25, 25, 50 %)."""
    assert sum(n.share for n in mechanism.needs) + mechanism.no_oxygen == pytest.approx(1, abs=1e-12)
    for category, people in {"immediate": 0.25, "delayed": 0.25, "minimal": 0.5}.items():
        assert sum(n.share for n in mechanism.needs if n.category == category) <= people + 1e-12
    assert all(need.category in CATEGORIES and need.category != "expectant" for need in mechanism.needs)


@by_key
def test_a_child_has_a_child_s_ladder_of_the_same_need(mechanism: Mechanism) -> None:
    """And both are of the catalogue."""
    for need in mechanism.needs:
        assert need.child_ladder == f"paediatric {need.ladder}"
        assert {need.ladder, need.child_ladder} <= set(load_catalogue().ladders)
        assert need.ladder_of(child=True) == need.child_ladder
        assert need.picture_of(child=False) is need.adult


@by_key
def test_signs_agree_with_category_and_need(mechanism: Mechanism) -> None:
    """Oxygen is for those below 94 % (BTS), save for smoke; adults above 30 breaths are Immediate (START)."""
    for need in mechanism.needs:
        for picture, most in ((need.adult, 30), (need.child, 45)):
            assert len(picture.findings) >= 2
            if mechanism.key != "smoke":
                assert picture.spo2.high < 94
            if need.category == "immediate":
                assert picture.breaths.low > most
            else:
                assert picture.breaths.high <= most
        assert need.child.pulse.low > need.adult.pulse.low


@by_key
def test_the_source_says_that_it_is_an_assumption(mechanism: Mechanism) -> None:
    """And beside which published mix."""
    assert mechanism.source.basis.value == "assumption"
    assert mechanism.source.text.startswith("planning assumption; 25 % Immediate")
    assert "2014;14:5 table 1" in mechanism.source.text


BREAKS = [
    ("  no oxygen: 0.75", "  no oxygen: 0.7", "the shares of road crash and 'no oxygen' sum to 0.95; they must sum to"),
    ("  basis: assumption", "  basis: hearsay", "must be one of: verified; from memory"),
    ("  title: Road crash", "  titel: Road crash", "the key title is missing"),
    ("share: 0.08", "share: 8", "this share is not a share"),
    ("share: 0.08", "share: 0", "a share must be above 0; leave the need out instead"),
    ("category: delayed", "category: yellow", "the category must be one of immediate, delayed, minimal, expectant"),
    ("ladder: high need", "ladder: huge need", "the ladder 'huge need' is not in the catalogue"),
    ("child ladder: paediatric high", "child ladder: small high", "the ladder 'small high need' is not in the catal"),
    ("spo2: [78, 87]", "spo2: [87, 78]", "the range of spo2 must rise, and lie within 50 to 100"),
    ("spo2: [78, 87]", "spo2: [78, 107]", "the range of spo2 must rise, and lie within 50 to 100"),
    ("spo2: [78, 87]", "spo2: [78]", "the range of spo2 must be two whole numbers, such as [50, 100]"),
    ("spo2: [78, 87]", "spo2: 80", "the range of spo2 must be a list"),
    ("pulse: [115, 140]", "heart: [115, 140]", "the key pulse is missing"),
    ("breathing fast and shallow.", "breathing fast", "a finding is a sentence with a full stop"),
    ("crowd crush:", "chlorine:", "the key chlorine is there twice"),
    ("  title: Blast", "  title: [Blast", "is not YAML"),
]


def mistakes_of(text: str) -> list[tuple[int, str]]:
    """Read a broken text and return what is told: line and rule."""
    with pytest.raises(InputError) as caught:
        read_mechanisms("mechanisms.yaml", text, load_catalogue().ladders)
    assert {mistake.file for mistake in caught.value.mistakes} == {"mechanisms.yaml"}
    return [(mistake.line, mistake.rule) for mistake in caught.value.mistakes]


@pytest.mark.parametrize(("good", "bad", "rule"), BREAKS, ids=[rule[:40] for *_, rule in BREAKS])
def test_a_mistake_is_told_with_its_line(good: str, bad: str, rule: str) -> None:
    """At most a few lines off where a key is missing or not closed."""
    line = TEXT[: TEXT.index(good)].count("\n") + 1
    told = [(at, text) for at, text in mistakes_of(TEXT.replace(good, bad, 1)) if rule in text]
    assert told
    assert abs(told[0][0] - line) <= 6


def test_mistakes_of_several_needs_are_told_together() -> None:
    """Every broken need, in one error, and no sum of what is left beside it."""
    text = TEXT.replace("spo2: [78, 87]", "spo2: [87, 78]", 1).replace("pulse: [95, 115]", "pulse: fast", 1)
    rules = [rule for _, rule in mistakes_of(text.replace("ladder: high need", "ladder: huge need"))]
    assert len(rules) == 2 + 5
    assert not any("must sum" in rule for rule in rules)


def test_the_mechanisms_cannot_be_changed() -> None:
    """Read once and shared."""
    assert load_mechanisms() is load_mechanisms()
    with pytest.raises(TypeError):
        load_mechanisms()["blast"] = None  # type: ignore[index]
    assert Span(1, 2) == Span(1, 2)
