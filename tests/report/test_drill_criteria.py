"""What an evaluator looks at: each once, each with a source or the words that there is none; mistakes by their line."""

from __future__ import annotations

import pytest

from mci.catalogue.model import Basis
from mci.drills.criteria import load_criteria, read_criteria
from mci.errors import InputError

GOOD = """\
mask:
  - key: seal
    what: The mask lies close
    seen: no gap
    gas: no
    source: ""
    basis: common practice, no source
"""


def test_each_has_a_source_or_says_that_it_has_none() -> None:
    """The basis is 'common practice, no source' exactly where no source is named."""
    criteria = load_criteria()
    assert all((each.source.basis is Basis.PRACTICE) == (not each.source.text) for each in criteria)
    assert len({each.key for each in criteria}) == len(criteria)


@pytest.mark.parametrize(
    "words",
    ["Gloves", "washer", "cracked", "leak", "500 psi", "bag is full before", "range of the device", "at least 10 L/min",
     "lies close", "looked at again", "before its gauge falls"],
)  # fmt: skip
def test_the_skill_is_covered(words: str) -> None:
    """What must be seen of the skill is among the criteria."""
    assert any(words in each.what for each in load_criteria())


@pytest.mark.parametrize(
    ("written", "instead", "rule"),
    [
        ("gas: no", "gas: perhaps", "must be yes or no"),
        ('source: ""', "source: a handbook", "names a source, or its basis is"),
        ("basis: common practice, no source", "basis: verified", "names a source, or its basis is"),
        ("basis: common practice, no source", "basis: hearsay", "must be one of"),
        ("what: The mask lies close", 'what: ""', "must say something"),
        ("    gas: no\n", "", "the key gas is missing"),
        ("mask:\n", "mask:\n  - {key: seal, what: a, seen: b, gas: no, source: c, basis: verified}\n", "there twice"),
    ],
)
def test_mistakes_are_told_with_their_line(written: str, instead: str, rule: str) -> None:
    """A slip in the data file is refused, not guessed at."""
    with pytest.raises(InputError) as caught:
        read_criteria("mine.yaml", GOOD.replace(written, instead))
    assert [rule in mistake.rule for mistake in caught.value.mistakes] == [True]
    assert caught.value.mistakes[0].line > 0


def test_criteria_of_ones_own_are_read() -> None:
    """The data file may be edited."""
    (mine,) = read_criteria("mine.yaml", GOOD)
    assert (mine.where, mine.key, mine.gas, mine.source.basis) == ("mask", "seal", False, Basis.PRACTICE)
