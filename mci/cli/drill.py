"""``mci drill``: from an idea to a packet, or the drill played alone at the keyboard."""

from __future__ import annotations

import pathlib
from typing import TYPE_CHECKING

import click

from mci.cli._settings import minutes, solver_options
from mci.cli._study import stoppable
from mci.settings import Settings

if TYPE_CHECKING:
    from mci.drills.result import Drill

__all__ = ["drill"]

_FIRST_SEED = 1


def _every(ctx: click.Context, param: click.Parameter, value: str | None) -> float | None:
    return None if value is None else minutes(ctx, param, value)


@click.command(short_help="Make a drill: casualties, injects, cards and an answer key; or play it at the keyboard.")
@click.argument("scenario", type=click.Path(path_type=pathlib.Path))
@click.option(
    "--seed",
    type=click.IntRange(0, 2**63 - 1),
    help=f"The same seed, the same drill.  [default: that of an exercise that was drawn, else {_FIRST_SEED}]",
)
@click.option(
    "--difficulty",
    type=click.Choice(("easy", "moderate", "hard")),
    help="Draw until it is so hard, measured by what usual practice loses; without it the first draw is kept.",
)
@click.option(
    "--again",
    "again_every",
    callback=_every,
    metavar="TIME",
    help="Also judge a crew that does not know the future and plans again every so often, such as 15 min.",
)
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=pathlib.Path),
    help="Folder for the packet; with --trainee for the debrief.",
)
@click.option("--force", is_flag=True, help="Replace earlier results in that folder, and an earlier --save file.")
@click.option("--trainee", is_flag=True, help="Play the drill alone: orders are typed, then comes the debrief.")
@click.option(
    "--script", type=click.Path(path_type=pathlib.Path), help="With --trainee: read the lines from this file."
)
@click.option("--save", type=click.Path(path_type=pathlib.Path), help="With --trainee: where the session is saved.")
@click.option("--resume", type=click.Path(path_type=pathlib.Path), help="With --trainee: go on with a saved session.")
@solver_options
@click.option("--quiet", is_flag=True, help="Print nothing; needs -o.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON instead of words.")
def drill(
    scenario: pathlib.Path,
    output: pathlib.Path | None,
    script: pathlib.Path | None,
    save: pathlib.Path | None,
    resume: pathlib.Path | None,
    *,
    seed: int | None,
    difficulty: str | None,
    again_every: float | None,
    force: bool,
    trainee: bool,
    time_limit: float,
    whole_time_limit: float,
    gap: float,
    quiet: bool,
    as_json: bool,
) -> None:
    """Make a drill of SCENARIO (YAML): casualties drawn one by one, injects that players are not told, cards, a master
    scenario events list, objectives, and an answer key of orders that can be carried out.

    All of it is exercise data.  With --trainee it is played here, alone: type help.  What was typed is saved with
    --save, and gone on with by the same command with --resume.

    Exit codes: 0 done; 2 wrong use; 3 mistakes in the scenario or in a saved session; 4 no plan can meet a hard
    requirement; 5 a limit of time was reached without a plan; 130 stopped by Ctrl-C.
    """
    if quiet and (output is None or as_json or trainee):
        raise click.UsageError("--quiet needs -o, and nothing else to print.")
    if trainee and as_json:
        raise click.UsageError("--trainee shows words; leave out --json.")
    if not trainee and (script or save or resume):
        raise click.UsageError("--script, --save and --resume belong to --trainee.")
    if output is not None:
        from mci.report.target import check_target

        check_target(output, force=force)  # before the work, not after it
    settings = Settings(time_limit=time_limit, whole_time_limit=whole_time_limit, whole_gap=gap)
    if trainee:
        from mci.cli._trainee import Trainee

        player = Trainee(script, save, resume, output, force=force, settings=settings)
        try:
            player.play(_made(scenario, seed, difficulty, None, settings, shown=True))
        except KeyboardInterrupt:
            with stoppable(None, player.told_when_stopped):  # only now it is known what is kept
                raise
        return
    with stoppable(None, "nothing is kept"):
        found = _made(scenario, seed, difficulty, again_every, settings, shown=not quiet)
    _show(found, quiet=quiet, as_json=as_json, written=output is not None)
    if output is not None:
        _write(found, output, quiet=quiet, as_json=as_json)


def _made(
    scenario: pathlib.Path,
    seed: int | None,
    difficulty: str | None,
    again_every: float | None,
    settings: Settings,
    *,
    shown: bool,
) -> Drill:
    from mci.cli._progress import progress
    from mci.drills.drill import run_drill
    from mci.drills.result import Level
    from mci.scenario.draft import read_draft

    draft = read_draft(scenario)
    exercise = draft.scenario().exercise
    drawn = exercise.seed if exercise is not None else None
    first = seed if seed is not None else drawn if drawn is not None else _FIRST_SEED
    level = Level(difficulty) if difficulty is not None else None
    with progress(shown=shown) as say:
        return run_drill(draft, first, level, settings, again_every=again_every, say=say)


def _show(found: Drill, *, quiet: bool, as_json: bool, written: bool) -> None:
    if as_json:
        from mci.report.drill_files import drill_json

        click.echo(drill_json(found), nl=False)
    elif not quiet:
        from mci.cli._drill_words import show_drill
        from mci.cli._terminal import make_console

        show_drill(found, make_console(), written=written)


def _write(found: Drill, output: pathlib.Path, *, quiet: bool, as_json: bool) -> None:
    from mci.report.drill_files import drill_files
    from mci.report.files import put_files

    files = drill_files(found)
    folder = put_files(files, output)
    if not quiet:
        names = ", ".join(name for name in files if "/" not in name)
        click.echo(f"Written to {folder}: {names}, and tables in data.", err=as_json)
