"""``mci risk``: incidents drawn from what is uncertain in a scenario, and how bad they can be."""

from __future__ import annotations

import pathlib
from typing import TYPE_CHECKING

import click

from mci.cli._study import check_output, check_trips, stoppable, study_options, write_study
from mci.settings import Settings

if TYPE_CHECKING:
    from mci.surge.cube import Way
    from mci.surge.risk_result import Risk

__all__ = ["risk"]


@click.command(short_help="Draw incidents from what is uncertain: how bad it can be, how often, and what drives it.")
@click.argument("scenario", type=click.Path(path_type=pathlib.Path))
@click.option("--samples", type=click.IntRange(1, 1_000_000), default=2048, show_default=True, help="Incidents drawn.")
@click.option("--seed", type=click.IntRange(0), default=0, show_default=True, help="The same seed, the same incidents.")
@click.option(
    "--way",
    type=click.Choice(("sobol", "plain")),
    default="sobol",
    show_default=True,
    help="sobol: points that fill the range evenly; plain: independent random points.",
)
@click.option(
    "--uncertain",
    "texts",
    multiple=True,
    metavar="PATH=LAW",
    help="Besides what the scenario says: 'PATH = triangular 0, 15, 90 min', uniform, poisson, lognormal, one of, "
    "fixed; may be given again.",
)
@click.option(
    "--orders",
    type=click.IntRange(0),
    default=None,
    metavar="COUNT",
    help="Make and judge orders for so many of the samples (slower).  [default: all with --rolling, else none]",
)
@click.option(
    "--drivers",
    type=click.IntRange(0, 65536),
    default=0,
    show_default=True,
    metavar="POINTS",
    help="Find which input drives the result, from so many base points, such as 256 (8 at least); each "
    "takes inputs + 2 cases.",
)
@study_options
def risk(
    scenario: pathlib.Path,
    texts: tuple[str, ...],
    orders: int | None,
    rolling_every: float | None,
    output: pathlib.Path | None,
    *,
    samples: int,
    seed: int,
    way: Way,
    drivers: int,
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
    """Draw incidents from what is uncertain in SCENARIO (YAML), and say how often it is how bad.

    Exit codes: 0 done, failed samples are rows with their reason; 2 wrong use; 3 mistakes in the scenario; 130 stopped
    by Ctrl-C.
    """
    from mci.cli._progress import count_up
    from mci.scenario.draft import read_draft
    from mci.scenario.uncertain_text import parse_uncertain
    from mci.surge.means import Means
    from mci.surge.risk import run_risk, what_varies

    draft = read_draft(scenario)
    uncertainty = what_varies(draft, parse_uncertain(texts, draft) if texts else None)
    check_trips(draft, uncertainty.paths, trips=trips)
    if orders is None:
        orders = samples if rolling_every is not None else 0
    if rolling_every is not None and not orders:
        raise click.UsageError("--rolling judges orders: leave out --orders 0.")
    check_output(output, resume=resume, force=force, quiet=quiet, as_json=as_json, workers=workers, cluster=cluster)
    settings = Settings(priority=priority, time_limit=time_limit, whole_time_limit=whole_time_limit, whole_gap=gap)
    with stoppable(output):
        with count_up(shown=not quiet) as tell:
            found = run_risk(
                draft,
                uncertainty,
                samples,
                seed,
                settings,
                way=way,
                orders=orders,
                rolling_every=rolling_every,
                drivers=drivers,
                trips=trips,
                means=Means(workers, cluster, output, resume, tell),
            )
        _show(found, quiet=quiet, as_json=as_json)
        if output is not None:
            from mci.report.risk_files import risk_files

            write_study(risk_files(found), output, quiet=quiet, as_json=as_json)


def _show(found: Risk, *, quiet: bool, as_json: bool) -> None:
    if as_json:
        from mci.report.risk_files import risk_json

        click.echo(risk_json(found), nl=False)
    elif not quiet:
        from mci.cli._risk_words import show_risk_page
        from mci.cli._terminal import make_console
        from mci.report.risk_build import build_risk_page

        show_risk_page(build_risk_page(found), make_console())
