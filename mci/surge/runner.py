"""One case after the other: what every engine does with a case, and the engine that stays in this process."""

from __future__ import annotations

import time
from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass
from typing import Any

from mci.errors import InputError, PlannerError
from mci.surge.cases import Case, Row

__all__ = ["Evaluate", "Finished", "attempt", "failed", "run_here"]

#: What finds the row of a case; an importable function, so that other processes find it too.
Evaluate = Callable[[Any, Case], Row]


@dataclass(frozen=True, slots=True)
class Finished:
    """A case that is done.

    Parameters
    ----------
    key
        Which one.
    seconds
        How long it took.
    row
        What was found; after a failure only ``status``, which says why.
    """

    key: str
    seconds: float
    row: Row


def attempt(evaluate: Evaluate, work: Any, case: Case) -> Finished:
    """Evaluate a case; whatever goes wrong becomes its row."""
    began = time.perf_counter()
    try:
        row: Row = {name: _plain(value) for name, value in evaluate(work, case).items()}
    except PlannerError as error:
        row = failed(_in_one_line(error))
    except Exception as error:  # a bug must not cost the other cases; its type helps to find it
        row = failed(f"failed with {type(error).__name__}: {' '.join(str(error).split())}".removesuffix(": "))
    return Finished(case.key, time.perf_counter() - began, row)


def failed(reason: str) -> Row:
    """Return the row of a case that has no result."""
    return {"status": reason}


def run_here(evaluate: Evaluate, work: Any, cases: Sequence[Case]) -> Generator[Finished, None, None]:
    """Evaluate cases in this process, in order."""
    for case in cases:
        yield attempt(evaluate, work, case)


def _plain(value: Any) -> float | int | str:
    """Return a number of numpy as one of Python, which every engine and the journal keep as it is."""
    found: float | int | str = value.item() if hasattr(value, "item") else value
    return found


def _in_one_line(error: PlannerError) -> str:
    if isinstance(error, InputError):
        return "; ".join(" ".join(str(mistake).split()) for mistake in error.mistakes)
    head, *rest = [line.strip() for line in str(error).splitlines() if line.strip()] or [type(error).__name__]
    return f"{head}: {'; '.join(rest)}" if rest else head
