"""What the commands of studies have in common: options, how the work is carried out, and where results go."""

from __future__ import annotations

import contextlib
import pathlib
from typing import TYPE_CHECKING

import click

from mci.cli._settings import minutes, solver_options
from mci.settings import PRIORITY_RULES, Settings

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

    from mci.scenario.draft import Draft

__all__ = ["check_output", "check_trips", "stoppable", "study_options", "write_study"]

_STOPPED = 130  # exit code after Ctrl-C, as shells have it


def _every(ctx: click.Context, param: click.Parameter, value: str | None) -> float | None:
    return None if value is None else minutes(ctx, param, value)


def study_options(command: Callable[..., None]) -> Callable[..., None]:
    """Add the options about orders, engine, results and output."""
    options = (
        click.option(
            "--rolling",
            "rolling_every",
            callback=_every,
            metavar="TIME",
            help="Also judge a crew that does not know the future and plans again every so often, such as 30 min.",
        ),
        click.option(
            "--trips",
            is_flag=True,
            help="Plan the trips of the resupply network in every case (slower); else only listed deliveries come.",
        ),
        click.option(
            "--priority",
            type=click.Choice(PRIORITY_RULES),
            default=Settings().priority,
            show_default=True,
            help="weighted: categories are traded by their weights; strict: one after the other, each held.",
        ),
        click.option(
            "--workers",
            type=click.IntRange(1, 256),
            default=1,
            show_default=True,
            help="Processes on this machine; the results do not depend on it.",
        ),
        click.option(
            "--cluster",
            default="",
            metavar="ADDRESS",
            help="Address of a Dask scheduler, such as tcp://127.0.0.1:8786.",
        ),
        click.option(
            "-o",
            "--output",
            type=click.Path(path_type=pathlib.Path),
            help="Folder for report.html and the tables; each finished case is kept there at once.",
        ),
        click.option("--resume", is_flag=True, help="Go on with a study that was stopped; needs its folder with -o."),
        click.option("--force", is_flag=True, help="Replace earlier results in that folder."),
        solver_options,
        click.option("--quiet", is_flag=True, help="Print nothing; needs -o."),
        click.option("--json", "as_json", is_flag=True, help="Print JSON instead of words."),
    )
    for option in reversed(options):
        command = option(command)
    return command


def check_output(
    output: pathlib.Path | None, *, resume: bool, force: bool, quiet: bool, as_json: bool, workers: int, cluster: str
) -> None:
    """Refuse options that contradict each other, and a folder that must not be written to, before any work is done.

    Raises
    ------
    click.UsageError, UsageError
        Saying what is wrong.
    """
    if quiet and (output is None or as_json):
        raise click.UsageError("--quiet needs -o, and nothing else to print.")
    if resume and output is None:
        raise click.UsageError("--resume needs -o: the folder of the study that was stopped.")
    if resume and force:
        raise click.UsageError("--resume goes on with what is there, --force replaces it; give one of them.")
    if cluster and workers > 1:
        raise click.UsageError("--workers starts processes here, --cluster uses other ones; give one of them.")
    if output is not None:
        _check_folder(output, resume=resume, force=force)
    if cluster:
        from mci.surge.runner_cluster import refuse_absent

        refuse_absent(cluster)
    if output is not None and force:
        _clear(output)


def _check_folder(output: pathlib.Path, *, resume: bool, force: bool) -> None:
    from mci.report.target import check_target
    from mci.surge.journal import JOURNAL_NAME

    begun = (output / JOURNAL_NAME).exists()
    if resume and not begun:
        raise click.UsageError(f"there is nothing to go on with in {output}: it has no {JOURNAL_NAME}.")
    if begun and not (resume or force or (output / "report.html").exists()):
        raise click.UsageError(f"{output} holds a study that was stopped: --resume goes on, --force begins anew.")
    if not resume:
        check_target(output, force=force)


def _clear(output: pathlib.Path) -> None:
    """Delete earlier results: a new study begins, and nothing of an old one may stand beside it."""
    from mci.report.target import RESULT_NAMES, RESUPPLY_NAMES, STUDY_NAMES
    from mci.surge.journal import JOURNAL_NAME

    for name in {*RESULT_NAMES, *RESUPPLY_NAMES, *STUDY_NAMES, JOURNAL_NAME}:
        (output / name).unlink(missing_ok=True)


def check_trips(draft: Draft, paths: Iterable[str], *, trips: bool) -> None:
    """Refuse trips where there is no network, and numbers of the network that nothing asks for.

    Raises
    ------
    UsageError
        Saying which.
    """
    from mci.errors import UsageError
    from mci.surge.study import refuse_idle

    if trips and draft.scenario().network is None:
        raise UsageError(f"{draft.file} has no network of which trips could be planned; leave out --trips")
    refuse_idle(paths, trips=trips)


@contextlib.contextmanager
def stoppable(output: pathlib.Path | None, told: str = "nothing is kept without -o") -> Iterator[None]:
    """Say after Ctrl-C what is kept and how to go on; ``told`` where no cases are kept."""
    try:
        yield
    except KeyboardInterrupt:
        if output is not None:
            told = f"finished cases are kept in {output}; the same command with --resume goes on (without --force)"
        click.echo(f"\nmci: stopped; {told}.", err=True)
        click.get_current_context().exit(_STOPPED)


def write_study(files: Mapping[str, str | bytes], output: pathlib.Path, *, quiet: bool, as_json: bool) -> None:
    """Write the files of a study beside its journal, and say where they are."""
    from mci.report.files import add_files

    folder = add_files(files, output)
    if not quiet:
        names = ", ".join(sorted(files, key=lambda name: (name != "report.html", name)))
        click.echo(f"Written to {folder}: {names}.", err=as_json)
