"""The inspection of an oxygen cache on a terminal: read what was counted, say what was found, write the files."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING

from mci.cli._terminal import make_console, say, say_list, say_title, show_table
from mci.errors import UsageError

if TYPE_CHECKING:
    import pathlib
    from collections.abc import Callable, Sequence

    from rich.console import Console

    from mci.report.inspection_page import InspectionBody
    from mci.report.study_page import StudyPage
    from mci.stocking.inspection_result import Inspection

__all__ = ["inspect_inventory", "show_inspection_page"]

_MOST_DAYS = 3660
_WIDE = 100  # columns from which there is room for what to do


def inspect_inventory(
    files: Sequence[pathlib.Path],
    *,
    on: str | None = None,
    load: str | None = None,
    soon_days: int = 90,
    minimum: str | None = None,
    residual: str | None = None,
    pressures_in: str | None = None,
    output: pathlib.Path | None = None,
    force: bool = False,
    quiet: bool = False,
    as_json: bool = False,
) -> Inspection:
    """Inspect a cache, print what was found and write the files.

    Parameters
    ----------
    files
        One workbook with the sheets ``cylinders`` and ``equipment``, or CSV files of them.
    on
        Day on which dates are judged, such as 2026-05-01; without it today, which is said.
    load
        Patients and flows whose cover is asked, such as ``6 x 15 L/min, 4 x 2 L/min``.
    soon_days
        Tests and expiry dates within so many days are told beforehand.
    minimum, residual
        In-service minimum and residual pressure, such as ``500 psi``.
    pressures_in
        ``psi`` or ``bar``; without it as in the files.
    output, force
        Folder for the files, and whether earlier results there are replaced.
    quiet, as_json
        Print nothing, or JSON instead of words.

    Raises
    ------
    InputError
        With all mistakes in the files.
    UsageError
        Where something asked makes no sense.
    """
    import mci.report.inspection_files as made
    from mci.report.files import put_files
    from mci.report.inspection_build import build_inspection_page
    from mci.report.target import check_target
    from mci.stocking.inspection import Asked, inspect
    from mci.stocking.inspection_cover import parse_load
    from mci.stocking.inspection_file import read_inventory
    from mci.units import parse_pressure

    if quiet and (output is None or as_json):
        raise UsageError("--quiet needs -o, and nothing else to print")
    if output is not None:
        check_target(output.resolve(), force=force)
    asked = Asked(
        on=None if on is None else _day(on),
        load=None if load is None else parse_load(load),
        soon_days=_days(soon_days),
        minimum=None if minimum is None else _quantity(parse_pressure, minimum, "--minimum"),
        residual=None if residual is None else _quantity(parse_pressure, residual, "--residual"),
        metric=None if pressures_in is None else pressures_in == "bar",
    )
    found = inspect(read_inventory(files), asked)
    console = make_console()
    if as_json:
        console.out(made.inspection_json(found), end="", highlight=False)
    elif not quiet:
        show_inspection_page(build_inspection_page(found), console)
    if output is not None:
        _write(put_files, made.inspection_files(found), output, quiet=quiet, as_json=as_json)
    return found


def _write(
    put: Callable[..., pathlib.Path],
    files: dict[str, str | bytes],
    output: pathlib.Path,
    *,
    quiet: bool,
    as_json: bool,
) -> None:
    import click

    folder = put(files, output)
    if not quiet:
        names = ", ".join(sorted(files, key=lambda name: (name != "report.html", name)))
        click.echo(f"Written to {folder}: {names}.", err=as_json)


def _day(text: str) -> datetime.date:
    try:
        return datetime.date.fromisoformat(text.strip())
    except ValueError:
        raise UsageError(f"--on {text!r} is not a day (such as 2026-05-01)") from None


def _days(days: int) -> int:
    if not 0 <= days <= _MOST_DAYS:
        raise UsageError(f"tests and expiry dates can be told 0 to {_MOST_DAYS} days beforehand, not {days}")
    return days


def _quantity(parse: Callable[[str], float], text: str, option: str) -> float:
    from mci.units import UnitError

    try:
        return parse(text)
    except UnitError as error:
        raise UsageError(f"{option} {text!r} {error}") from None


def show_inspection_page(page: StudyPage[InspectionBody], console: Console) -> None:
    """Print the page: headline, what to mend first, what is not fit, what is due soon, what is fit, cautions."""
    body = page.body
    say(console, page.name, style="bold")
    say(console, page.headline[0], style="bold")
    for sentence in (*page.headline[1:], page.standing):
        say(console, sentence)
    say_title(console, "What to mend first")
    _fixes(body, console)
    _unfit(body, console)
    if body.soon:
        say_title(console, body.soon_title)
        say_list(console, (f"{one.name}, {one.what}: {one.due} ({one.days}); {one.where}" for one in body.soon))
    say_title(console, f"Cylinders that are fit for service: {len(body.fit)}")
    rows = [(line.serial, line.kind, line.gauge, line.due, line.litres, line.where) for line in body.fit]
    show_table(console, ("Serial", "Cylinder", "Gauge", "Test due", "Usable", "Where"), rows, (2, 3, 4), (2, 4))
    if body.fit_equipment:
        say_title(console, f"Equipment that is fit for service: {len(body.fit_equipment)}")
        kept = [(line.count, line.item, line.outlets, line.expiry, line.where) for line in body.fit_equipment]
        show_table(console, ("Count", "Item", "Outlets of each", "Expiry", "Where"), kept, (0, 3), (0,))
    if body.no_equipment:
        say_title(console, "Equipment")
        say(console, body.no_equipment)
    say_title(console, "Cautions")
    say_list(console, page.notes)
    say(console, ". ".join(caution.short for caution in page.cautions) + ".")
    say(console, page.statement)
    console.print()
    say(console, page.provenance_line)


def _fixes(body: InspectionBody, console: Console) -> None:
    if not body.fixes:
        say_list(console, ("Nothing: all that is listed is fit for service.",))
        return
    if console.width >= _WIDE:
        rows = [(f.rank, f.items, f.wrong, f.mend, f.litres, f.minutes) for f in body.fixes]
        heads = ("No.", "What", "What is wrong", "What to do", "Litres\nback", "Cover\ngained")
        show_table(console, heads, rows, (0, 4), (0, 4, 5))
    else:
        short = [(f.rank, f"{f.items}: {f.wrong}. {f.mend}.", f.litres, f.minutes) for f in body.fixes]
        show_table(console, ("No.", "What, and what to do", "Litres\nback", "Cover\ngained"), short, (0, 2), (0, 2, 3))
    say(console, body.total)
    say(console, body.rule)


def _unfit(body: InspectionBody, console: Console) -> None:
    if body.unfit or body.unfit_equipment:
        say_title(console, f"Not fit for service: {len(body.unfit) + len(body.unfit_equipment)}")
        cylinders = (f"{one.serial} ({one.kind}; {one.where}): {one.why}" for one in body.unfit)
        things = (f"{one.count} × {one.item} ({one.where}): {one.why}" for one in body.unfit_equipment)
        say_list(console, (*cylinders, *things))
