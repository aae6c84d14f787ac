"""``mci replay``: any orders file judged on a scenario, ours or a team's log from a drill."""

from __future__ import annotations

import dataclasses
import json
import pathlib
import re
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console

    from mci.plan.orders import Order
    from mci.replay.verdict import Finding, Verdict
    from mci.scenario.model import Scenario

__all__ = ["replay"]

_MOST_FINDINGS = 20
_INVALID = 3  # the exit code of input that cannot be used
_CLAIMED = "Coverage claimed, though some orders cannot be carried out"
_MEANING = {
    "VALID": "these orders can be carried out",
    "INVALID": "these orders cannot be carried out as they stand",
    "UNKNOWN": "nothing is wrong, but the orders leave out what a law needs",
}


@click.command(short_help="Judge orders, a plan's or a team's log: can they be carried out, and what do they achieve?")
@click.argument("scenario", type=click.Path(path_type=pathlib.Path))
@click.argument("orders", type=click.Path(path_type=pathlib.Path))
@click.option("--json", "as_json", is_flag=True, help="Write JSON, with the unit in each name.")
@click.pass_context
def replay(ctx: click.Context, scenario: pathlib.Path, orders: pathlib.Path, *, as_json: bool) -> None:
    """Judge the ORDERS on the SCENARIO: every litre, outlet, device and pair of hands.

    ORDERS is a CSV file as a plan or a spreadsheet writes it, or a workbook with the sheet 'orders'.

    Says VALID, INVALID with the first offending order and why, or UNKNOWN where orders leave out what a law
    needs (who changed a cylinder, say), and the coverage achieved.

    Exit codes: 0 VALID, or UNKNOWN with a warning; 2 wrong use; 3 INVALID, or mistakes in a file.
    """
    from mci.plan.table import read_orders_with_lines
    from mci.replay.judge import replay as judge
    from mci.replay.verdict import Validity
    from mci.scenario import read_scenario

    read = read_scenario(scenario)
    rows, lines = read_orders_with_lines(orders)
    verdict = judge(read, rows)
    if as_json:
        click.echo(json.dumps(_as_data(read, str(orders), verdict, lines), indent=2, ensure_ascii=False))
    else:
        from mci.cli._terminal import make_console

        _show(make_console(), read, str(orders), rows, lines, verdict)
    if verdict.validity is Validity.UNKNOWN:
        click.echo("Warning: not everything can be judged; see what is left out.", err=True)
    ctx.exit(_INVALID if verdict.validity is Validity.INVALID else 0)


def _as_data(scenario: Scenario, file: str, verdict: Verdict, lines: Sequence[int]) -> dict[str, Any]:
    from importlib.metadata import version

    return {
        "software": f"mci {version('mci')}",
        "scenario": scenario.name,
        "scenario_sha256": scenario.sha256,
        "orders_file": file,
        "validity": verdict.validity.value,
        "findings": [
            {
                "law": each.law,
                "row": each.row,
                "line": _line(each, lines),
                "time_min": each.minute,
                "judged": each.judged,
                "reason": each.reason,
            }
            for each in verdict.findings
        ],
        "weighted_credit_min": verdict.weighted,
        "coverage": verdict.coverage.to_dict("records"),
        "left_litres": dict(verdict.left),
        "services": [dataclasses.asdict(each) for each in verdict.services],
        "holdings": [dataclasses.asdict(each) for each in verdict.holdings],
    }


def _line(finding: Finding, lines: Sequence[int]) -> int:
    return lines[finding.row - 1] if finding.row else 0


def _show(
    console: Console,
    scenario: Scenario,
    file: str,
    orders: Sequence[Order],
    lines: Sequence[int],
    verdict: Verdict,
) -> None:
    from mci.cli._terminal import say
    from mci.report.cautions import AID_STATEMENT

    say(console, f"{scenario.name}, {len(orders)} order{'s' * (len(orders) != 1)} from {file}", style="bold")
    say(console, f"{verdict.validity.value}: {_MEANING[verdict.validity.value]}.", style="bold")
    if verdict.findings:
        first = verdict.findings[0]
        console.print()
        say(console, "First offence" if first.judged else "First question left open", style="bold")
        say(console, f"  {_sentence(first, lines)}")
        if first.row:
            order = orders[first.row - 1]
            named = (order.action.value, order.patient, order.device, order.supply, order.regulator, order.by)
            say(console, f"  The order: {', '.join(name for name in named if name)}.")
    if len(verdict.findings) > 1:
        console.print()
        say(console, f"All {len(verdict.findings)} findings", style="bold")
        for each in verdict.findings[:_MOST_FINDINGS]:
            say(console, _sentence(each, lines), bullet="- ")
        if len(verdict.findings) > _MOST_FINDINGS:
            say(console, f"  {len(verdict.findings) - _MOST_FINDINGS} more; --json lists all.")
    _show_coverage(console, scenario, verdict)
    console.print()
    say(console, AID_STATEMENT)


def _sentence(finding: Finding, lines: Sequence[int]) -> str:
    from mci.replay.words import at

    where = f"order {finding.row} (line {_line(finding, lines)})" if finding.row else "all orders"
    question = "" if finding.judged else ", cannot be judged"
    reason = re.sub(  # an order that a reason names gets its line in the file too
        r"\border (\d+)(?= keeps)", lambda order: f"{order[0]} (line {lines[int(order[1]) - 1]})", finding.reason
    )
    return f"{where}, {at(finding.minute)} [{finding.law}{question}]: {reason}."


def _show_coverage(console: Console, scenario: Scenario, verdict: Verdict) -> None:
    from mci.cli._terminal import say, show_table
    from mci.replay.verdict import Validity
    from mci.report.words import PatientTime, category_word, share

    table = verdict.coverage
    total = float(table["needed_patient_min"].iloc[-1])
    if total <= 0:
        return
    time = PatientTime.for_total(total)
    console.print()
    title = _CLAIMED if verdict.validity is Validity.INVALID else "Coverage achieved"
    say(console, f"{title} (patient time in {time.unit})", style="bold")
    headers = ("Category", "Patients", "Need", "Coverage", "At\ntarget", "Lower\nrung", "Without")
    columns = ("at_target_patient_min", "below_target_patient_min", "without_patient_min")
    rows = [
        (
            category_word(row["category"]),
            str(row["patients"]),
            time.write(row["needed_patient_min"]),
            share(row["coverage"]),
            *(time.write(row[column]) for column in columns),
        )
        for row in table.to_dict("records")
    ]
    show_table(console, headers, rows, rigid=range(len(headers)), right=range(1, len(headers)))
    needed = zip(table["category"].iloc[:-1], table["needed_patient_min"].iloc[:-1], strict=True)
    weighted = sum(scenario.weights[category] * minutes for category, minutes in needed)
    if weighted > 0:
        achieved = f"{verdict.weighted:,.1f}".replace(",", " ")
        say(console, f"Weighted coverage: {share(verdict.weighted / weighted)} ({achieved} weighted credit-minutes).")
