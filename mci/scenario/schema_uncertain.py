"""What is not known for sure, as the planner writes it; values stay texts until the number is known."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Annotated, Any, Self

from pydantic import AfterValidator, Field, Tag, model_validator

from mci.scenario.fields import FileName, Number, Rank, Rate, Share, Text
from mci.scenario.known import Wrong
from mci.scenario.written import Written, begins_with

__all__ = ["LAW_WORDS", "CorrelatedLine", "LawPart", "LognormalPart", "MixLine", "NumberLine", "UncertainLine"]

#: The word of each distribution; a line has one of them.
LAW_WORDS = ("fixed", "uniform", "triangular", "lognormal", "poisson", "one of", "from")


def _so_many(count: int, what: str, example: str) -> tuple[Any, Any]:
    """Return what makes a list have so many entries, for the reader and for an editor."""

    def check(value: list[str] | None) -> list[str] | None:
        if value is not None and len(value) != count:
            raise Wrong(f"needs {what}", f"Such as {example}.")
        return value

    return AfterValidator(check), Field(json_schema_extra={"minItems": count, "maxItems": count})


def _sum_to_1(chances: Mapping[str, float] | None) -> Mapping[str, float] | None:
    whole = 1.0 if chances is None else math.fsum(chances.values())
    if not math.isclose(whole, 1.0, abs_tol=1e-6):
        raise Wrong(f"the chances must sum to 100 %, not {100 * whole:.6g} %")
    return chances


def _two_or_more(paths: list[str]) -> list[str]:
    if len(paths) < 2:
        raise Wrong("needs two numbers or more", "Such as [patients.immediate.count, patients.delayed.count].")
    return paths


class LognormalPart(Written):
    """A distribution whose logarithm is normal."""

    median: Annotated[Text, Field(description="Value below which half of all lie, such as 100 min.")]
    spread: Annotated[
        Number, Field(description="Factor around the median within which two thirds of all lie, above 1, such as 1.3.")
    ]

    @model_validator(mode="after")
    def _spreads(self) -> Self:
        if self.spread <= 1:
            raise Wrong("the spread must be above 1", "It is a factor: 1.3 is about 30 % up or down.")
        return self


class LawPart(Written):
    """One distribution."""

    fixed: Annotated[Text | None, Field(description="Always this value.")] = None
    uniform: Annotated[
        list[Text] | None,
        *_so_many(2, "the lowest and the highest value", "[45 min, 2 h]"),
        Field(description="Lowest and highest value, all between alike, such as [45 min, 2 h]."),
    ] = None
    triangular: Annotated[
        list[Text] | None,
        *_so_many(3, "the lowest, the most likely and the highest value", "[0 min, 15 min, 90 min]"),
        Field(description="Lowest, most likely and highest value, such as [0 min, 15 min, 90 min]."),
    ] = None
    lognormal: Annotated[
        LognormalPart | None, Field(description="Median and factor, such as {median: 100 min, spread: 1.3}.")
    ] = None
    poisson: Annotated[Rate | None, Field(description="Mean of a count of independent events.")] = None
    one_of: Annotated[
        dict[Text, Share] | None,
        AfterValidator(_sum_to_1),
        Field(description="Values or words, each with its chance, such as {evenly: 50 %, early: 50 %}."),
    ] = None
    from_: Annotated[
        FileName | None, Field(description="CSV or XLSX file beside the scenario with values that were observed.")
    ] = None
    column: Annotated[Text | None, Field(description="Column of the file that holds them.")] = None
    sheet: Annotated[Text | None, Field(description="Sheet of the XLSX file; without it the first.")] = None

    @model_validator(mode="after")
    def _one_law(self) -> Self:
        laws = (self.fixed, self.uniform, self.triangular, self.lognormal, self.poisson, self.one_of, self.from_)
        given = [word for word, law in zip(LAW_WORDS, laws, strict=True) if law is not None]
        if not given:
            raise Wrong(f"does not say how it varies: needs one of {', '.join(LAW_WORDS)}")
        if len(given) > 1:
            raise Wrong(f"varies in more than one way: {', '.join(given)}", "Keep one of them.")
        if (self.from_ is None) != (self.column is None):
            raise Wrong("needs both 'from' and 'column'", "Such as from: gauges.csv, column: share.")
        if self.sheet is not None and self.from_ is None:
            raise Wrong("names a sheet but no file", "Add 'from'.")
        return self


class NumberLine(LawPart):
    """One number that is a distribution."""

    number: Annotated[Text, Field(description="Path of the number, as `mci check --numbers` lists it.")]
    step: Annotated[
        Text | None,
        Field(
            description="Values are rounded to whole multiples of this, such as 5 min; without it counts to whole "
            "ones, times to 5 min, others not at all."
        ),
    ] = None

    @model_validator(mode="after")
    def _rounded(self) -> Self:
        if self.step is not None and self.one_of is not None:
            raise Wrong("'one of' takes its values as they are", "Remove 'step'.")
        return self


def _a_total(total: LawPart) -> LawPart:
    if total.one_of is not None:
        raise Wrong("a total cannot be 'one of'", "Use another distribution.")
    return total


class MixLine(Written):
    """Counts whose total is a distribution, and whose shares of it vary together."""

    mix: Annotated[
        list[Text],
        AfterValidator(_two_or_more),
        Field(description="Paths of the counts, two or more.", json_schema_extra={"minItems": 2}),
    ]
    total: Annotated[LawPart, AfterValidator(_a_total), Field(description="Distribution of their sum.")]
    dirichlet: Annotated[
        list[Rate],
        Field(
            description="A weight for each: their ratio is the mean mix; the larger their sum, the less the mix varies."
        ),
    ]

    @model_validator(mode="after")
    def _one_each(self) -> Self:
        if len(self.dirichlet) != len(self.mix):
            raise Wrong(f"names {len(self.mix)} numbers and has {len(self.dirichlet)} weights", "Give one for each.")
        return self


class CorrelatedLine(Written):
    """Two uncertain numbers that go together."""

    correlated: Annotated[
        list[Text],
        *_so_many(2, "two numbers", "[patients.immediate.count, deliveries.delay]"),
        Field(description="Paths of two numbers that are uncertain, neither in a mix."),
    ]
    rank: Annotated[Rank, Field(description="Rank correlation (Spearman), -1 to 1.")]


UncertainLine = Annotated[
    Annotated[NumberLine, Tag("<number>")]
    | Annotated[MixLine, Tag("<mix>")]
    | Annotated[CorrelatedLine, Tag("<correlated>")],
    begins_with("number", "mix", "correlated"),
]
