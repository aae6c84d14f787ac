"""Chosen cases of a study side by side: the full report of each, and the page that compares them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from mci.errors import UsageError
from mci.surge.cases import PLANNED
from mci.surge.swings import AS_WRITTEN

if TYPE_CHECKING:
    import pathlib
    from collections.abc import Callable, Sequence

    from mci.pipeline import Run
    from mci.surge.cases import Case
    from mci.surge.whatif_result import WhatIf

__all__ = ["check_beside", "write_beside"]


def check_beside(chosen: Sequence[str], cases: Sequence[Case]) -> None:
    """Refuse cases that cannot be put side by side, before any work is done.

    Raises
    ------
    click.UsageError
        A case is unknown or named twice, or there are too few or too many.
    """
    from mci.report.beside_cases import FEWEST, MOST

    known = {AS_WRITTEN, *(case.key for case in cases)}
    for key in chosen:
        if key not in known:
            raise click.UsageError(
                f"--beside: there is no case {key!r}; cases made by --vary are numbered from 1 to {len(cases)}, and "
                f"'{AS_WRITTEN}' is the scenario itself."
            )
        if list(chosen).count(key) > 1:
            raise click.UsageError(f"--beside: {key!r} is chosen twice.")
    if not FEWEST <= len(chosen) <= MOST:
        raise click.UsageError(f"--beside: choose {FEWEST} to {MOST} cases, such as '{AS_WRITTEN}' and 1.")


def write_beside(
    found: WhatIf, cases: Sequence[Case], chosen: Sequence[str], plan: Callable[[Case], Run], output: pathlib.Path
) -> None:
    """Plan chosen cases in full, and write a report of each and the page that compares them.

    Parameters
    ----------
    found
        The study.
    cases
        Those that were asked for.
    chosen
        Their names, in the order of the columns.
    plan
        Plans a case in full.
    output
        Folder of the study.

    Raises
    ------
    UsageError
        One of them has no result; the study itself is written.
    """
    from mci.report.beside_cases import BESIDE_NAME, Chosen, case_name
    from mci.report.beside_html import beside_html
    from mci.report.files import add_files
    from mci.report.html import html_text
    from mci.surge.cases import Case

    reasons = dict(zip(found.table["case"], found.table["status"], strict=True))
    for key in chosen:
        if reasons[key] != PLANNED:
            raise UsageError(
                f"--beside: case {key!r} has no result: {reasons[key]}. The study is written without the pages beside "
                "each other; choose other cases with --resume"
            )
    written = {number.path: number.text for number in found.numbers}
    by_key = {AS_WRITTEN: Case(AS_WRITTEN), **{case.key: case for case in cases}}
    columns = [
        Chosen(
            key=key,
            title=key if key == AS_WRITTEN else f"case {key}" if key.isdigit() else key,
            changes=tuple((path, written[path], text) for path, text in by_key[key].values.items()),
            run=plan(by_key[key]),
            href=case_name(place),
        )
        for place, key in enumerate(chosen)
    ]
    files: dict[str, str | bytes] = {column.href: html_text(column.run) for column in columns}
    add_files({**files, BESIDE_NAME: beside_html(found.scenario.name, columns)}, output)
