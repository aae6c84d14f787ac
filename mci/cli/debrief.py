"""``mci debrief``: after a drill, what was reached, what was possible, and where the difference went."""

from __future__ import annotations

import pathlib
from typing import TYPE_CHECKING

import click

from mci.cli._settings import solver_options
from mci.cli._study import stoppable
from mci.settings import Settings

if TYPE_CHECKING:
    from mci.drills.debriefed import Debrief
    from mci.drills.log import Log
    from mci.scenario.model import Scenario

__all__ = ["debrief"]


@click.command(short_help="After a drill: what a team's log reached, what was possible, where the minutes went.")
@click.argument("scenario", type=click.Path(path_type=pathlib.Path))
@click.argument("log", type=click.Path(path_type=pathlib.Path))
@click.option("-o", "--output", type=click.Path(path_type=pathlib.Path), help="Folder for report.html and the tables.")
@click.option("--force", is_flag=True, help="Replace earlier results in that folder.")
@solver_options
@click.option("--quiet", is_flag=True, help="Print nothing; needs -o.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON instead of words.")
def debrief(
    scenario: pathlib.Path,
    log: pathlib.Path,
    output: pathlib.Path | None,
    *,
    force: bool,
    time_limit: float,
    whole_time_limit: float,
    gap: float,
    quiet: bool,
    as_json: bool,
) -> None:
    """Look back at a drill: judge the LOG that a team wrote on the SCENARIO as it happened, injects and all, and say
    what was reached, what was possible, to what minutes were lost, and which decisions would have gained most.

    LOG is a CSV file with a line for each thing that was done, as orders have it; spelling, marks and times are read
    forgivingly, and whatever was corrected, is missing or contradicts itself is told.  Nobody is named in what comes
    out.

    Exit codes: 0 done; 2 wrong use; 3 mistakes in the scenario, or a log of which nothing can be read; 5 a limit of
    time was reached without a plan; 130 stopped by Ctrl-C.
    """
    if quiet and (output is None or as_json):
        raise click.UsageError("--quiet needs -o, and nothing else to print.")
    from mci.cli._progress import progress
    from mci.drills.debrief import run_debrief
    from mci.report.target import check_target
    from mci.scenario import read_scenario

    if output is not None:
        check_target(output, force=force)
    read = read_scenario(scenario)
    written = _read_log(log, read)
    settings = Settings(time_limit=time_limit, whole_time_limit=whole_time_limit, whole_gap=gap)
    with stoppable(None, "nothing is kept"), progress(shown=not quiet) as say:
        found = run_debrief(read, written, settings, say)
    _show(found, quiet=quiet, as_json=as_json, output=output)
    if output is not None:
        _write(found, output, quiet=quiet, as_json=as_json)


def _write(found: Debrief, output: pathlib.Path, *, quiet: bool, as_json: bool) -> None:
    from mci.report.debrief_files import debrief_files
    from mci.report.files import put_files

    folder = put_files(debrief_files(found), output)
    if not quiet:
        click.echo(f"Written to {folder}: report.html, orders, and tables in data.", err=as_json)


def _read_log(file: pathlib.Path, scenario: Scenario) -> Log:
    """Read a log; one of which nothing can be used is a mistake, told with all that was noted on it."""
    from mci.drills.read_log import read_log
    from mci.errors import InputError, Mistake

    log = read_log(file, scenario)
    if log.orders:
        return log
    told = [
        Mistake(n.why.rstrip("."), "", str(file), n.line, path=n.column, value=n.written or None) for n in log.notes
    ]
    fix = "Write a line for each thing that was done: time, action, patient, device, flow, supply, regulator."
    raise InputError([Mistake("nothing of this log can be read as something that was done", fix, str(file)), *told])


def _show(found: Debrief, *, quiet: bool, as_json: bool, output: pathlib.Path | None) -> None:
    if as_json:
        from mci.report.debrief_files import debrief_json

        click.echo(debrief_json(found), nl=False)
    elif not quiet:
        from mci.cli._debrief_words import show_debrief_page
        from mci.cli._terminal import make_console
        from mci.report.debrief_build import build_debrief_page

        show_debrief_page(build_debrief_page(found), make_console(), written=output is not None)
