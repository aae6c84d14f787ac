"""``mci stock``: what caches should hold, and whether what they hold is fit for service."""

from __future__ import annotations

import math
import pathlib
from typing import TYPE_CHECKING

import click
from click.core import ParameterSource

from mci.cli._settings import solver_options
from mci.cli._study import stoppable
from mci.settings import Settings

if TYPE_CHECKING:
    from mci.stocking.result import Stock

__all__ = ["stock"]

#: Options of an inspection, and of a choice of lists; with the other one they would mean nothing.
_INSPECTING = ("on", "load", "soon", "minimum", "residual", "pressures_in")
_CHOOSING = (
    *("texts", "incidents", "seed", "budget", "step", "list_gap", "fresh", "judged", "workers", "cluster"),
    *("time_limit", "whole_time_limit", "gap"),
)


def _number(ctx: click.Context, param: click.Parameter, value: float | None) -> float | None:
    """Return a number; ``nan`` and ``inf`` are within every range and mean nothing here."""
    if value is not None and not math.isfinite(value):
        raise click.BadParameter(f"{value:g} is no amount.", ctx, param)
    return value


@click.command(short_help="Choose what caches hold for many incidents, or inspect what one holds.")
@click.argument("scenario", type=click.Path(path_type=pathlib.Path), required=False)
@click.option("--incidents", type=click.IntRange(1, 100_000), default=128, show_default=True, help="Incidents drawn.")
@click.option("--seed", type=click.IntRange(0), default=0, show_default=True, help="The same seed, the same incidents.")
@click.option(
    "--budget",
    type=click.FloatRange(0),
    callback=_number,
    metavar="MONEY",
    help="The most weighted coverage for so much.  [default: the least cost that meets the goals]",
)
@click.option(
    "--step",
    type=click.FloatRange(0, min_open=True),
    callback=_number,
    metavar="MONEY",
    help="What the next so much buys.  [default: a round amount]",
)
@click.option(
    "--list-gap",
    type=click.FloatRange(0, 100),
    callback=_number,
    default=0.5,
    show_default=True,
    metavar="PERCENT",
    help="The search ends when no list can be cheaper by more than this.",
)
@click.option(
    "--fresh", type=click.IntRange(1, 100_000), default=128, show_default=True, help="Fresh incidents to check it on."
)
@click.option(
    "--judged",
    type=click.IntRange(0),
    default=16,
    show_default=True,
    help="In so many of them orders are made and judged.",
)
@click.option(
    "--uncertain",
    "texts",
    multiple=True,
    metavar="PATH=LAW",
    help="Besides what the scenario says is uncertain, as for mci risk; may be given again.",
)
@click.option("--workers", type=click.IntRange(1, 256), default=1, show_default=True, help="Processes on this machine.")
@click.option(
    "--cluster", default="", metavar="ADDRESS", help="Address of a Dask scheduler, such as tcp://127.0.0.1:8786."
)
@click.option(
    "--inspect",
    "inventories",
    type=click.Path(path_type=pathlib.Path),
    multiple=True,
    metavar="FILE",
    help="Inspect a cache instead: a workbook or CSV files of its cylinders and equipment; may be given again.",
)
@click.option("--on", metavar="DAY", help="With --inspect: the day on which dates are judged.  [default: today]")
@click.option(
    "--load", metavar="TEXT", help="With --inspect: the load whose cover is asked, '6 x 15 L/min, 4 x 2 L/min'."
)
@click.option("--soon", type=click.IntRange(0, 3660), default=90, show_default=True, metavar="DAYS",
              help="With --inspect: tell tests and expiry dates so many days ahead.")  # fmt: skip
@click.option("--minimum", metavar="PRESSURE", help="With --inspect: the gauge below which nothing is in service.")
@click.option("--residual", metavar="PRESSURE", help="With --inspect: the gauge at which a cylinder is changed.")
@click.option("--pressures-in", type=click.Choice(("psi", "bar")), help="With --inspect: unit of pressures.")
@click.option("-o", "--output", type=click.Path(path_type=pathlib.Path), help="Folder for report.html and the tables.")
@click.option("--force", is_flag=True, help="Replace earlier results in that folder.")
@solver_options
@click.option("--quiet", is_flag=True, help="Print nothing; needs -o.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON instead of words.")
@click.pass_context
def stock(
    ctx: click.Context,
    scenario: pathlib.Path | None,
    inventories: tuple[pathlib.Path, ...],
    on: str | None,
    load: str | None,
    soon: int,
    minimum: str | None,
    residual: str | None,
    pressures_in: str | None,
    output: pathlib.Path | None,
    *,
    incidents: int,
    seed: int,
    budget: float | None,
    step: float | None,
    list_gap: float,
    fresh: int,
    judged: int,
    texts: tuple[str, ...],
    workers: int,
    cluster: str,
    force: bool,
    time_limit: float,
    whole_time_limit: float,
    gap: float,
    quiet: bool,
    as_json: bool,
) -> None:
    """Choose what the caches of SCENARIO (YAML) hold so that it does for many sampled incidents, and say what it costs,
    what it reaches and what risk it leaves; or inspect the inventory of a cache.

    Exit codes: 0 done; 2 wrong use; 3 mistakes in the scenario or inventory; 4 no list meets the goals; 5 a limit of
    time was reached without a list; 130 stopped by Ctrl-C.
    """
    _refuse_mixed(ctx, scenario, inventories)
    if quiet and (output is None or as_json):
        raise click.UsageError("--quiet needs -o, and nothing else to print.")
    if scenario is None:
        from mci.cli._inspect import inspect_inventory

        inspect_inventory(
            inventories, on=on, load=load, soon_days=soon, minimum=minimum, residual=residual,
            pressures_in=pressures_in, output=output, force=force, quiet=quiet, as_json=as_json,
        )  # fmt: skip
        return
    from mci.cli._progress import progress
    from mci.report.files import put_files
    from mci.report.target import check_target
    from mci.scenario.draft import read_draft
    from mci.scenario.uncertain_text import parse_uncertain
    from mci.stocking.stock import run_stock
    from mci.surge.means import Means

    if cluster and workers > 1:
        raise click.UsageError("--workers starts processes here, --cluster uses other ones; give one of them.")
    if output is not None:
        check_target(output, force=force)
    draft = read_draft(scenario)
    with stoppable(None, "nothing is kept"), progress(shown=not quiet) as say:
        found = run_stock(
            draft,
            parse_uncertain(texts, draft) if texts else None,
            incidents,
            seed,
            Settings(time_limit=time_limit, whole_time_limit=whole_time_limit, whole_gap=gap),
            budget=budget,
            gap=list_gap / 100,
            step=step,
            fresh=fresh,
            judged=judged,
            time_limit=time_limit,
            means=Means(workers, cluster),
            say=say,
        )
    _show(found, quiet=quiet, as_json=as_json)
    if output is not None:
        from mci.report.stock_files import stock_files

        folder = put_files(stock_files(found), output)
        if not quiet:
            click.echo(f"Written to {folder}: report.html and its tables.", err=as_json)


def _refuse_mixed(ctx: click.Context, scenario: pathlib.Path | None, inventories: tuple[pathlib.Path, ...]) -> None:
    """Refuse a scenario together with an inventory, neither of them, and options that belong to the other one."""
    if (scenario is None) == (not inventories):
        raise click.UsageError("give a SCENARIO to choose a list, or --inspect FILE to inspect a cache; one of them.")
    others = _INSPECTING if scenario is not None else _CHOOSING
    given = [name for name in others if ctx.get_parameter_source(name) is ParameterSource.COMMANDLINE]
    if given:
        option = next(option.opts[0] for option in ctx.command.params if option.name == given[0])
        belongs = "belongs to --inspect" if scenario is not None else "is about a SCENARIO, not about --inspect"
        raise click.UsageError(f"{option} {belongs}; leave it out.")


def _show(found: Stock, *, quiet: bool, as_json: bool) -> None:
    if as_json:
        from mci.report.stock_files import stock_json

        click.echo(stock_json(found), nl=False)
    elif not quiet:
        from mci.cli._stock_words import show_stock_page
        from mci.cli._terminal import make_console
        from mci.report.stock_build import build_stock_page

        show_stock_page(build_stock_page(found), make_console())
