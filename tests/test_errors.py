"""Errors: every mistake is told with its place, and all of them in order."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from mci.errors import InputError, Mistake, NoPlanError, PlannerError, SolverLimitError, UsageError


def test_a_mistake_says_where_what_and_how_to_mend_it() -> None:
    """File, line, column, path, rule, value and fix all stand in the text, in this order."""
    mistake = Mistake("must be above 0", "Write 1 or more", "my.yaml", 3, 7, "supplies[0].count", "-2")
    assert str(mistake) == "my.yaml:3:7: supplies[0].count: must be above 0 (found '-2'). Write 1 or more"


def test_a_mistake_leaves_out_what_is_not_known() -> None:
    """Without line, path or file nothing stands in their place."""
    assert str(Mistake("there is no such file", file="my.yaml")) == "my.yaml: there is no such file"
    assert str(Mistake("is empty")) == "is empty"


@given(st.permutations([("a", 2, 1), ("a", 10, 1), ("b", 1, 5), ("a", 2, 0)]))
def test_mistakes_are_sorted_by_place(places: list[tuple[str, int, int]]) -> None:
    """Whatever order they are found in, mistakes are listed by file, then line as a number, then column."""
    error = InputError(Mistake("x", file=file, line=line, column=column) for file, line, column in places)
    assert [(m.file, m.line, m.column) for m in error.mistakes] == sorted(places)
    assert str(error).startswith("4 mistakes found\n")


def test_exit_codes_differ() -> None:
    """Each kind of error has its own exit code."""
    codes = [kind.exit_code for kind in (PlannerError, UsageError, InputError, NoPlanError, SolverLimitError)]
    assert codes == [1, 2, 3, 4, 5]
