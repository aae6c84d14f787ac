"""The command line, one thin file per command: parse, call, render.

Commands are loaded when they are called, so that ``mci --help`` imports no heavy library.
"""

from __future__ import annotations

import atexit
import difflib
import gc
import importlib
import os
import sys
from typing import Any

import click

from mci.errors import PlannerError

__all__ = ["cli", "main"]

_COMMANDS = {
    "check": "Say a scenario back, and what is wrong or doubtful with it.",
    "debrief": "After a drill: what a team's log reached, what was possible, where the minutes went.",
    "drill": "Make a drill: casualties, injects, cards and an answer key; or play it at the keyboard.",
    "duration": "How long a cylinder lasts at a flow, and when to change it.",
    "plan": "Plan an incident: coverage, shortage, bottlenecks and resupply timeline.",
    "replay": "Judge orders, a plan's or a team's log: can they be carried out, and what do they achieve?",
    "risk": "Draw incidents from what is uncertain: how bad it can be, how often, and what drives it.",
    "resupply": "Plan trips of a network: what leaves where, on which vehicle, by when at the latest.",
    "stock": "Choose what caches hold for many incidents, or inspect what one holds.",
    "whatif": "Vary numbers of a scenario: cases side by side, what moves coverage, where it breaks.",
}


class _LazyGroup(click.Group):
    """A group whose commands live in ``mci.cli.<name>`` and are imported on first use."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        return sorted(_COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        if cmd_name not in _COMMANDS:
            return None
        command: click.Command = getattr(importlib.import_module(f"mci.cli.{cmd_name}"), cmd_name)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command; an unknown one names the nearest."""
        near = difflib.get_close_matches(args[0], _COMMANDS, n=1)
        if near and args[0] not in _COMMANDS:
            ctx.fail(f"there is no command {args[0]!r}. Did you mean {near[0]!r}?")
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        with formatter.section("Commands"):
            formatter.write_dl(sorted(_COMMANDS.items()))

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; an expected error is told in words, with its own exit code."""
        try:
            return super().invoke(ctx)
        except PlannerError as error:
            click.echo(f"mci: {error}", err=True)
            ctx.exit(error.exit_code)


@click.group(
    cls=_LazyGroup,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog="A planning and training aid: it decides no patient's care. Local protocol and licensed practice decide.",
)
@click.version_option(package_name="mci", prog_name="mci")
@click.pass_context
def cli(ctx: click.Context) -> None:
    """Make scarce oxygen go as far as it can when many people are hurt at once."""
    if os.environ.get("NO_COLOR"):
        ctx.color = False  # click itself does not look at NO_COLOR


def main() -> None:
    """Run the command line; the entry point of the console command ``mci``."""
    gc.set_threshold(500_000, 20, 20)  # a command lives for a second, a fifth of which went into looking for garbage
    atexit.register(gc.freeze)  # and as much again on the way out
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a terminal that lacks a sign shows "?" instead of failing
    cli.main(prog_name="mci")
