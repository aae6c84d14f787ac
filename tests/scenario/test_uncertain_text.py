"""A distribution that is typed is the one that a scenario file would have."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import mci
from mci.errors import UsageError
from mci.scenario.draft import Draft, read_draft
from mci.scenario.uncertain import Correlation, Fixed, Lognormal, OneOf, Poisson, Triangular, Uncertain, Uniform
from mci.scenario.uncertain_text import parse_uncertain

FOLDER = Path(mci.__file__).parents[1] / "scenarios"
_WHOLE = read_draft(FOLDER / "ferry-fire.yaml").files
#: Without what it says itself is uncertain.
FERRY = Draft(dataclasses.replace(_WHOLE, tree={key: each for key, each in _WHOLE.tree.items() if key != "uncertain"}))
DELAY = "deliveries.county oxygen truck.delay"


@pytest.mark.parametrize(
    ("text", "path", "law", "step"),
    [
        ("patients.immediate.count = poisson 12", "patients.immediate.count", Poisson(12), None),
        (f"{DELAY}=Triangular 0, 15, 90 min", DELAY, Triangular(0, 15, 90), None),
        (f"{DELAY} = triangular 0, 15, 90 min step 10 min", DELAY, Triangular(0, 15, 90), 10),
        ("patients.lounge.arrive.over = uniform 45 min, 2 h", "patients.lounge.arrive.over", Uniform(45, 120), None),
        ("Patients.Cook.arrive = uniform T+5, T+20", "patients.cook.arrive", Uniform(5, 20), None),
        ("patients.cook.arrive = uniform 14:40, 15:00", "patients.cook.arrive", Uniform(5, 25), None),
        ("supplies.pressure = uniform 80, 100 %", "supplies.pressure", Uniform(0.8, 1), None),
        ("patients.lounge.stay = lognormal 100 min, 1.3", "patients.lounge.stay", Lognormal(100, 1.3), None),
        (
            "patients.lounge.arrive.pattern = one of evenly 50 %, early 0.5",
            "patients.lounge.arrive.pattern",
            OneOf(("evenly", "early"), (0.5, 0.5)),
            None,
        ),
        ("weights.minimal = fixed 3", "weights.minimal", Fixed(3), None),
    ],
)
def test_every_distribution(text, path, law, step):
    """Each word reads its values; the unit of the last one serves those without."""
    assert parse_uncertain([text], FERRY).numbers == (Uncertain(path, law, step),)


@given(st.lists(st.integers(0, 10_000), min_size=3, max_size=3, unique=True).map(sorted))
def test_units_serve_those_before(minutes):
    """Values with one unit at the end are those with a unit each, and are told back in minutes."""
    low, mode, high = minutes
    short = parse_uncertain([f"{DELAY} = triangular {low}, {mode}, {high} min"], FERRY)
    assert short == parse_uncertain([f"{DELAY} = triangular {low} min, {mode} min, {high} min"], FERRY)
    assert short.numbers[0].law == Triangular(low, mode, high)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("patients.immediate.cuont = poisson 3", "Did you mean 'patients.immediate.count'"),
        ("patients.immediate.count poisson 3", "write PATH = poisson MEAN"),
        ("patients.immediate.count = poison 3", "write poisson MEAN, or triangular"),
        ("patients.immediate.count = poisson", "write poisson MEAN"),
        ("patients.immediate.count = poisson -3", "must not be negative"),
        ("patients.immediate.count = fixed 1", "2 patients are listed one by one"),
        ("patients.lounge.stay = poisson 3", "this number is a duration"),
        ("patients.lounge.stay = lognormal 100 min", "such as lognormal 100 min, 1.3"),
        ("patients.lounge.stay = lognormal 100 min, 0.5", "the spread must be above 1"),
        ("patients.lounge.stay = uniform 3, 4, 5 h", "needs the lowest and the highest value"),
        ("patients.lounge.stay = uniform 3, 2", "the unit is missing"),
        ("patients.lounge.stay = fixed 1 h, 2 h", "write fixed VALUE"),
        ("patients.lounge.arrive.pattern = one of evenly, early", "has no chance"),
        ("patients.lounge.arrive.pattern = one of early 50 %, early 50 %", "is there twice"),
        ("patients.lounge.arrive.pattern = one of evenly 50 %, erly 50 %", "Did you mean 'early'"),
        ("patients.lounge.arrive.pattern = one of evenly 50 %, early 40 %", "sum to 100 %"),
    ],
)
def test_wrong_texts(text, words):
    """What is wrong is told with what is right."""
    with pytest.raises(UsageError, match=words):
        parse_uncertain([text], FERRY)


def test_two_texts_that_set_the_same():
    """One number does not vary twice; the text is told that does it again."""
    with pytest.raises(UsageError, match=r"'patients.count = poisson 9': sets the same as patients.immediate.count"):
        parse_uncertain(["patients.immediate.count = poisson 3", "patients.count = poisson 9"], FERRY)


def test_typed_takes_the_place_of_written(write):
    """The scenario's own distributions stay but for numbers that are typed; setting the same otherwise is refused."""
    text = (FOLDER / "ferry-fire.yaml").read_text(encoding="utf-8").partition("\nuncertain:")[0]
    section = (
        "\nuncertain:\n"
        "- {number: weights.minimal, uniform: [0, 1]}\n"
        "- {number: deliveries.county oxygen truck.delay, uniform: [0 min, 1 h]}\n"
        "- {mix: [patients.immediate.count, patients.delayed.count], total: {poisson: 30}, dirichlet: [1, 2]}\n"
        "- {correlated: [weights.minimal, deliveries.county oxygen truck.delay], rank: 0.5}\n"
    )
    draft = read_draft(write(text + section))
    both = parse_uncertain(["patients.lounge.stay = fixed 1 h", "weights.minimal = uniform 0, 2"], draft)
    assert [each.law for each in both.numbers] == [Uniform(0, 2), Uniform(0, 60), Fixed(60)]
    assert both.correlations == (Correlation("weights.minimal", DELAY, 0.5),)
    assert both.mixes == draft.uncertainty.mixes
    assert parse_uncertain([], draft) == draft.uncertainty
    with pytest.raises(UsageError, match="is in a mix of the scenario"):
        parse_uncertain(["patients.delayed.count = poisson 3"], draft)
    with pytest.raises(UsageError, match=r"sets the same as 'patients.immediate.count'"):
        parse_uncertain(["patients.count = poisson 40"], draft)
    with pytest.raises(UsageError, match=r"sets the same as 'deliveries.county oxygen truck.delay'"):
        parse_uncertain(["deliveries.county oxygen truck.at = fixed T+90"], draft)
