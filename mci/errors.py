"""The errors of the planner, drawn as one tree, each with its exit code.

::

    PlannerError                 1   a bug, if it ever reaches a user
    ├── UsageError               2   the command was called wrongly
    ├── InputError               3   files or values that cannot be used (holds every mistake)
    ├── NoPlanError              4   a hard requirement that no plan can meet (holds the clashes)
    └── SolverLimitError         5   the solver stopped at a limit without a plan

Exceptions of other libraries are translated where they are caught; none of
them crosses into the command line.  This module imports nothing of ``mci``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["InputError", "Mistake", "NoPlanError", "PlannerError", "SolverLimitError", "UsageError"]


@dataclass(frozen=True, slots=True)
class Mistake:
    """One thing that is wrong in a file, told so that it can be mended at once.

    Parameters
    ----------
    rule
        What is required, as a sentence without a full stop.
    fix
        What to write instead, or an empty string where the rule says it all.
    file, line, column
        Where; ``line`` and ``column`` count from 1, 0 means unknown.
    path
        Place inside the file, such as ``patients[2].arrive``.
    value
        The text found there, as the user wrote it.
    """

    rule: str
    fix: str = ""
    file: str = ""
    line: int = 0
    column: int = 0
    path: str = ""
    value: str | None = None

    def __str__(self) -> str:
        place = ":".join(str(part) for part in (self.file, self.line, self.column) if part)
        head = ": ".join(part for part in (place, self.path) if part)
        found = "" if self.value is None else f" (found {self.value!r})"
        fix = f". {self.fix}" if self.fix else ""
        return f"{head}: {self.rule}{found}{fix}" if head else f"{self.rule}{found}{fix}"


class PlannerError(Exception):
    """Base of every error that the planner raises on purpose."""

    exit_code = 1


class UsageError(PlannerError):
    """The command or function was called in a way that makes no sense."""

    exit_code = 2


class InputError(PlannerError):
    """Input that cannot be used; ``mistakes`` holds all of them, sorted by place."""

    exit_code = 3

    def __init__(self, mistakes: Iterable[Mistake]) -> None:
        self.mistakes = tuple(sorted(mistakes, key=lambda m: (m.file, m.line, m.column, m.path)))
        count = len(self.mistakes)
        head = f"{count} mistake{'s' if count != 1 else ''} found"
        super().__init__("\n".join([head, *(f"  {m}" for m in self.mistakes)]))


class NoPlanError(PlannerError):
    """A hard requirement that no plan can meet; ``clashes`` says which ones, in words."""

    exit_code = 4

    def __init__(self, clashes: Iterable[str]) -> None:
        self.clashes = tuple(clashes)
        super().__init__("\n".join(["no plan can meet every hard requirement", *(f"  {c}" for c in self.clashes)]))


class SolverLimitError(PlannerError):
    """The solver reached its limit of time or memory before it had any plan."""

    exit_code = 5
