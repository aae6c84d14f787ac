"""One incident drawn from a scenario, with what caches bring to it, as a scenario file of its own.

Reading it gives the incident that was drawn: rosters are written out, what caches bring comes as deliveries, and
nothing is uncertain any more.  Inventories stay tables, since cylinders of similar content are pooled only there.
"""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from mci.cells import safe_text
from mci.scenario.brought_text import Brought, Said, delivery_lines, power_lines, said_in, staff_lines, told
from mci.scenario.yaml_text import write_comment, write_tree

if TYPE_CHECKING:
    from collections.abc import Iterator

    from mci.scenario.draft import Draft
    from mci.scenario.model import Scenario
    from mci.scenario.read import Files
    from mci.scenario.table import Table

__all__ = ["SECTIONS", "Origin", "plain_tree", "supply_lines", "write_variant"]

#: The sections that are written, in the order in which the language is told.
SECTIONS = (
    "incident",
    "areas",
    "patients",
    "supplies",
    "regulators",
    "devices",
    "staff",
    "power",
    "deliveries",
    "reserve",
    "residual",
    "in service minimum",
    "weights",
    "resupply",
    "network",
    "ladders",
    "regulator kinds",
    "machine kinds",
    "cylinder kinds",
    "exercise",
)
_INCIDENT = ("name", "summary", "start", "horizon", "inspection date", "pressures in")
_PATIENT = ("patient", "category", "area", "ladder", "arrive", "leave", "stay", "mechanism")
_CHANGE = ("category", "area", "ladder")


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a sampled incident comes from.

    Parameters
    ----------
    number
        Of the sample, from 1.
    seed
        With which samples were drawn.
    """

    number: int
    seed: int


def write_variant(
    draft: Draft,
    values: Mapping[str, str],
    brought: Sequence[Brought],
    name: str,
    summary: str,
    *,
    origin: Origin,
    file: str,
) -> Mapping[str, str]:
    """Write one incident as files that can be planned.

    Parameters
    ----------
    draft
        The scenario from which it was drawn.
    values
        Texts by path, as the sample has them.
    brought
        What caches bring.
    name, summary
        Of the incident, in its file.
    origin
        Which sample it is.
    file
        Name of the scenario file, such as ``incident-12.yaml``; inventories get names that begin alike.

    Returns
    -------
    Mapping
        Contents by file name, the scenario first; all belong in one folder.

    Raises
    ------
    InputError, UsageError
        As for :meth:`mci.scenario.draft.Draft.scenario`.
    """
    scenario, files = draft.scenario(values), draft.varied(values)
    said = said_in(scenario, files.tree)
    notes: dict[int, str] = {}
    tree = plain_tree(files, name, summary)
    tree["patients"] = list(_patients(files, notes))
    tree["supplies"], tables = supply_lines(files, file.rpartition(".")[0] or file)
    for section, lines in _additions(tree, brought, said, notes):
        tree[section] = [*tree.get(section, []), *lines]
    kept = {section: tree[section] for section in SECTIONS if tree.get(section)}
    text = _header(draft, values, brought, scenario, origin) + write_tree(kept, notes)
    return {file: text, **tables}


def plain_tree(files: Files, name: str, summary: str) -> dict[str, Any]:
    """Return the scenario without what its fields leave open, under its own name."""
    tree: dict[str, Any] = _filled(files.tree)
    told_of = {**tree["incident"], "name": " ".join(name.split()), "summary": " ".join(summary.split())}
    tree["incident"] = {key: told_of[key] for key in _INCIDENT if told_of.get(key)}
    return tree


def _filled(written: Any) -> Any:
    """Return a copy with texts as they are read, without keys that have no value."""
    if isinstance(written, dict):
        return {key.strip(): _filled(value) for key, value in written.items() if value is not None}
    return [_filled(item) for item in written] if isinstance(written, list) else written.strip()


def _patients(files: Files, notes: dict[int, str]) -> Iterator[dict[str, Any]]:
    """Yield the lines of patients, those of rosters written out; notes beside them are kept as comments."""
    for number, line in enumerate(files.tree.get("patients") or []):
        if "roster" not in line:
            yield _filled(line)
            continue
        listed: dict[str, dict[str, Any]] = {}
        for row in files.tables["patients", number].rows:
            if "change" in row:
                change = {"at": row["change"], **{key: row[key] for key in _CHANGE}}
                listed[row["patient"]].setdefault("then", []).append(change)
            else:
                patient = listed[row["patient"]] = {key: row[key] for key in _PATIENT if key in row}
                notes[id(patient)] = row.get("note", "")
        yield from listed.values()


def supply_lines(files: Files, stem: str) -> tuple[list[dict[str, Any]], dict[str, str]]:
    """Return the lines of supplies and the inventories that they name, by file name."""
    lines: list[dict[str, Any]] = []
    tables: dict[str, str] = {}
    for number, line in enumerate(files.tree.get("supplies") or []):
        if "inventory" in line:
            name = f"{stem}-cylinders{f'-{len(tables) + 1}' if tables else ''}.csv"
            tables[name] = _csv(files.tables["supplies", number])
            lines.append({"inventory": name})
        else:
            lines.append(_filled(line))
    return lines, tables


def _csv(table: Table) -> str:
    """Write the rows of a table so that no spreadsheet runs any of it."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\n")
    columns = [column for column in table.columns if column]
    writer.writerow(columns)
    writer.writerows([safe_text(row.get(column, "")) for column in columns] for row in table.rows)
    return stream.getvalue()


def _additions(
    tree: Mapping[str, Any], brought: Sequence[Brought], said: Said, notes: dict[int, str]
) -> Iterator[tuple[str, list[dict[str, Any]]]]:
    """Yield what comes with caches, by section."""
    taken = {line["delivery"] for line in tree.get("deliveries", [])}
    several = Counter(cache for cache, _ in {(each.cache, each.area) for each in brought})
    names = _Names(taken)
    deliveries = []
    for each in brought:
        lines = delivery_lines(each, said)
        if lines:
            name = names.make(each.cache if several[each.cache] == 1 else f"{each.cache}, to {each.area}")
            deliveries.append({"delivery": name, "at": each.when, "area": each.area, "brings": lines})
    yield "deliveries", deliveries
    yield "staff", staff_lines(brought, said, notes)
    yield "power", power_lines(brought, said, notes)


class _Names:
    """Names of deliveries, each used once and none too long."""

    def __init__(self, taken: set[str]) -> None:
        self._taken = set(taken)

    def make(self, wanted: str) -> str:
        base, number = wanted[:190], 1
        name = base
        while name in self._taken:
            number += 1
            name = f"{base} #{number}"
        self._taken.add(name)
        return name


def _header(
    draft: Draft, values: Mapping[str, str], brought: Sequence[Brought], scenario: Scenario, origin: Origin
) -> str:
    """Say in comments what the file is, what it assumes, and in what it differs from the scenario as written."""
    whose = draft.scenario().name
    text = write_comment(
        f"Sampled incident {origin.number} of '{whose}' ({draft.file}), drawn with seed {origin.seed}, for planning "
        "and exercises: its numbers were drawn at random from what that scenario says is uncertain, and nothing of it "
        "is a report of anything that happened."
    )
    text += "#\n" + write_comment(
        "What differs from the scenario as written (what comes stands under deliveries and staff):"
    )
    for path, value in values.items():
        number = draft.find(path)
        if number.text != value:
            text += write_comment(f"{number.path}: {value}, not {number.text}", "  - ", "    ")
    for each in brought:
        text += write_comment(told(each, scenario), "  - ", "    ")
    text += "#\n" + write_comment("Assumptions, all to be replaced by your own:")
    for line in _ASSUMPTIONS:
        text += write_comment(line, "  - ", "    ")
    return text


_ASSUMPTIONS = (
    "What a cache brings is there at its moment, complete and as full as it was packed; its people stay to the end.",
    "What else could be packed and what is uncertain is no part of this file; rosters are written out line by line.",
    "All else, with its assumptions, is as in the scenario named above, whose comments are not repeated here.",
)
