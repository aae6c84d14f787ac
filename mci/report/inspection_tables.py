"""The tables of an inspection: CSV files, sheets of the workbook, and part of the JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.table import Table, plain

if TYPE_CHECKING:
    from mci.report.table import Cell
    from mci.stocking.inspection_result import CylinderItem, EquipmentItem, Inspection

__all__ = ["INSPECTION_TABLES", "inspection_tables"]

#: Names of the tables, in order.
INSPECTION_TABLES = ("fix_first", "cylinders", "equipment", "soon_due", "summary")

_FAULT_HEADERS = ("status", "faults", "why", "mend")
_PLACE_HEADERS = ("area", "file", "row")


def inspection_tables(found: Inspection) -> tuple[Table, ...]:
    """Make all tables of an inspection."""
    return _fixes(found), _cylinders(found), _equipment(found), _soon(found), _summary(found)


def _fixes(found: Inspection) -> Table:
    headers = ("rank", "what", "faults", "mend", "rows", "back_L", "cover_gained_min", "patients_gained")
    rows = [
        (
            rank,
            fix.items,
            "; ".join(fault.kind for fault in fix.faults),
            fix.mend,
            "; ".join(f"{listed.file} row {listed.row}" for listed in fix.where),
            plain(fix.litres),
            plain(fix.minutes),
            fix.patients,
        )
        for rank, fix in enumerate(found.fixes, start=1)
    ]
    return Table("fix_first", headers, tuple(rows))


def _faults(item: CylinderItem | EquipmentItem) -> tuple[Cell, ...]:
    return (
        "not fit" if item.faults else "fit",
        "; ".join(fault.kind for fault in item.faults),
        "; ".join(fault.why for fault in item.faults),
        "; ".join(dict.fromkeys(fault.mend for fault in item.faults)),
    )


def _place(item: CylinderItem | EquipmentItem) -> tuple[Cell, ...]:
    return item.area, item.listed.file, item.listed.row


def _date(value: object) -> Cell:
    return None if value is None else str(value)


def _cylinders(found: Inspection) -> Table:
    headers = ("serial", "cylinder", "valve", "gauge_psi", "tested", "test_due", "usable_L", "usable_mended_L")
    rows = [
        (
            item.name,
            item.kind,
            item.valve or ("integral" if item.built_in else ""),
            plain(item.gauge_psi),
            _date(item.tested),
            _date(item.due),
            plain(item.litres),
            plain(item.litres_mended),
            *_faults(item),
            *_place(item),
        )
        for item in found.cylinders
    ]
    return Table("cylinders", (*headers, *_FAULT_HEADERS, *_PLACE_HEADERS), tuple(rows))


def _equipment(found: Inspection) -> Table:
    headers = ("item", "count", "outlets_each", "expiry")
    rows = [
        (
            item.name,
            item.count,
            item.outlets.outlets if item.outlets else None,
            _date(item.expiry),
            *_faults(item),
            *_place(item),
        )
        for item in found.equipment or ()
    ]
    return Table("equipment", (*headers, *_FAULT_HEADERS, *_PLACE_HEADERS), tuple(rows))


def _soon(found: Inspection) -> Table:
    rows = [(one.name, one.what, str(one.due), one.days, one.listed.file, one.listed.row) for one in found.soon]
    return Table("soon_due", ("what", "due_for", "due", "in_days", "file", "row"), tuple(rows))


def _summary(found: Inspection) -> Table:
    fit = sum(not item.faults for item in found.cylinders)
    rows: list[tuple[Cell, ...]] = [
        ("inspected on", str(found.on), ""),
        ("cylinders", len(found.cylinders), ""),
        ("cylinders fit for service", fit, ""),
        ("usable in fit cylinders", plain(found.litres_fit), "L"),
        ("usable in cylinders that are not fit", plain(found.litres_unfit), "L"),
        ("reference load", str(found.load), ""),
        ("flow of the load", plain(found.load.flow_lpm), "L/min"),
        ("patients of the load", found.load.count, ""),
        ("patients of the load with an outlet", found.cover.connected, ""),
        ("cover of the load", plain(found.cover.minutes), "min"),
        ("cover by litres alone", plain(found.cover.by_litres), "min"),
        ("cover with all mended", plain(found.cover_mended.minutes), "min"),
        ("findings", len(found.findings), ""),
        ("due soon", len(found.soon), ""),
    ]
    return Table("summary", ("what", "value", "unit"), tuple(rows))
