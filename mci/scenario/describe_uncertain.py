"""What is uncertain in a scenario, said back in tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.scenario.columns import Column, Table
from mci.scenario.numbers import TIMES, WHOLE, NumberKind
from mci.scenario.quantity import write_value
from mci.scenario.uncertain import TIME_STEP, Empirical, Fixed, OneOf, Uncertain

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from mci.scenario.numbers import Number
    from mci.scenario.uncertain import Law, Uncertainty

    InWords = Callable[[Law, Number], str]

__all__ = ["uncertain_tables"]

_COLUMNS = (
    Column("number", "number"),
    Column("as written", "as_written"),
    Column("distribution", "distribution"),
    Column("rounded to", "rounded_to"),
    Column("", "data_from"),  # the words say it too
)
_TOGETHER = (
    Column("number", "number"),
    Column("goes with", "goes_with"),
    Column("rank correlation", "rank_correlation", lambda rank: f"{rank:g}".replace("-", "−"), right=True),
)


def uncertain_tables(uncertainty: Uncertainty, numbers: Mapping[str, Number], in_words: InWords) -> Iterator[Table]:
    """Yield the tables that say back what is uncertain; those without rows are left away.

    Parameters
    ----------
    uncertainty
        What is uncertain.
    numbers
        The numbers of the scenario by path.
    in_words
        Says a distribution.
    """
    rows = (*_numbers(uncertainty, numbers, in_words), *_mixes(uncertainty, numbers, in_words))
    if rows:
        title = "Not known for sure, for mci risk; plans are made with what is written"
        yield Table(title, "uncertain", _COLUMNS, rows)
    pairs = tuple((each.one, each.other, each.rank) for each in uncertainty.correlations)
    if pairs:
        yield Table("Uncertain numbers that go together", "correlated", _TOGETHER, pairs)


def _numbers(
    uncertainty: Uncertainty, numbers: Mapping[str, Number], in_words: InWords
) -> Iterator[tuple[str, str, str, str, str]]:
    for each in uncertainty.numbers:
        number = numbers[each.path]
        yield each.path, number.text, in_words(each.law, number), _rounded(each, number), _source(each.law)


def _mixes(
    uncertainty: Uncertainty, numbers: Mapping[str, Number], in_words: InWords
) -> Iterator[tuple[str, str, str, str, str]]:
    for mix in uncertainty.mixes:
        total = in_words(mix.total, numbers[mix.paths[0]])
        weights = ", ".join(f"{weight:g}" for weight in mix.weights)
        written = " + ".join(numbers[path].text for path in mix.paths)
        words = f"total {total}; shares Dirichlet, {weights}"
        yield " + ".join(mix.paths), written, words, "whole", _source(mix.total)


def _rounded(uncertain: Uncertain, number: Number) -> str:
    """Say to what values are rounded (see :class:`mci.scenario.uncertain.Uncertain`)."""
    kind = number.kind
    if isinstance(uncertain.law, Fixed | OneOf) and uncertain.step is None:
        return "not rounded"
    if uncertain.step is not None:
        return write_value(NumberKind.DURATION if kind is NumberKind.MOMENT else kind, uncertain.step)
    if kind in WHOLE:
        return "whole"
    return f"{TIME_STEP:g} min" if kind in TIMES else "not rounded"


def _source(law: Law) -> str:
    return law.source if isinstance(law, Empirical) else ""
