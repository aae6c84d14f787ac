"""An oxygen cache as it was counted, from a workbook or CSV files: cylinders one by one, and equipment.

A workbook has the sheets ``cylinders`` and ``equipment``; CSV files are told apart by their columns::

    cylinders   id, cylinder, pressure, test date; where they matter: star, interval, valve, condition,
                temperature, residual, gas model, area, note
    equipment   item, count; where they matter: expiry, condition, area, note

The words are those of the inventory of a scenario, so that such a file can be inspected as it is.  What cannot be read
on the thing itself is left empty or said (``unreadable``): that is for the inspection to find, and no mistake.
"""

from __future__ import annotations

import dataclasses
import datetime
import hashlib
import pathlib
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import Field, PlainValidator, ValidationInfo, WrapValidator

from mci.catalogue.find import UnknownEntryError, find_device, find_outlet_set
from mci.catalogue.load import load_catalogue
from mci.errors import InputError, Mistake
from mci.scenario.fields import CylinderName, Date, Duration, GasModelName, Outlets, Pressure, Temperature, Text, YesNo
from mci.scenario.known import Known, Wrong, nearest
from mci.scenario.read import check_rows
from mci.scenario.table import Table, read_table, sheet_names
from mci.scenario.written import Written, keys_of

__all__ = ["CylinderRow", "EquipmentRow", "Inventory", "Listed", "read_inventory"]

_UNREADABLE = ("unreadable", "illegible", "not readable", "unknown", "not known", "?")
_LONGEST_INTERVAL = 20  # years
_BUILT_IN = "integral"  # the valve of a cylinder with outlets of its own


def _if_readable(value: Any, read: Any) -> Any:
    """Read a value, unless it says that the thing cannot be read: then there is none."""
    said = isinstance(value, str) and value.strip().lower() in (*_UNREADABLE, "not asked")
    return None if said else read(value)


def _reader(field: Any) -> Callable[[Any], Any]:
    """Return what reads a kind of value, so that a text that stands for something else is told as one mistake."""
    read: Callable[[Any], Any] = field.__metadata__[0].func
    return read


def _expiry(value: Any) -> Any:
    read = _if_readable(value, _reader(Date))
    return "unreadable" if read is None else read


def _gauge(value: Any) -> Any:
    full = isinstance(value, str) and value.strip().lower() == "full"
    return "full" if full else _if_readable(value, _reader(Pressure))


def _years(value: Any) -> int:
    match = re.fullmatch(r"(\d{1,2})\s*(y|yr|yrs|year|years)?", str(value).strip())
    if match is None or not 1 <= int(match[1]) <= _LONGEST_INTERVAL:
        raise Wrong(f"must be whole years from 1 to {_LONGEST_INTERVAL}", "Write 5 or 10 years, as it is stamped.")
    return int(match[1])


def _valve(value: Any) -> str:
    text = " ".join(str(value).split())
    known = _valves()
    if text.lower() not in known:
        raise Wrong("is no valve that the catalogue knows", nearest(text, known.values()))
    return known[text.lower()]


def _valves() -> dict[str, str]:
    """Return the valves by their names in small letters."""
    catalogue = load_catalogue()
    seen = {c.valve for c in catalogue.cylinders.values()}.union(*(o.fits for o in catalogue.outlet_sets.values()))
    return {valve.lower(): valve for valve in sorted((seen - {""}) | {_BUILT_IN})}


def _item(value: Any, info: ValidationInfo) -> str:
    """Return the key of a regulator, manifold or delivery device."""
    text = str(value).strip()
    catalogue = info.context.catalogue if isinstance(info.context, Known) else load_catalogue()
    sets = [o.key for o in catalogue.outlet_sets.values() if o.fits]
    try:
        found = find_outlet_set(text, catalogue=catalogue).key
        if found not in sets:
            raise Wrong("is no regulator or manifold: it fits no cylinder", nearest(text, sets))
        return found
    except UnknownEntryError:
        pass
    try:
        return find_device(text, catalogue=catalogue).key
    except UnknownEntryError:
        hint = nearest(text, [*sets, *catalogue.devices], most=3)
        raise Wrong("there is no regulator, manifold or device of this name", hint) from None


_NOTE = "Anything; not used."
_CONDITION = "What is wrong with it, such as damaged or out of service; empty, ok or in service where nothing is."


class CylinderRow(Written):
    """One cylinder."""

    id: Annotated[Text | None, WrapValidator(_if_readable), Field(description="Serial number on the cylinder.")] = None
    cylinder: Annotated[
        CylinderName | None,
        WrapValidator(_if_readable),
        Field(description="Kind of cylinder: region, letter, variant, such as US E aluminium."),
    ] = None
    pressure: Annotated[
        float | Literal["full"] | None, PlainValidator(_gauge), Field(description="Gauge, such as 2000 psi.")
    ] = None
    test_date: Annotated[
        Date | None,
        WrapValidator(_if_readable),
        Field(description="Last hydrostatic test as stamped, such as 2024-05 or 2024-05-01."),
    ] = None
    star: Annotated[YesNo, Field(description="'yes' where a star after the test date allows 10 years.")] = False
    interval: Annotated[
        int | None, PlainValidator(_years), Field(description="Years between tests where neither 5 nor a star says it.")
    ] = None
    valve: Annotated[
        str | None, PlainValidator(_valve), Field(description="Valve that is on it; without it as in the catalogue.")
    ] = None
    condition: Annotated[Text | None, Field(description=_CONDITION)] = None
    temperature: Annotated[Temperature | None, Field(description="Temperature when the gauge was read.")] = None
    residual: Annotated[Pressure | None, Field(description="Pressure at which it is taken out of use.")] = None
    gas_model: Annotated[GasModelName | None, Field(description="How litres follow from the gauge.")] = None
    change: Annotated[Duration | None, Field(description="Time to change it; not used.")] = None
    area: Annotated[Text | None, Field(description="Where it is, such as shelf 2.")] = None
    note: Annotated[Text | None, Field(description=_NOTE)] = None


class EquipmentRow(Written):
    """Regulators, manifolds or delivery devices of one kind, expiry date and condition."""

    item: Annotated[str, PlainValidator(_item), Field(description="Regulator, manifold or delivery device.")]
    count: Annotated[Outlets, Field(description="Number of them.")]
    expiry: Annotated[
        datetime.date | Literal["unreadable"] | None,
        PlainValidator(_expiry),
        Field(description="Last day, such as 2027-03 or 2027-03-31; empty where there is none."),
    ] = None
    condition: Annotated[Text | None, Field(description=_CONDITION)] = None
    area: Annotated[Text | None, Field(description="Where they are.")] = None
    note: Annotated[Text | None, Field(description=_NOTE)] = None


@dataclass(frozen=True, slots=True)
class Listed:
    """Where a row stands: the file (and sheet), and its number as a spreadsheet program counts."""

    file: str
    row: int


@dataclass(frozen=True, slots=True)
class Inventory:
    """A cache as counted.

    Parameters
    ----------
    name
        Of the first file, without its ending.
    files
        Names of the files.
    cylinders, equipment
        Rows with where they stand; ``equipment`` is ``None`` where no file or sheet lists any, so that it is not known.
    metric
        Whether most pressures are written in other units than psi.
    sha256
        Over the contents of all files.
    """

    name: str
    files: tuple[str, ...]
    cylinders: tuple[tuple[Listed, CylinderRow], ...]
    equipment: tuple[tuple[Listed, EquipmentRow], ...] | None
    metric: bool
    sha256: str


#: What a file must have, by the column that tells which of the two it is.
_NEEDED = {"cylinder": ("id", "cylinder", "pressure", "test date"), "item": ("item", "count")}
_SHAPES: Mapping[str, type[Written]] = {"cylinder": CylinderRow, "item": EquipmentRow}
_SHEETS = {"cylinders": "cylinder", "equipment": "item"}
#: Words that people write at the head of a column, and what it is called here.
_MEANT = {
    "serial": "id", "serial number": "id", "serial no": "id", "number": "id", "size": "cylinder", "kind": "cylinder",
    "type": "cylinder", "gauge": "pressure", "psi": "pressure", "bar": "pressure", "hydro": "test date",
    "hydro date": "test date", "hydrotest": "test date", "hydrostatic test": "test date", "tested": "test date",
    "expires": "expiry", "expiry date": "expiry", "expiration": "expiry", "expiration date": "expiry",
    "use by": "expiry", "quantity": "count", "qty": "count", "location": "area", "place": "area", "device": "item",
    "regulator": "item", "equipment": "item", "notes": "note", "status": "condition",
}  # fmt: skip


def read_inventory(paths: Sequence[pathlib.Path]) -> Inventory:
    """Read a cache from one workbook, or from CSV files.

    Raises
    ------
    InputError
        With all mistakes of all files.
    """
    mistakes: list[Mistake] = []
    tables: list[tuple[str, Table]] = []
    for path in paths:
        try:
            tables += _tables(path)
        except InputError as error:
            mistakes += error.mistakes
    known = Known({}, load_catalogue(), None)
    rows: dict[str, list[Any]] = {"cylinder": [], "item": []}
    for kind, table in tables:
        right = _right_columns(table, kind, mistakes)
        found = check_rows(right, _SHAPES[kind], known, mistakes)
        rows[kind] += [(Listed(table.file, line), row) for line, row in zip(right.lines, found, strict=False)]
    if not mistakes and not any(kind == "cylinder" for kind, _ in tables):
        fix = "Add a CSV file, or a sheet 'cylinders', with the columns id, cylinder, pressure, test date."
        mistakes.append(Mistake("lists no cylinders", fix, ", ".join(path.name for path in paths)))
    if mistakes:
        raise InputError(mistakes)
    return Inventory(
        name=paths[0].stem,
        files=tuple(dict.fromkeys(path.name for path in paths)),
        cylinders=tuple(rows["cylinder"]),
        equipment=tuple(rows["item"]) if any(kind == "item" for kind, _ in tables) else None,
        metric=_is_metric(table for _, table in tables),
        sha256=_hash(table for _, table in tables),
    )


def _tables(path: pathlib.Path) -> list[tuple[str, Table]]:
    """Return the tables of a file, each with the column that tells what it lists."""
    name = path.name
    if name.lower().endswith(".csv"):
        table = read_table(path, name)
        return [(_kind(table), table)]
    if not name.lower().endswith(".xlsx"):
        raise InputError([Mistake("is neither .xlsx nor .csv", "Save it as one of them.", name)])
    sheets = {sheet.strip().lower(): sheet for sheet in sheet_names(path, name)}
    found = [(kind, sheets[sheet]) for sheet, kind in _SHEETS.items() if sheet in sheets]
    if not found:
        rule, fix = "has neither a sheet 'cylinders' nor 'equipment'", f"Sheets: {', '.join(sheets.values())}."
        raise InputError([Mistake(rule, fix, name)])
    read = [(kind, sheet, read_table(path, name, sheet)) for kind, sheet in found]
    return [(kind, dataclasses.replace(table, file=f"{name}, sheet {sheet}")) for kind, sheet, table in read]


def _kind(table: Table) -> str:
    """Return whether a file lists cylinders or equipment: by whose columns it has more of."""
    columns = {_MEANT.get(column, column) for column in table.columns}
    own = {kind: len(columns & set(needed)) for kind, needed in _NEEDED.items()}
    if not any(own.values()):
        both = " or ".join(f"{kind}s ({', '.join(needed)})" for kind, needed in _NEEDED.items())
        raise InputError([Mistake("has no column of an inventory", f"The first row names {both}.", table.file, 1)])
    return max(own, key=lambda kind: own[kind])


def _right_columns(table: Table, kind: str, mistakes: list[Mistake]) -> Table:
    """Return a table with the columns that it may have; note each other one once, and those that are missing."""
    allowed = keys_of(_SHAPES[kind])
    wrong = [column for column in table.columns if column and column not in allowed]
    hints = {column: f"Did you mean '{_MEANT[column]}'?" if _MEANT.get(column) in allowed else
             nearest(column, allowed) for column in wrong}  # fmt: skip
    for column in wrong:
        place = table.columns.index(column) + 1
        mistakes.append(Mistake("there is no column of this name", hints[column], table.file, 1, place, "", column))
    meant = [hint for hint in hints.values() if hint.startswith("Did")]
    for column in _NEEDED[kind]:
        if column not in table.columns and not any(f"'{column}'" in hint for hint in meant):
            mistakes.append(Mistake(f"column '{column}' is missing", allowed[column], table.file, 1))
    rows = [{column: cell for column, cell in row.items() if column in allowed} for row in table.rows]
    return dataclasses.replace(table, rows=rows)


def _is_metric(tables: Iterable[Table]) -> bool:
    written = [row["pressure"].lower() for table in tables for row in table.rows if "pressure" in row]
    other = sum(bool(re.search(r"\d\s*(bar|[km]pa|kg)", text)) for text in written)
    return other > sum("psi" in text for text in written)


def _hash(tables: Iterable[Table]) -> str:
    whole = hashlib.sha256()
    for content in dict.fromkeys(table.content for table in tables):
        whole.update(hashlib.sha256(content).digest())
    return whole.hexdigest()
