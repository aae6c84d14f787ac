"""``mci plan``: an incident from its file to allocation, shortfall and resupply timeline."""

from __future__ import annotations

import pathlib

import click

from mci.cli._settings import period_option, solver_options
from mci.settings import PRIORITY_RULES, Settings

__all__ = ["plan"]


@click.command(short_help="Plan an incident: coverage, shortage, bottlenecks and resupply timeline.")
@click.argument("scenario", type=click.Path(path_type=pathlib.Path))
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=pathlib.Path),
    help="Folder for report.html, plan.xlsx, plan.json and the CSV tables; without it nothing is written.",
)
@click.option("--force", is_flag=True, help="Replace earlier results in that folder.")
@click.option("--cards", is_flag=True, help="Add a card for every patient to the report, four on a page; needs -o.")
@click.option(
    "--priority",
    type=click.Choice(PRIORITY_RULES),
    default=Settings().priority,
    show_default=True,
    help="weighted: categories are traded by their weights; strict: one after the other, each held.",
)
@solver_options
@period_option(f"{Settings().max_period:g} min", f"default: {Settings().max_period:g} min")
@click.option("--quiet", is_flag=True, help="Print nothing; needs -o.")
@click.option("--json", "as_json", is_flag=True, help="Print plan.json instead of words.")
def plan(
    scenario: pathlib.Path,
    output: pathlib.Path | None,
    *,
    force: bool,
    cards: bool,
    priority: str,
    time_limit: float,
    whole_time_limit: float,
    gap: float,
    max_period: float,
    quiet: bool,
    as_json: bool,
) -> None:
    """Plan the incident in SCENARIO (YAML): who is covered, where it runs short, what must come by when.

    Exit codes: 0 planned; 2 wrong use; 3 mistakes in the scenario (all are listed); 4 no plan can meet
    a hard requirement; 5 the solver stopped without a plan.
    """
    from mci.pipeline import run
    from mci.scenario import read_scenario

    if quiet and (output is None or as_json):
        raise click.UsageError("--quiet needs -o, and nothing else to print.")
    if cards and output is None:
        raise click.UsageError("--cards needs -o: the cards are in the report.")
    if output is not None:
        from mci.report.target import check_target

        check_target(output, force=force)  # before the work, not after it
    settings = Settings(
        priority=priority,
        time_limit=time_limit,
        max_period=max_period,
        whole_time_limit=whole_time_limit,
        whole_gap=gap,
    )
    found = run(read_scenario(scenario), settings)
    if as_json:
        from mci.report.data_files import json_text

        click.echo(json_text(found), nl=False)
    elif not quiet:
        from mci.cli._terminal import make_console, show_page
        from mci.report.build import build_page

        show_page(build_page(found), make_console())
    if output is not None:
        from mci.report.files import write_results

        folder = write_results(found, output, force=force, cards=cards)
        if not quiet:
            click.echo(f"Written to {folder}: report.html, plan.xlsx, plan.json and the tables as CSV.", err=as_json)
