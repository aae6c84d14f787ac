"""From an inspection to its page in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.physics.duration import whole_minutes
from mci.provenance import FORMAT_VERSION, software_version
from mci.report.cautions import AID_STATEMENT, read_cautions
from mci.report.inspection_page import CylinderLine, EquipmentLine, FixLine, InspectionBody, SoonLine
from mci.report.page import KeyFigure
from mci.report.study_page import StudyPage
from mci.report.words import join_words
from mci.stocking.inspection_result import FaultKind
from mci.units import format_duration, format_litres, format_pressure

if TYPE_CHECKING:
    from mci.report.cautions import Caution
    from mci.stocking.inspection_cover import Cover
    from mci.stocking.inspection_file import Listed
    from mci.stocking.inspection_result import CylinderItem, EquipmentItem, Fault, Fix, Inspection, Soon

__all__ = ["build_inspection_page", "inspection_record"]

_RULE = (
    "First what alone gives the load most minutes of cover; then what gives most patients an outlet; then what brings "
    "back most litres. Litres are the most that can come back: a full cylinder where it is refilled, else what its "
    "gauge says, up to full."
)
_COVER = (
    "Cover is a best case: litres and outlets are shared freely, changes of cylinder take no time, and every patient "
    "has a device."
)
_NO_EQUIPMENT = (
    "No equipment was listed, so outlets and valves were not judged: cover counts litres alone. Add a sheet or file "
    "'equipment' with the columns item, count, expiry, condition."
)


def build_inspection_page(found: Inspection) -> StudyPage[InspectionBody]:
    """Put an inspection into words."""
    return StudyPage(
        kind="Cache inspection",
        name=found.inventory.name.replace("-", " ").replace("_", " "),
        summary="",
        headline=_headline(found),
        standing=_standing(found),
        key_figures=_key_figures(found),
        body=_body(found),
        behind={},
        failed=(),
        notes=(_COVER,),
        assumptions=tuple((a.what, a.value, str(a.source.basis), a.source.text) for a in found.assumptions),
        statement=AID_STATEMENT,
        cautions=inspection_cautions(),
        provenance=inspection_record(found),
        provenance_line=f"{software_version()} · inventory {found.inventory.sha256[:12]}",
    )


def inspection_cautions() -> tuple[Caution, ...]:
    """Return the cautions that go with an inspection: all but the one about plans."""
    return tuple(caution for caution in read_cautions() if caution.short != "Best case")


def inspection_record(found: Inspection) -> tuple[tuple[str, str], ...]:
    """Say where an inspection comes from."""
    return (
        ("Software", software_version()),
        ("Inventory", ", ".join(found.inventory.files)),
        ("Inventory SHA-256", found.inventory.sha256),
        ("Inspected on", str(found.on) + (" (today; no other day was given)" if found.is_today else "")),
        ("Reference load", str(found.load)),
        ("Format version", str(FORMAT_VERSION)),
    )


def _plural(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"


def _time(minutes: float) -> str:
    return format_duration(whole_minutes(minutes))


def _headline(found: Inspection) -> tuple[str, ...]:
    fit, number = sum(not item.faults for item in found.cylinders), len(found.cylinders)
    are = "is" if 1 in (fit, number) else "are"
    first = f"{fit} of {_plural(number, 'cylinder')} {are} fit for service, with {format_litres(found.litres_fit)}."
    carried = f"They carry {_cover_words(found, found.cover)}"
    sentences = [first, carried if fit else f"Nothing on hand carries a load of {found.load}."]
    if not found.fixes:
        return (*sentences, "Nothing has to be mended.")
    mended = found.cover_mended
    gain = found.cover_mended.minutes - found.cover.minutes
    brings = (
        f"{_plural(len(found.fixes), 'thing')} to mend; once all of it is mended, the cover is {_time(mended.minutes)}"
    )
    return (*sentences, brings + (f", {_time(gain)} more." if gain >= 1 else ", no longer than now."))


def _cover_words(found: Inspection, cover: Cover) -> str:
    load, count = str(found.load), found.load.count
    if cover.connected < count:
        few = f"outlets for {cover.connected} of its {_plural(count, 'patient')}"
        return f"no load of {load}: there are {few} (the litres would last {_time(cover.by_litres)})."
    words = f"a load of {load} for {_time(cover.minutes)}"
    if found.equipment is None:
        return f"{words} by litres alone; outlets were not judged."
    if cover.by_litres - cover.minutes > 1:
        return f"{words}; outlets hold it back, the litres would last {_time(cover.by_litres)}."
    return f"{words}; litres are what limits it."


def _standing(found: Inspection) -> str:
    day = f"Dates are judged on {found.on}" + (", today, as no other day was given." if found.is_today else ".")
    assumed = any(a.what == "reference load (none was given)" for a in found.assumptions)
    return day + (" The load is an assumption, as none was given." if assumed else "")


def _key_figures(found: Inspection) -> tuple[KeyFigure, ...]:
    fit = sum(not item.faults for item in found.cylinders)
    unfit = len(found.cylinders) - fit
    things = sum(1 for item in found.equipment or () if item.faults)
    return (
        KeyFigure(f"{fit} of {len(found.cylinders)}", "cylinders fit for service", unfit > 0),
        KeyFigure(format_litres(found.litres_fit), "on hand, above the residual pressure", False),
        KeyFigure(format_litres(found.litres_unfit), "in cylinders that are not fit", found.litres_unfit > 0),
        KeyFigure(_time(found.cover.minutes), "cover of the load, best case", found.cover.minutes == 0),
        KeyFigure(str(things), "lines of equipment not fit", things > 0),
        KeyFigure(str(len(found.soon)), f"due within {found.soon_days} days", False),
    )


def _body(found: Inspection) -> InspectionBody:
    cylinders = [(bool(item.faults), _cylinder(found, item)) for item in found.cylinders]
    equipment = [(bool(item.faults), _equipment(found, item)) for item in found.equipment or ()]
    areas = {item.listed: item.area for item in found.cylinders}
    areas |= {item.listed: item.area for item in found.equipment or ()}
    return InspectionBody(
        fixes=tuple(_fix(found, number, fix, areas) for number, fix in enumerate(found.fixes, start=1)),
        rule=_RULE,
        total=_total(found),
        unfit=tuple(line for bad, line in cylinders if bad),
        fit=tuple(line for bad, line in cylinders if not bad),
        unfit_equipment=tuple(line for bad, line in equipment if bad),
        fit_equipment=tuple(line for bad, line in equipment if not bad),
        no_equipment=_NO_EQUIPMENT if found.equipment is None else "",
        soon=tuple(_soon(found, one, areas) for one in found.soon),
        soon_title=f"Due within {found.soon_days} days",
    )


def _total(found: Inspection) -> str:
    if not found.fixes:
        return ""
    litres = sum(item.litres_mended for item in found.cylinders if item.faults)
    cover = f"cover {_time(found.cover.minutes)} now, {_time(found.cover_mended.minutes)} then"
    return f"All of it together: up to {format_litres(litres)} back; {cover}."


def _fix(found: Inspection, number: int, fix: Fix, areas: dict[Listed, str]) -> FixLine:
    gained = _time(fix.minutes) if fix.minutes >= 1 else ""
    more = f"{_plural(fix.patients, 'patient')} get an outlet" if fix.patients > 0 else ""
    return FixLine(
        rank=str(number),
        items=fix.items,
        where=join_words([*dict.fromkeys(_where(found, listed, areas[listed]) for listed in fix.where)]),
        wrong=join_words([_wrong(fault) for fault in fix.faults]),
        mend=fix.mend[:1].upper() + fix.mend[1:],
        litres=format_litres(fix.litres) if fix.litres >= 0.5 else "–",
        minutes=", ".join(part for part in (f"+{gained}" if gained else "", more) if part) or "–",
    )


def _wrong(fault: Fault) -> str:
    """Say what is wrong in a few words; of a condition, what was written."""
    return fault.why if fault.kind is FaultKind.CONDITION else str(fault.kind)


def _where(found: Inspection, listed: Listed, area: str) -> str:
    """Say where a thing is, and in which row it stands; the file too where there are several of a kind."""
    many = len(found.inventory.files) > 2
    row = f"row {listed.row}" + (f" of {listed.file}" if many else "")
    return f"{area}, {row}" if area else row


def _cylinder(found: Inspection, item: CylinderItem) -> CylinderLine:
    gauge = "not read" if item.gauge_psi is None else format_pressure(item.gauge_psi, metric=found.metric)
    return CylinderLine(
        serial=item.name,
        kind=item.kind,
        where=_where(found, item.listed, item.area),
        gauge=gauge,
        tested=str(item.tested) if item.tested else "–",
        due=str(item.due) if item.due else "–",
        litres=format_litres(item.litres) if item.cylinder and item.gauge_psi is not None else "–",
        why="; ".join(fault.why for fault in item.faults),
    )


def _equipment(found: Inspection, item: EquipmentItem) -> EquipmentLine:
    outlets = ""
    if item.outlets:
        outlets = f"{item.outlets.outlets} × {item.outlets.outlet_max_lpm:g} L/min"
        more = item.outlets.high_pressure_outlets
        outlets += f", {more} × 50 psi" if more else ""
    return EquipmentLine(
        item=item.name,
        count=str(item.count),
        where=_where(found, item.listed, item.area),
        outlets=outlets or "–",
        expiry=str(item.expiry) if item.expiry else "–",
        why="; ".join(fault.why for fault in item.faults),
    )


def _soon(found: Inspection, one: Soon, areas: dict[Listed, str]) -> SoonLine:
    days = "today" if one.days == 0 else f"in {_plural(one.days, 'day')}"
    return SoonLine(one.name, one.what, str(one.due), days, _where(found, one.listed, areas[one.listed]))
