"""What a planner types after ``--uncertain``, read into the distribution of a number.

::

    patients.immediate.count = poisson 12
    deliveries.county oxygen truck.delay = triangular 0, 15, 90 min step 5 min
    patients.lounge.arrive.over = uniform 45 min, 2 h
    patients.lounge.stay = lognormal 100 min, 1.3
    patients.lounge.arrive.pattern = one of evenly 50 %, early 50 %
    weights.minimal = fixed 0.2

The unit of the last value serves those before it that have none.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from mci.errors import Mistake, UsageError
from mci.scenario.build_uncertain import build_uncertainty
from mci.scenario.entries import hint
from mci.scenario.mistakes import tell
from mci.scenario.numbers import part_at_path, plain_path
from mci.scenario.read import known_of
from mci.scenario.schema_uncertain import NumberLine
from mci.scenario.uncertain import Uncertainty

if TYPE_CHECKING:
    from mci.scenario.draft import Draft
    from mci.scenario.entries import Entry
    from mci.scenario.known import Known

__all__ = ["parse_uncertain"]

#: How each distribution is written after the sign.
_WRITTEN = {
    "poisson": "poisson MEAN",
    "triangular": "triangular LOWEST, MOST LIKELY, HIGHEST",
    "uniform": "uniform LOWEST, HIGHEST",
    "lognormal": "lognormal MEDIAN, FACTOR",
    "one of": "one of VALUE CHANCE, VALUE CHANCE",
    "fixed": "fixed VALUE",
}
_LISTS = ("triangular", "uniform")


def parse_uncertain(texts: Sequence[str], draft: Draft) -> Uncertainty:
    """Return what is uncertain in a scenario with what is typed besides.

    A number that the scenario itself says is uncertain takes the distribution that is typed; its correlations stay.

    Parameters
    ----------
    texts
        One number each, ``PATH = DISTRIBUTION``.
    draft
        The scenario.

    Raises
    ------
    UsageError
        If one cannot be read, or sets the same as another; it says what is right.
    InputError
        If the scenario has mistakes.
    """
    known = known_of(draft.files)
    lines = [_line(text, draft.entries, known) for text in texts]
    typed, told = build_uncertainty(lines, draft.entries, known, {}, _place)
    if told:
        first = told[0]
        raise UsageError(f"{texts[int(first.path)]!r}: {_said(first)}")
    return _together(draft.uncertainty or Uncertainty(), typed, draft.entries)


def _line(text: str, entries: Mapping[str, Entry], known: Known) -> NumberLine:
    path, law = _split(text, entries)
    match = re.fullmatch(rf"({'|'.join(_WRITTEN)})\b(.*?)(?:\bstep\b(.+))?", law, re.IGNORECASE)
    if match is None:
        raise UsageError(f"{text!r} does not say how the number varies; write {_any_of()} after the '='")
    word, values, step = match[1].lower(), match[2].strip(), match[3]
    written: dict[str, Any] = {"number": path, word: _law(word, values, text)}
    if step:
        written["step"] = step.strip()
    try:
        return NumberLine.model_validate(written, context=known)
    except ValidationError as error:
        first = tell(error, written, known, _place)[0]
        raise UsageError(f"{text!r}: {_said(first)}") from None


def _split(text: str, entries: Mapping[str, Entry]) -> tuple[str, str]:
    """Part the text where the longest known path ends; names may hold ``=`` themselves."""
    parted = part_at_path(text, entries)
    if parted is not None:
        return entries[parted[0]].number.path, " ".join(parted[1].split())
    path, sign, _ = text.partition("=")
    if not sign:
        raise UsageError(f"{text!r} has no '=': write PATH = {_any_of()}")
    raise UsageError(f"there is no number {path.strip()!r}. {hint(path, entries)}")


def _law(word: str, values: str, text: str) -> Any:
    """Return the values of a distribution as the scenario file would have them."""
    parts = [part.strip() for part in values.split(",")]
    if "" in parts:
        raise UsageError(f"{text!r}: a value is missing; write {_WRITTEN[word]}")
    if word in _LISTS:
        return _with_units(parts)
    if word == "lognormal":
        if len(parts) != 2:
            raise UsageError(f"{text!r}: write {_WRITTEN[word]}, such as lognormal 100 min, 1.3")
        return {"median": parts[0], "spread": parts[1]}
    if word == "one of":
        return _chances(parts, text)
    if len(parts) > 1:
        raise UsageError(f"{text!r} has too many values; write {_WRITTEN[word]}")
    return values


def _with_units(parts: Sequence[str]) -> list[str]:
    """Give bare numbers the unit of the last value."""
    unit = re.fullmatch(r"(?:T\s*\+\s*)?[-+−]?\d+(?:\.\d+)?\s*(%|°?[A-Za-z][A-Za-z0-9/]*)", parts[-1], re.IGNORECASE)
    return [f"{part} {unit[1]}" if unit and re.fullmatch(r"[-+−]?\d+(\.\d+)?", part) else part for part in parts]


def _chances(parts: Sequence[str], text: str) -> dict[str, str]:
    chances: dict[str, str] = {}
    for part in parts:
        match = re.fullmatch(r"(.+?)\s+(\d+(?:\.\d+)?\s*%?)", part)
        if match is None:
            raise UsageError(f"{text!r}: {part!r} has no chance; write {_WRITTEN['one of']}, such as early 50 %")
        if match[1] in chances:
            raise UsageError(f"{text!r}: {match[1]!r} is there twice")
        chances[match[1]] = match[2]
    return chances


def _together(written: Uncertainty, typed: Uncertainty, entries: Mapping[str, Entry]) -> Uncertainty:
    """Return what the scenario says, with what was typed in its place or besides."""
    new = {each.path: each for each in typed.numbers}
    mixed = {path for mix in written.mixes for path in mix.paths}
    for path in new:
        if path in mixed:
            raise UsageError(f"{path!r} is in a mix of the scenario; change it there")
        mine = entries[plain_path(path)].touches
        others = [each for each in written.paths if each != path and mine & entries[plain_path(each)].touches]
        if others:
            raise UsageError(f"{path!r} sets the same as {others[0]!r}, which is uncertain in the scenario")
    kept = tuple(new.pop(each.path, each) for each in written.numbers)
    return Uncertainty((*kept, *new.values()), written.mixes, written.correlations)


def _any_of() -> str:
    return ", or ".join(_WRITTEN.values())


def _place(where: Sequence[Any], rule: str, fix: str = "", value: str | None = None, *, key: bool = False) -> Mistake:
    """Return a mistake whose path is the number of the text."""
    del key
    return Mistake(rule, fix, path=str(where[1]) if len(where) > 1 else "", value=value)


def _said(mistake: Mistake) -> str:
    return str(Mistake(mistake.rule, mistake.fix, value=mistake.value))
