"""``mci resupply``: which trips to make, when each must leave at the latest, and what a loss would cost."""

from __future__ import annotations

import datetime
import pathlib
from collections import Counter
from typing import TYPE_CHECKING

import click

from mci.cli._progress import progress
from mci.cli._settings import minutes, period_option, solver_options
from mci.settings import Settings

if TYPE_CHECKING:
    from collections.abc import Iterable

    from mci.resupply.schedule import Goal

__all__ = ["resupply"]

#: Steps of the tables of a plan of more than a day, at most.
PERIODS = 144
_NOT_MET = 4  # the exit code of a hard requirement that no plan can meet


def _goals(ctx: click.Context, param: click.Parameter, values: Iterable[str]) -> tuple[Goal, ...]:
    """Read goals such as ``immediate=100%``."""
    from mci.resupply.schedule import Goal
    from mci.scenario.model import CATEGORIES
    from mci.units import UnitError, parse_share

    goals: dict[str, Goal] = {}
    for value in values:
        category, equals, share = value.partition("=")
        category = category.strip().lower()
        if category not in CATEGORIES or not equals:
            wanted = ", ".join(CATEGORIES)
            raise click.BadParameter(f"{value!r}: write one of {wanted}, such as delayed=90%", ctx, param)
        if category in goals:
            raise click.BadParameter(f"{value!r}: there are two goals for {category}", ctx, param)
        try:
            goals[category] = Goal(category, parse_share(share))
        except UnitError as error:
            rule = f"{value!r}: the share {share!r} {error}, such as 90% or 0.9"
            raise click.BadParameter(rule, ctx, param) from None
    return tuple(goals[category] for category in CATEGORIES if category in goals)


def _delays(ctx: click.Context, param: click.Parameter, values: Iterable[str]) -> tuple[tuple[str, float], ...]:
    """Read delays such as ``truck 1=30min``."""
    found = []
    for value in values:
        key, equals, delay = value.rpartition("=")
        if not equals:
            rule = f"{value!r}: write a vehicle or place and its delay, such as 'truck 1=30min'"
            raise click.BadParameter(rule, ctx, param)
        found.append((key.strip(), minutes(ctx, param, delay)))
    return tuple(found)


def _date(ctx: click.Context, param: click.Parameter, value: str | None) -> datetime.date | None:
    try:
        return None if value is None else datetime.date.fromisoformat(value)
    except ValueError:
        raise click.BadParameter(f"{value!r} is no date: write it as 2026-03-02", ctx, param) from None


def _check_named_once(keys: Iterable[str]) -> None:
    """Refuse what is lost or late twice: the sum, or the one or the other, may be meant."""
    for key, times in Counter(keys).items():
        if times > 1:
            raise click.UsageError(f"{key!r} is named more than once by --without and --delay.")


@click.command(short_help="Plan trips of a network: what leaves where, on which vehicle, by when at the latest.")
@click.argument("scenario", type=click.Path(path_type=pathlib.Path))
@click.option(
    "--goal",
    "goals",
    multiple=True,
    callback=_goals,
    metavar="CATEGORY=SHARE",
    help="Coverage that every area is to reach with the least extra supply, such as immediate=100%; may be repeated. "
    "Without it, trips bring as much weighted coverage as they can. Goals serve category after category, theirs first.",
)
@click.option(
    "--without",
    "lost",
    multiple=True,
    metavar="KEY",
    help="Plan without a road, without a vehicle, or with a place that gives nothing; may be given again.",
)
@click.option(
    "--delay",
    "late",
    multiple=True,
    callback=_delays,
    metavar="KEY=TIME",
    help="A vehicle, or all that a place gives, comes later by so much, such as 'truck 1=30min'; may be given again.",
)
@click.option("--losses/--no-losses", default=True, help="Tell what losing each road, place and vehicle would cost.")
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=pathlib.Path),
    help="Folder for report.html, trip sheets and request in it, and the tables as CSV; without it nothing is written.",
)
@click.option("--force", is_flag=True, help="Replace earlier results in that folder.")
@click.option(
    "--date",
    callback=_date,
    metavar="YYYY-MM-DD",
    help="Day of T+0, for request.xml, which is only written with it and a clock start in the scenario; needs -o.",
)
@solver_options
@period_option(None, "default: 10 min, and longer for plans of more than a day")
@click.option("--quiet", is_flag=True, help="Print nothing; needs -o.")
@click.option("--json", "as_json", is_flag=True, help="Print resupply.json instead of words.")
@click.pass_context
def resupply(
    ctx: click.Context,
    scenario: pathlib.Path,
    output: pathlib.Path | None,
    goals: tuple[Goal, ...],
    lost: tuple[str, ...],
    late: tuple[tuple[str, float], ...],
    date: datetime.date | None,
    *,
    losses: bool,
    force: bool,
    time_limit: float,
    whole_time_limit: float,
    gap: float,
    max_period: float | None,
    quiet: bool,
    as_json: bool,
) -> None:
    """Plan the trips of the network in SCENARIO (YAML) together with who gets the oxygen.

    Tells for each trip what it brings from where, when it is to leave, when it must leave at the latest, and what
    is lost later than that; and what the loss of each road, place and vehicle would cost. Nothing is sent anywhere.

    Exit codes: 0 planned; 2 wrong use; 3 mistakes in the scenario (all are listed); 4 a goal or a hard requirement
    that no supply can meet (what can be had at best is told); 5 the solver stopped without a plan.
    """
    from mci.pipeline_resupply import run_resupply
    from mci.scenario import read_scenario
    from mci.timegrid import choose_step

    if quiet and (output is None or as_json):
        raise click.UsageError("--quiet needs -o, and nothing else to print.")
    if date is not None and output is None:
        raise click.UsageError("--date needs -o: it dates request.xml.")
    _check_named_once((*lost, *(key for key, _ in late)))
    if output is not None:
        from mci.report.target import check_target

        check_target(output, force=force)  # before the work, not after it
    incident = read_scenario(scenario)
    settings = Settings(
        time_limit=time_limit,
        max_period=max_period or max(Settings().max_period, choose_step(incident.horizon, PERIODS)),
        whole_time_limit=whole_time_limit,
        whole_gap=gap,
    )
    with progress(shown=not quiet) as tell:
        found = run_resupply(incident, settings, goals, lost=lost, late=late, losses=losses, tell=tell)
    if as_json:
        from mci.report.resupply_files import resupply_json

        click.echo(resupply_json(found), nl=False)
    elif not quiet:
        from mci.cli._resupply_words import show_resupply_page
        from mci.cli._terminal import make_console
        from mci.report.resupply_build import build_resupply_page

        show_resupply_page(build_resupply_page(found), make_console())
    if output is not None:
        from mci.report.resupply_files import write_resupply_results

        folder = write_resupply_results(found, output, force=force, day=date)
        if not quiet:
            click.echo(
                f"Written to {folder}: report.html with trip sheets and request, resupply.json, the tables as CSV.",
                err=as_json,
            )
    ctx.exit(0 if found.schedule.can_meet else _NOT_MET)
