"""``mci check``: a scenario said back in tables, and what is wrong or doubtful with it."""

from __future__ import annotations

import json
import pathlib
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console

    from mci.errors import InputError
    from mci.scenario.columns import Column, Table
    from mci.scenario.doubt import Doubt
    from mci.scenario.draft import Draft
    from mci.scenario.model import Scenario

__all__ = ["check"]

_INDENT = 2  # of tables under their title
_GAP = 2  # between the columns of a table


@click.command(short_help="Say a scenario back, and what is wrong or doubtful with it.")
@click.argument("scenario", required=False, type=click.Path(path_type=pathlib.Path))
@click.option("--json", "as_json", is_flag=True, help="Write JSON, with the unit in each name.")
@click.option("--schema", is_flag=True, help="Write the JSON Schema of a scenario file, for an editor, and stop.")
@click.option("--sources", is_flag=True, help="Also name the source of every assumption.")
@click.option(
    "--numbers", is_flag=True, help="List instead every number that can be varied, with the path that names it."
)
@click.pass_context
def check(
    ctx: click.Context, scenario: pathlib.Path | None, *, as_json: bool, schema: bool, sources: bool, numbers: bool
) -> None:
    """Say SCENARIO back in words and tables, and what is wrong or doubtful with it.

    Exit code 0: it can be planned, perhaps with doubts.  3: it has mistakes; all are listed.
    """
    if schema:
        from mci.scenario.jsonschema import SCHEMA_FILE

        click.echo(SCHEMA_FILE.read_text(encoding="utf-8"), nl=False)
        return
    if scenario is None:
        raise click.UsageError("Missing argument 'SCENARIO'.", ctx)
    from mci.errors import InputError
    from mci.scenario.draft import read_draft

    try:
        draft = read_draft(scenario)
        read = draft.scenario()
    except InputError as error:
        _tell_mistakes(error, as_json=as_json)
        ctx.exit(error.exit_code)
    if numbers:
        _list_numbers(draft, as_json=as_json)
    else:
        _say_back(draft, read, as_json=as_json, sources=sources)


def _list_numbers(draft: Draft, *, as_json: bool) -> None:
    from mci.scenario.describe import numbers_table

    table = numbers_table(draft.numbers.values())
    if as_json:
        click.echo(json.dumps({table.key: table.records()}, indent=2, ensure_ascii=False))
    else:
        _show_table(_console(), table, hidden=("kind", "unit"))


def _tell_mistakes(error: InputError, *, as_json: bool) -> None:
    if as_json:
        import dataclasses

        mistakes = [dataclasses.asdict(mistake) for mistake in error.mistakes]
        click.echo(json.dumps({"can_be_planned": False, "mistakes": mistakes}, indent=2, ensure_ascii=False))
        return
    console = _console()
    count = len(error.mistakes)
    console.print(f"{count} mistake{'s' if count != 1 else ''}: mend {'them' if count != 1 else 'it'} and check again.")
    for mistake in error.mistakes:
        place = ":".join(str(part) for part in (mistake.file, mistake.line, mistake.column) if part)
        console.print(f"\n{place}  {mistake.path}".rstrip(), style="bold", soft_wrap=True)
        found = "" if mistake.value is None else f" (found {mistake.value!r})"
        _paragraph(console, f"{mistake.rule}{found}. {mistake.fix}".strip())


def _say_back(draft: Draft, scenario: Scenario, *, as_json: bool, sources: bool) -> None:
    from mci.demand.stays import find_stays
    from mci.scenario.check import doubts
    from mci.scenario.describe import describe, headline

    stays = find_stays(scenario)
    tables = (*describe(scenario, stays), *_uncertain_tables(draft, scenario))
    found = doubts(scenario, stays)
    if as_json:
        data = {**_as_data(scenario, tables, found), "numbers_that_can_be_varied": len(draft.numbers)}
        click.echo(json.dumps(data, indent=2, ensure_ascii=False))
        return
    console = _console()
    _paragraph(console, f"{scenario.name} ({scenario.file})", indent="", style="bold")
    if scenario.summary:
        _paragraph(console, scenario.summary, indent="")
    _paragraph(console, headline(scenario, stays), indent="")
    for table in tables:
        _show_table(console, table, hidden=() if sources else ("source",))
    console.print()
    count = len(draft.numbers)
    _paragraph(console, f"{count} numbers can be varied: `mci check {draft.file} --numbers` lists them.", indent="")
    _show_doubts(console, found)


def _uncertain_tables(draft: Draft, scenario: Scenario) -> tuple[Table, ...]:
    if draft.uncertainty is None:
        return ()
    from mci.report.law_words import law_words
    from mci.scenario.describe_uncertain import uncertain_tables

    return tuple(uncertain_tables(draft.uncertainty, draft.numbers, lambda law, n: law_words(law, n, scenario)))


def _as_data(scenario: Scenario, tables: Sequence[Table], found: Sequence[Doubt]) -> dict[str, Any]:
    import dataclasses
    from importlib.metadata import version

    return {
        "software": f"mci {version('mci')}",
        "can_be_planned": True,
        "scenario": scenario.name,
        "scenario_sha256": scenario.sha256,
        "horizon_min": scenario.horizon,
        "doubts": [dataclasses.asdict(doubt) for doubt in found],
        **{table.key: table.records() for table in tables},
    }


def _console() -> Console:
    from rich.console import Console

    return Console(markup=False, highlight=False, emoji=False)


def _show_table(console: Console, table: Table, hidden: tuple[str, ...]) -> None:
    from rich import box
    from rich.padding import Padding
    from rich.table import Table as Grid
    from rich.text import Text

    page = table.page(hidden=hidden)
    grid = Grid(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0), pad_edge=False, show_edge=False)
    widths = _widths(page, console.width - _INDENT)
    for (column, _), width in zip(page, widths, strict=True):
        right = "right" if column.right else "left"
        grid.add_column(Text(column.title), justify=right, width=width, overflow="fold")  # type: ignore[arg-type]
    for row in zip(*(texts for _, texts in page), strict=True):
        grid.add_row(*(Text(_fill(text, width)) for text, width in zip(row, widths, strict=True)))
    console.print()
    _paragraph(console, table.title, indent="", style="bold")
    console.print(Padding(grid, (0, 0, 0, _INDENT), expand=False))


def _widths(page: Sequence[tuple[Column, Sequence[str]]], room: int) -> list[int]:
    """Return the widths of columns: the widest are narrowed first, and numbers and words stay whole where they can."""
    from rich.cells import cell_len

    from mci.report.words import tie

    def longest(texts: Sequence[str]) -> int:
        return max(map(cell_len, texts), default=1)

    widths = [longest([column.title, *texts]) for column, texts in page]
    least = [
        longest([*column.title.split(), *(texts if column.right else tie(" ".join(texts)).split(" "))])
        for column, texts in page
    ]
    room -= _GAP * (len(page) - 1)
    while sum(widths) > room:
        spare = [number for number, width in enumerate(widths) if width > least[number]]
        spare = spare or [number for number, (column, _) in enumerate(page) if not column.right]
        widest = max(spare, key=widths.__getitem__)
        if widths[widest] <= 1:
            break
        widths[widest] -= 1
    return widths


def _show_doubts(console: Console, found: Sequence[Doubt]) -> None:
    from mci.report.cautions import AID_STATEMENT

    console.print()
    if not found:
        console.print("No mistakes and no doubts: it can be planned.", style="bold")
    else:
        count = len(found)
        console.print(f"It can be planned. {count} doubt{'s' if count != 1 else ''}:", style="bold")
    for doubt in found:
        where = f"{doubt.area}: " if doubt.area else ""
        _paragraph(console, f"{where}{doubt.what}. [{doubt.code}]", bullet="- ")
    console.print()
    _paragraph(console, AID_STATEMENT, indent="")


def _fill(text: str, width: int, first: str = "", rest: str = "") -> str:
    import textwrap

    from mci.report.words import TIED, tie

    filled = textwrap.fill(tie(text), width, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False)
    return filled.replace(TIED, " ")


def _paragraph(console: Console, text: str, *, bullet: str = "", indent: str = "  ", style: str = "") -> None:
    filled = _fill(text, console.width, indent + bullet, indent + " " * len(bullet))
    console.print(filled, soft_wrap=True, style=style or None)
