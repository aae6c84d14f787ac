"""``mci whatif``: many cases of one scenario side by side, and where coverage breaks."""

from __future__ import annotations

import contextlib
import pathlib
from typing import TYPE_CHECKING

import click

from mci.cli._study import check_output, check_trips, stoppable, study_options, write_study
from mci.settings import Settings

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.pipeline import Run
    from mci.scenario.draft import Draft
    from mci.surge.cases import Case
    from mci.surge.combine import How
    from mci.surge.study import Study
    from mci.surge.whatif_result import WhatIf

__all__ = ["whatif"]


def _share(ctx: click.Context, param: click.Parameter, value: str) -> float:
    from mci.units import UnitError, parse_share

    try:
        share = parse_share(value)
    except UnitError as error:
        raise click.BadParameter(f"{value!r} {error}", ctx, param) from None
    if not 0 < share <= 1:
        raise click.BadParameter(f"{value!r} is not above 0 and at most 100 %", ctx, param)
    return share


@click.command(short_help="Vary numbers of a scenario: cases side by side, what moves coverage, where it breaks.")
@click.argument("scenario", type=click.Path(path_type=pathlib.Path))
@click.option(
    "--vary",
    "varied",
    multiple=True,
    metavar="PATH=VALUES",
    help="A number and its values: 'patients.immediate.count=5..40 step 5' or 'PATH=0, 30, 60 min'; may be given "
    "again. `mci check SCENARIO --numbers` lists the paths.",
)
@click.option(
    "--cases",
    "case_file",
    type=click.Path(path_type=pathlib.Path),
    help="Named cases in a CSV file or workbook: a column 'case', and one for each path; empty cells are as written.",
)
@click.option("--pairs", is_flag=True, help="Put the first values of all numbers together, then the second ones, ...")
@click.option("--one-by-one", is_flag=True, help="Vary each number alone, the others as written.")
@click.option(
    "--goal", callback=_share, default="100 %", show_default=True, help="Coverage whose loss is a break, such as 90 %."
)
@click.option("--orders", is_flag=True, help="Also make and judge the orders of every case, as mci plan does (slower).")
@click.option(
    "--beside",
    "chosen",
    multiple=True,
    metavar="CASE",
    help="Also write the full report of this case, and one page with these cases beside the first; needs -o.",
)
@study_options
def whatif(
    scenario: pathlib.Path,
    varied: tuple[str, ...],
    case_file: pathlib.Path | None,
    chosen: tuple[str, ...],
    rolling_every: float | None,
    output: pathlib.Path | None,
    *,
    pairs: bool,
    one_by_one: bool,
    goal: float,
    orders: bool,
    trips: bool,
    priority: str,
    workers: int,
    cluster: str,
    resume: bool,
    force: bool,
    time_limit: float,
    whole_time_limit: float,
    gap: float,
    quiet: bool,
    as_json: bool,
) -> None:
    """Evaluate variants of SCENARIO (YAML) side by side: at best, in usual practice, and what binds.

    Exit codes: 0 done, failed cases are rows with their reason; 2 wrong use; 3 mistakes in the scenario or the cases;
    130 stopped by Ctrl-C.
    """
    from mci.cli._progress import count_up
    from mci.scenario.draft import read_draft
    from mci.surge.means import Means
    from mci.surge.study import Study
    from mci.surge.whatif import run_whatif

    if chosen and output is None:
        raise click.UsageError("--beside needs -o: it writes reports.")
    draft = read_draft(scenario)
    cases, how = _cases(draft, varied, case_file, pairs=pairs, one_by_one=one_by_one)
    _refuse_clashes(draft, cases)
    check_trips(draft, dict.fromkeys(path for case in cases for path in case.values), trips=trips)
    if chosen:
        from mci.cli._beside import check_beside

        check_beside(chosen, cases)
    check_output(output, resume=resume, force=force, quiet=quiet, as_json=as_json, workers=workers, cluster=cluster)
    settings = Settings(priority=priority, time_limit=time_limit, whole_time_limit=whole_time_limit, whole_gap=gap)
    with stoppable(output):
        with count_up(shown=not quiet) as tell:
            found = run_whatif(
                draft,
                cases,
                how,
                settings,
                orders=orders,
                rolling_every=rolling_every,
                trips=trips,
                goal=goal,
                means=Means(workers, cluster, output, resume, tell),
            )
        _show(found, quiet=quiet, as_json=as_json)
        if output is not None:
            from mci.report.whatif_files import whatif_files

            write_study(whatif_files(found), output, quiet=quiet, as_json=as_json)
            if chosen:
                _beside(found, Study(draft, settings, trips=trips), cases, chosen, output, quiet=quiet)


def _cases(
    draft: Draft, varied: Sequence[str], case_file: pathlib.Path | None, *, pairs: bool, one_by_one: bool
) -> tuple[tuple[Case, ...], How | None]:
    """Return the cases that are asked for, and how they were put together."""
    from mci.surge.case_file import read_cases
    from mci.surge.combine import How, combine
    from mci.surge.vary import parse_vary

    if not varied and case_file is None:
        raise click.UsageError("Say what to vary: --vary PATH=VALUES (once or more), or --cases FILE.")
    if varied and case_file is not None:
        raise click.UsageError("--vary and --cases exclude each other: write all numbers into the file.")
    if pairs and one_by_one:
        raise click.UsageError("--pairs and --one-by-one exclude each other.")
    start = draft.scenario().start
    if case_file is not None:
        if pairs or one_by_one:
            raise click.UsageError("--pairs and --one-by-one go with --vary, not with --cases.")
        return read_cases(case_file, draft.numbers, start=start), None
    how = How.PAIRS if pairs else How.ONE if one_by_one else How.ALL
    return combine([parse_vary(text, draft.numbers, start=start) for text in varied], how), how


def _refuse_clashes(draft: Draft, cases: Sequence[Case]) -> None:
    """Refuse numbers that cannot be varied together, such as a count and a share of the same supplies.

    Raises
    ------
    UsageError
        Naming two of them.
    """
    from mci.errors import InputError

    for values in {frozenset(case.values): case.values for case in cases}.values():
        with contextlib.suppress(InputError):  # what is wrong with a value is told in the row of its case
            draft.scenario(values)


def _show(found: WhatIf, *, quiet: bool, as_json: bool) -> None:
    if as_json:
        from mci.report.whatif_files import whatif_json

        click.echo(whatif_json(found), nl=False)
    elif not quiet:
        from mci.cli._terminal import make_console
        from mci.cli._whatif_words import show_whatif_page
        from mci.report.whatif_build import build_whatif_page

        show_whatif_page(build_whatif_page(found), make_console())


def _beside(
    found: WhatIf, study: Study, cases: Sequence[Case], chosen: Sequence[str], output: pathlib.Path, *, quiet: bool
) -> None:
    """Plan the chosen cases in full and write them side by side."""
    from mci.cli._beside import write_beside
    from mci.cli._progress import progress
    from mci.pipeline import run
    from mci.report.beside_cases import BESIDE_NAME

    with progress(shown=not quiet) as say:

        def plan(case: Case) -> Run:
            say(f"planning {case.key} in full")
            return run(study.scenario(case.values), study.settings)

        write_beside(found, cases, chosen, plan, output)
    if not quiet:
        click.echo(f"The chosen cases are side by side in {output / BESIDE_NAME}.", err=True)
