"""The options that every command that plans has in common."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from mci.settings import Settings

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["minutes", "period_option", "solver_options"]


def minutes(ctx: click.Context, param: click.Parameter, value: str) -> float:
    """Return a duration that is longer than nothing [min].

    Raises
    ------
    click.BadParameter
        If it is not.
    """
    from mci.units import UnitError, parse_duration

    try:
        found = parse_duration(value)
    except UnitError as error:
        raise click.BadParameter(f"{value!r} {error}", ctx, param) from None
    if found <= 0:
        raise click.BadParameter(f"{value!r} must be longer than nothing", ctx, param)
    return found


def _seconds(ctx: click.Context, param: click.Parameter, value: str) -> float:
    return 60 * minutes(ctx, param, value)


def solver_options(command: Callable[..., None]) -> Callable[..., None]:
    """Add the options about how long to search."""
    usual = Settings()
    options = (
        click.option(
            "--time-limit",
            callback=_seconds,
            default=f"{usual.time_limit / 60:g} min",
            show_default=True,
            help="Longest time for each solve, such as 30 s or 5 min.",
        ),
        click.option(
            "--whole-time-limit",
            callback=_seconds,
            default=f"{usual.whole_time_limit:g} s",
            show_default=True,
            help="Longest time for making patients whole, all areas together.",
        ),
        click.option(
            "--gap",
            type=click.FloatRange(0, 1),
            default=usual.whole_gap,
            show_default=True,
            help="Share of the bound by which the plan with whole patients may fall short before that ends.",
        ),
    )
    for option in reversed(options):
        command = option(command)
    return command


def period_option(default: str | None, words: str) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Return the option about how long a step of the tables is at most; ``words`` say what it is if not given."""
    return click.option(
        "--max-period",
        callback=_minutes_or_none,
        default=default,
        help=f"Longest step in the tables; shorter steps sharpen the times and never change the optimum.  [{words}]",
    )


def _minutes_or_none(ctx: click.Context, param: click.Parameter, value: str | None) -> float | None:
    return None if value is None else minutes(ctx, param, value)
