"""Cards: everybody has one, in the order of arrival, and what is revealed follows the rule of signs."""

from __future__ import annotations

from dataclasses import replace

from small_exercise import read_court

from mci.catalogue.mechanisms import load_mechanisms
from mci.demand.people import name_people
from mci.drills.cards import ADULTS, CHILDREN, FOUND, make_cards
from mci.drills.draw_casualties import draw_casualties
from mci.drills.draw_injects import draw_injects
from mci.drills.happen import happened
from mci.drills.result import Casualty
from mci.scenario.exercise import InjectKind


def _cards(seed: int) -> tuple[Casualty, ...]:
    court = read_court()
    briefed = replace(court, patients=draw_casualties(court, seed))
    actual = happened(briefed, draw_injects(briefed, seed, 8))
    return make_cards(briefed, actual, seed)


def test_everybody_has_a_card() -> None:
    """One card a patient, by arrival; those of a second wave are unannounced, and only those."""
    court = read_court()
    briefed = replace(court, patients=draw_casualties(court, 3))
    injects = draw_injects(briefed, 3, 8)
    actual = happened(briefed, injects)
    cards = make_cards(briefed, actual, 3)
    assert {card.key for card in cards} == {person.key for person in name_people(actual)}
    assert [card.arrive for card in cards] == sorted(card.arrive for card in cards)
    wave = {each.label for inject in injects for each in inject.patients}
    assert wave
    assert {card.key for card in cards if card.unannounced} == wave


def test_a_card_does_not_depend_on_the_others() -> None:
    """Another number of injects leaves the cards of those who do not change as they are; another seed does not."""
    court = read_court()
    briefed = replace(court, patients=draw_casualties(court, 3))
    few = make_cards(briefed, briefed, 3)
    actual = happened(briefed, [each for each in draw_injects(briefed, 3, 8) if each.kind is InjectKind.SECOND_WAVE])
    many = {card.key: card for card in make_cards(briefed, actual, 3)}
    assert all(many[card.key] == card for card in few)
    assert make_cards(briefed, briefed, 4) != few


def test_stages_show_that_oxygen_helps() -> None:
    """Arrival first; without oxygen saturation sinks, at target it rises, below target it is in between."""
    for seed in range(5):
        for card in _cards(seed):
            found = {stage.when: stage.signs.spo2 for stage in card.stages}
            start = found["on arrival, on air"]
            assert card.stages[0].when == "on arrival, on air"
            assert start >= found["after 5 min without oxygen"] >= found["after 20 min without oxygen"]
            assert found["after 10 min at target"] >= found["after 5 min at target"] >= start
            below = [spo2 for when, spo2 in found.items() if "below target" in when]
            assert all(
                found["after 10 min without oxygen"] <= spo2 <= found["after 10 min at target"] for spo2 in below
            )


def test_who_worsens_shows_it() -> None:
    """Every change of need is on the card with its moment, and three stages tell what comes of it."""
    changed = [card for seed in range(8) for card in _cards(seed) if len(card.needs) > 1]
    assert changed
    for card in changed:
        found = {stage.when: stage.signs.spo2 for stage in card.stages if "after the change" in stage.when}
        assert len(found) == 3 * (len(card.needs) - 1)
        before, air, target = found.values()
        assert target >= before >= air


def test_ages_and_findings_fit() -> None:
    """Children have the ages of children; what is found is a sentence of the mechanism, or a general one."""
    sentences = {sentence for told in FOUND.values() for sentence in told}
    for mechanism in load_mechanisms().values():
        for need in mechanism.needs:
            sentences |= {*need.adult.findings, *need.child.findings}
    for card in _cards(3):
        low, high = CHILDREN if card.needs[0][2].startswith("Child") else ADULTS
        assert low <= int(card.age.removesuffix(" years")) <= high
        assert card.found in sentences
