"""``mci replay``: any orders file judged on a scenario, ours or a team's log from a drill; trips too."""

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
    from mci.plan.trip_table import TripRow
    from mci.replay.verdict import Finding, Validity, Verdict
    from mci.scenario.model import Scenario

__all__ = ["replay"]

_MOST_FINDINGS = 20
_INVALID = 3  # the exit code of input that cannot be used
_CLAIMED = "Coverage claimed, though some {}s cannot be carried out"
_MEANING = {
    "VALID": "these {} can be carried out",
    "INVALID": "these {} cannot be carried out as they stand",
    "UNKNOWN": "nothing is wrong, but the {} leave out what a law needs",
}


@click.command(short_help="Judge orders, a plan's or a team's log: can they be carried out, and what do they achieve?")
@click.argument("scenario", type=click.Path(path_type=pathlib.Path))
@click.argument("orders", type=click.Path(path_type=pathlib.Path))
@click.option(
    "--trips",
    type=click.Path(path_type=pathlib.Path),
    help="Trips on the scenario's network, judged too; the orders may use what they bring.",
)
@click.option("--json", "as_json", is_flag=True, help="Write JSON, with the unit in each name.")
@click.pass_context
def replay(
    ctx: click.Context, scenario: pathlib.Path, orders: pathlib.Path, trips: pathlib.Path | None, *, as_json: bool
) -> None:
    """Judge the ORDERS on the SCENARIO: every litre, outlet, device and pair of hands.

    ORDERS is a CSV file as a plan or a spreadsheet writes it, or a workbook with the sheet 'orders'; the same
    holds for trips, in the sheet 'trips'.

    Says VALID, INVALID with the first offending order and why, or UNKNOWN where orders leave out what a law
    needs (who changed a cylinder, say), and the coverage achieved.  With --trips the vehicles are judged as
    well: where they are, their roads and loads, and whether what they take is there.

    Exit codes: 0 VALID, or UNKNOWN with a warning; 2 wrong use; 3 INVALID, or mistakes in a file.
    """
    from mci.plan.deliver import deliver
    from mci.plan.table import read_orders_with_lines
    from mci.plan.trip_table import read_trips_with_lines, trip_rows
    from mci.replay.judge import replay as judge
    from mci.replay.trips import judge_trips
    from mci.replay.verdict import Validity
    from mci.scenario import read_scenario

    read = read_scenario(scenario)
    if trips is not None and read.network is None:
        raise click.UsageError(f"--trips needs a scenario with a network, and {scenario} has none.")
    moved, trip_lines = ((), ()) if trips is None else read_trips_with_lines(trips)
    rows, lines = read_orders_with_lines(orders)
    verdict = judge(deliver(read, moved), rows)
    judged = [_Judged("order", str(orders), len(rows), lines, verdict.findings, [_name_order(each) for each in rows])]
    if trips is not None:
        named = [_name_row(each) for each in trip_rows(moved)]
        judged.insert(0, _Judged("trip", str(trips), len(moved), trip_lines, judge_trips(read, moved, verdict), named))
    if as_json:
        click.echo(json.dumps(_as_data(read, judged, verdict), indent=2, ensure_ascii=False))
    else:
        _show(read, judged, verdict)
    found = {each.validity for each in judged}
    if Validity.UNKNOWN in found:
        click.echo("Warning: not everything can be judged; see what is left out.", err=True)
    ctx.exit(_INVALID if Validity.INVALID in found else 0)


@dataclasses.dataclass(frozen=True)
class _Judged:
    """Orders or trips (``thing``): how many, what was found, and per row its line in the file and what it says."""

    thing: str
    file: str
    count: int
    lines: Sequence[int]
    findings: Sequence[Finding]
    named: Sequence[str]

    @property
    def validity(self) -> Validity:
        from mci.replay.verdict import validity_of

        return validity_of(self.findings)

    def line(self, finding: Finding) -> int:
        """Return the line of the file; 0 where no row is to blame."""
        return self.lines[finding.row - 1] if finding.row else 0

    def sentence(self, finding: Finding) -> str:
        """Return what was found, where and when."""
        from mci.replay.words import at

        row = "order" if self.thing == "order" else "row"
        where = f"{row} {finding.row} (line {self.line(finding)})" if finding.row else f"all {self.thing}s"
        question = "" if finding.judged else ", cannot be judged"
        reason = re.sub(  # an order that a reason names gets its line in the file too
            r"\border (\d+)(?= keeps)",
            lambda order: f"{order[0]} (line {self.lines[int(order[1]) - 1]})",
            finding.reason,
        )
        return f"{where}, {at(finding.minute)} [{finding.law}{question}]: {reason}."

    def as_data(self) -> list[dict[str, Any]]:
        """Return the findings for JSON."""
        return [
            {
                "law": each.law,
                "row": each.row,
                "line": self.line(each),
                "time_min": each.minute,
                "judged": each.judged,
                "reason": each.reason,
            }
            for each in self.findings
        ]


def _name_order(order: Order) -> str:
    named = (order.action.value, order.patient, order.device, order.supply, order.regulator, order.by)
    return f"The order: {', '.join(name for name in named if name)}."


def _name_row(row: TripRow) -> str:
    done = f", {row.action} {row.cargo.quantity} {row.cargo.item}" if row.cargo is not None else ""
    return f"The row: {row.trip.key}, {row.trip.vehicle}, stop {row.number} at {row.stop.place}{done}."


def _as_data(scenario: Scenario, judged: Sequence[_Judged], verdict: Verdict) -> dict[str, Any]:
    from importlib.metadata import version

    *trips, orders = judged
    data: dict[str, Any] = {
        "software": f"mci {version('mci')}",
        "scenario": scenario.name,
        "scenario_sha256": scenario.sha256,
    }
    for each in trips:
        data |= {"trips_file": each.file, "trips_validity": each.validity.value, "trips_findings": each.as_data()}
    return data | {
        "orders_file": orders.file,
        "validity": verdict.validity.value,
        "findings": orders.as_data(),
        "weighted_credit_min": verdict.weighted,
        "coverage": verdict.coverage.to_dict("records"),
        "left_litres": dict(verdict.left),
        "services": [dataclasses.asdict(each) for each in verdict.services],
        "holdings": [dataclasses.asdict(each) for each in verdict.holdings],
    }


def _show(scenario: Scenario, judged: Sequence[_Judged], verdict: Verdict) -> None:
    from mci.cli._terminal import make_console, say
    from mci.report.cautions import AID_STATEMENT

    console = make_console()
    for number, each in enumerate(judged):
        if number:
            console.print()
        counted = f"{each.count} {each.thing}{'s' * (each.count != 1)} from {each.file}"
        say(console, f"{scenario.name}, {counted}", style="bold")
        _show_findings(console, each)
    _show_coverage(console, scenario, judged, verdict)
    console.print()
    say(console, AID_STATEMENT)


def _show_findings(console: Console, judged: _Judged) -> None:
    from mci.cli._terminal import say

    validity, findings = judged.validity.value, judged.findings
    say(console, f"{validity}: {_MEANING[validity].format(judged.thing + 's')}.", style="bold")
    if findings:
        first = findings[0]
        console.print()
        say(console, "First offence" if first.judged else "First question left open", style="bold")
        say(console, f"  {judged.sentence(first)}")
        if first.row:
            say(console, f"  {judged.named[first.row - 1]}")
    if len(findings) > 1:
        console.print()
        say(console, f"All {len(findings)} findings", style="bold")
        for each in findings[:_MOST_FINDINGS]:
            say(console, judged.sentence(each), bullet="- ")
        if len(findings) > _MOST_FINDINGS:
            say(console, f"  {len(findings) - _MOST_FINDINGS} more; --json lists all.")


def _show_coverage(console: Console, scenario: Scenario, judged: Sequence[_Judged], verdict: Verdict) -> None:
    from mci.cli._terminal import say, show_table
    from mci.replay.verdict import Validity
    from mci.report.words import PatientTime, category_word, share

    table = verdict.coverage
    total = float(table["needed_patient_min"].iloc[-1])
    if total <= 0:
        return
    time = PatientTime.for_total(total)
    console.print()
    wrong = [each.thing for each in judged if each.validity is Validity.INVALID]
    title = _CLAIMED.format("s and ".join(wrong)) if wrong else "Coverage achieved"
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
