"""``mci duration``: how long one cylinder lasts at one flow, by every gas model that applies."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from rich.console import Console
    from rich.table import Table

    from mci.catalogue.lasting import Lasting
    from mci.catalogue.model import Cylinder, Device, GasModel
    from mci.errors import Mistake

    Value = TypeVar("Value")

__all__ = ["duration"]

_MODELS = {"factor": "published factor", "rated": "rated content", "real-gas": "real gas"}
_CAUTIONS = (
    "Oxygen feeds fire. No oil or grease. Secure the cylinder. Crack the valve away from people. "
    "No filling of one cylinder from another outside the rules."
)


@dataclass(frozen=True, slots=True)
class _Question:
    """What was asked, in canonical units."""

    asked_for: str
    region: str
    cylinder: Cylinder
    gauge_psi: float
    flow_lpm: float
    residual_psi: float
    temperature_c: float | None
    device: Device | None
    models: tuple[GasModel, ...]
    start: int | None


@click.command(short_help="How long a cylinder lasts at a flow, and when to change it.")
@click.argument("cylinder")
@click.option("--pressure", required=True, help="Gauge pressure with its unit, such as '1500 psi', or full.")
@click.option("--flow", required=True, help="Oxygen flow, such as '15 L/min'; a bare number means L/min.")
@click.option("--residual", help="Gauge pressure at which the cylinder is changed, with its unit. Default: 200 psi.")
@click.option("--temperature", help="Temperature of the cylinder, such as '-5 C' or '41 F'. Default: its reference.")
@click.option("--region", default="US", show_default=True, help="Region of a size letter that stands alone.")
@click.option("--device", help="Delivery device, to check the flow against its range.")
@click.option("--model", type=click.Choice(list(_MODELS)), help="Show one gas model only.")
@click.option("--start", help="Clock time at which the flow starts, such as 14:35.")
@click.option("--metric", is_flag=True, help="Write pressures in bar.")
@click.option("--json", "as_json", is_flag=True, help="Write JSON, with the unit in each name; pressures in psi.")
def duration(*, metric: bool, as_json: bool, **given: str | None) -> None:
    """Tell how long CYLINDER lasts at a flow, and when to change it.

    CYLINDER is region, size and variant, such as 'US E aluminium', or shorter where that is
    clear: 'US E', or E with --region.  Minutes are given by each gas model that applies, rounded
    down, until the gauge falls to the residual pressure.

    Example: mci duration E --pressure "1500 psi" --flow 15
    """
    question = _read(given)
    answers = _answers(question)
    warnings = list(_warnings(question, metric=metric))
    if as_json:
        click.echo(json.dumps(_as_data(question, answers, warnings), indent=2, ensure_ascii=False))
    else:
        _show(question, answers, warnings, metric=metric)


def _read(given: dict[str, str | None]) -> _Question:
    """Return the question, or raise with everything that is wrong with it."""
    from mci.catalogue.find import find_cylinder, find_device
    from mci.catalogue.load import load_catalogue
    from mci.catalogue.model import GasModel
    from mci.catalogue.usable import applicable_models
    from mci.errors import InputError, Mistake
    from mci.physics.constants import RESIDUAL_PSI
    from mci.units import parse_clock, parse_pressure, parse_temperature

    mistakes: list[Mistake] = []

    def read(name: str, parse: Callable[[str], Value]) -> Value | None:
        text = given[name.removeprefix("--").lower()]
        if text is None:
            return None
        try:
            return parse(text)
        except (ValueError, LookupError) as error:
            mistakes.append(Mistake(str(error), path=name, value=text))
            return None

    regions = sorted({cylinder.region for cylinder in load_catalogue().cylinders.values()})
    region = read("--region", lambda text: _one_of(text, regions))
    cylinder = read("CYLINDER", lambda text: find_cylinder(text, region=region))
    full = cylinder.full_psi if cylinder else None
    gauge = full if given["pressure"] == "full" else read("--pressure", parse_pressure)
    flow = read("--flow", _parse_flow)
    residual = read("--residual", parse_pressure)
    temperature = read("--temperature", parse_temperature)
    device = read("--device", find_device)
    start = read("--start", parse_clock)
    residual = RESIDUAL_PSI if residual is None else residual
    models = applicable_models(cylinder) if cylinder else ()
    if cylinder and given["model"]:
        wanted = GasModel(_MODELS[given["model"]])
        if wanted not in models:
            rule = f"{cylinder.key} has no number for this model"
            mistakes.append(Mistake(rule, path="--model", value=given["model"]))
        models = (wanted,)
    if cylinder and gauge is not None and not mistakes:
        _check_table(cylinder, max(gauge, residual), temperature, mistakes)
    if mistakes or cylinder is None or gauge is None or flow is None or region is None:
        raise InputError(mistakes)
    asked_for = given["cylinder"] or ""
    return _Question(asked_for, region, cylinder, gauge, flow, residual, temperature, device, models, start)


def _one_of(text: str, regions: list[str]) -> str:
    if text.upper() not in regions:
        raise ValueError(f"is not a region of the catalogue; it holds {', '.join(regions)}")
    return text.upper()


def _parse_flow(text: str) -> float:
    from mci.units import UnitError, parse_flow, parse_number

    try:
        flow = parse_number(text)
    except UnitError:
        flow = parse_flow(text)
    if flow <= 0:
        raise UnitError("must be above 0 L/min")
    return flow


def _check_table(cylinder: Cylinder, psi: float, temperature_c: float | None, mistakes: list[Mistake]) -> None:
    """Hold that the oxygen table covers the reading at both temperatures."""
    from mci.errors import Mistake
    from mci.physics.gas import density, gauge_at

    at_c = cylinder.reference_c if temperature_c is None else temperature_c
    try:
        density(psi, at_c)
        gauge_at(psi, at_c, cylinder.reference_c)
    except ValueError as error:
        mistakes.append(Mistake(str(error), path="--pressure" if temperature_c is None else "--temperature"))


def _answers(question: _Question) -> list[Lasting]:
    from mci.catalogue.lasting import lasting

    q = question
    answers = lasting(q.cylinder, q.gauge_psi, q.flow_lpm, q.residual_psi, q.temperature_c)
    return [answer for answer in answers if answer.model in q.models]


def _warnings(question: _Question, *, metric: bool) -> Iterator[str]:
    from mci.catalogue.doubts import cylinder_doubts, device_doubts, outlet_doubts

    q = question
    yield from cylinder_doubts(q.cylinder, q.gauge_psi, q.residual_psi, q.temperature_c, metric=metric)
    yield from outlet_doubts(q.cylinder, q.flow_lpm, q.device)
    if q.device is not None:
        yield from device_doubts(q.device, q.flow_lpm)


def _sources(question: _Question) -> list[str]:
    from mci.physics.constants import RESIDUAL_PSI, RESIDUAL_SOURCE

    q = question
    residual = RESIDUAL_SOURCE if q.residual_psi == RESIDUAL_PSI else "as given"
    lines = [f"Residual: {residual}.", f"{q.cylinder.key}: {q.cylinder.source.text} [{q.cylinder.source.basis}]."]
    if q.device is not None:
        lines.append(f"{q.device.title}: {q.device.source.text} [{q.device.source.basis}].")
    return lines


def _as_data(question: _Question, answers: list[Lasting], warnings: list[str]) -> dict[str, Any]:
    from importlib.metadata import version

    from mci.report.cautions import AID_STATEMENT
    from mci.units import format_clock

    q = question
    return {
        "software": f"mci {version('mci')}",
        "cylinder": q.cylinder.key,
        "asked_for": q.asked_for,
        "device": q.device.key if q.device else None,
        "gauge_psi": q.gauge_psi,
        "residual_psi": q.residual_psi,
        "flow_lpm": q.flow_lpm,
        "temperature_c": q.temperature_c,
        "reference_c": q.cylinder.reference_c,
        "models": [
            {
                "model": answer.model,
                "usable_litres": round(answer.litres, 3),
                "minutes": answer.minutes,
                "change_clock": format_clock(answer.minutes, q.start) or None,
                "catalogue_choice": answer.model is q.cylinder.gas_model,
            }
            for answer in answers
        ],
        "warnings": warnings,
        "sources": _sources(q),
        "cautions": [AID_STATEMENT, _CAUTIONS],
    }


def _show(question: _Question, answers: list[Lasting], warnings: list[str], *, metric: bool) -> None:
    from rich.console import Console

    from mci.report.cautions import AID_STATEMENT

    console = Console(markup=False, highlight=False, emoji=False)
    for line in _head(question, metric=metric):
        console.print(line)
    console.print()
    console.print(_table(question, answers, metric=metric))
    console.print(_change(question, answers, metric=metric))
    _show_list(console, "Warnings", [warning[0].upper() + warning[1:] + "." for warning in warnings])
    _show_list(console, "Sources", _sources(question))
    _show_list(console, "Cautions", [_CAUTIONS, AID_STATEMENT])


def _head(question: _Question, *, metric: bool) -> Iterator[str]:
    from mci.units import format_flow, format_pressure

    q = question
    key, region = q.cylinder.key, q.cylinder.region
    if q.asked_for.casefold() == key.casefold():
        yield f"Cylinder   {key}"
    elif q.asked_for.casefold().startswith(region.casefold()):
        yield f"Cylinder   {key} (the default for {q.asked_for})"
    else:
        yield f"Cylinder   {key} (what {q.asked_for} means in region {region}; another region: --region)"
    warm = f", cylinder at {q.temperature_c:g} °C" if q.temperature_c is not None else ""
    yield f"Gauge      {format_pressure(q.gauge_psi, metric=metric)}{warm}"
    yield f"Flow       {format_flow(q.flow_lpm)}" + (f" through {q.device.title}" if q.device else "")
    yield f"Residual   {format_pressure(q.residual_psi, metric=metric)}"


def _table(question: _Question, answers: list[Lasting], *, metric: bool) -> Table:
    from rich import box
    from rich.table import Table

    from mci.units import format_clock, format_duration, format_litres, format_moment

    q = question
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    table.add_column("Gas model")
    table.add_column("Rests on")
    table.add_column("Usable", justify="right")
    table.add_column("Lasts", justify="right")
    table.add_column("Change at", justify="right")
    for answer in answers:
        clock = format_clock(answer.minutes, q.start)
        table.add_row(
            f"{answer.model}{' *' if answer.model is q.cylinder.gas_model else ''}",
            _rests_on(q.cylinder, answer.model, metric=metric),
            format_litres(answer.litres),
            f"{answer.minutes} min" + (f"\n{format_duration(answer.minutes)}" if answer.minutes >= 60 else ""),
            format_moment(answer.minutes) + (f"\n{clock}" if clock else ""),
        )
    return table


def _rests_on(cylinder: Cylinder, model: GasModel, *, metric: bool) -> str:
    from mci.catalogue.model import GasModel
    from mci.units import format_litres, format_pressure

    if model is GasModel.FACTOR:
        return f"{cylinder.factor_l_per_psi:g} L/psi"
    if model is GasModel.RATED:
        return f"{format_litres(cylinder.content_l)} at {format_pressure(cylinder.full_psi, metric=metric)}"
    return f"water volume {cylinder.water_volume_l:g} L"


def _change(question: _Question, answers: list[Lasting], *, metric: bool) -> str:
    from mci.units import format_pressure

    q = question
    first = min(answers, key=lambda answer: answer.minutes)
    residual = format_pressure(q.residual_psi, metric=metric)
    return (
        f"Change the cylinder when its gauge reads {residual}; plan for {first.minutes} min, the least of the models "
        f"shown. The * marks the model that a plan uses. Litres are free gas at {q.cylinder.reference_c:g} °C."
    )


def _show_list(console: Console, title: str, lines: list[str]) -> None:
    import textwrap

    if lines:
        console.print(f"\n{title}")
    for line in lines:
        filled = textwrap.fill(line, console.width, initial_indent="  ", subsequent_indent="  ", break_on_hyphens=False)
        console.print(filled, soft_wrap=True)
