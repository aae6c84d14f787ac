"""How a number is uncertain, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.study_words import amount, short_words
from mci.report.words import join_words
from mci.scenario.uncertain import Empirical, Fixed, Lognormal, OneOf, Poisson, Triangular, Uniform

if TYPE_CHECKING:
    from collections.abc import Mapping

    from mci.scenario.model import Scenario
    from mci.scenario.numbers import Number
    from mci.scenario.uncertain import Law, Uncertainty

__all__ = ["correlation_words", "law_words", "laws_by_path"]


def laws_by_path(uncertainty: Uncertainty, numbers: Mapping[str, Number], scenario: Scenario) -> dict[str, str]:
    """Say for every number that varies how it does; of a mix, its part of the total."""
    told = {each.path: law_words(each.law, numbers[each.path], scenario) for each in uncertainty.numbers}
    for mix in uncertainty.mixes:
        whole = sum(mix.weights)
        total = law_words(mix.total, numbers[mix.paths[0]], scenario)
        others = join_words(list(mix.paths))
        for path, weight in zip(mix.paths, mix.weights, strict=True):
            told[path] = (
                f"{amount(100 * weight / whole)} % on average of a total that is {total}; shares of {others} vary "
                f"together (Dirichlet, weights sum to {amount(whole)})"
            )
    return told


def law_words(law: Law, number: Number, scenario: Scenario) -> str:
    """Say one distribution: ``triangular: 0 min to 90 min, most likely 20 min``."""

    def said(value: float) -> str:
        return short_words(number, value, scenario)

    match law:
        case Fixed(value):
            return f"always {said(value)}"
        case Uniform(low, high):
            return f"uniform: {said(low)} to {said(high)}, all alike"
        case Triangular(low, mode, high):
            return f"triangular: {said(low)} to {said(high)}, most likely {said(mode)}"
        case Lognormal(median, spread):
            return f"lognormal: half of all below {said(median)}, two thirds within a factor {amount(spread)} of it"
        case Poisson(mean):
            return f"Poisson: a count of independent events, {amount(mean)} on average"
        case Empirical(values, source):
            return f"as observed: {len(values)} values from {source}, each as likely"
        case OneOf(options, chances):
            parts = [f"{option} {100 * chance:.3g} %" for option, chance in zip(options, chances, strict=True)]
            return f"one of {', '.join(parts)}"


def correlation_words(uncertainty: Uncertainty) -> tuple[str, ...]:
    """Say which numbers go together, and how closely."""
    return tuple(
        f"{each.one} and {each.other} go {'together' if each.rank >= 0 else 'against each other'}: rank correlation "
        f"{f'{each.rank:.3g}'.replace('-', '−')}."
        for each in uncertainty.correlations
    )
