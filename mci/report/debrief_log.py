"""The log in words: how it was read, line by line, and what its orders come to; nothing is said twice."""

from __future__ import annotations

import math
import re
from collections import Counter
from typing import TYPE_CHECKING

from mci.drills.log import NoteKind
from mci.drills.log_faults import Fault, fault_of, line_of
from mci.plan.marks import find_marks
from mci.report.debrief_page import FaultGroup, FindingLine, NoteLine
from mci.report.debrief_words import Discretion
from mci.report.study_words import plural
from mci.report.words import join_words, moment

if TYPE_CHECKING:
    from collections.abc import Iterator

    from mci.drills.debriefed import Debrief
    from mci.drills.log import Note
    from mci.plan.marks import Marks

__all__ = ["fault_groups", "log_sum", "note_lines"]

_KINDS = {
    NoteKind.CORRECTED: ("corrected", "corrected"),
    NoteKind.LEFT_OUT: ("left out", "left out"),
    NoteKind.GAP: ("gap", "gaps"),
    NoteKind.CONTRADICTION: ("contradiction", "contradictions"),
}
#: What findings of a kind are called, in the order in which they are told.
_TITLES = {
    Fault.WRONG: "What went wrong",
    Fault.IMPOSSIBLE: "What cannot have been as written",
    Fault.OPEN: "What the log leaves open",
}
_MEANINGS = {
    Fault.WRONG: (
        "These can have happened as they are written: oxygen came to an end or a limit was passed, and nobody reacted."
    ),
    Fault.IMPOSSIBLE: (
        "Each order was carried out again by physics: litres, outlets, devices and hands. These cannot have been so; "
        "they were carried out as far as they make sense."
    ),
    Fault.OPEN: (
        "A line, a name or a reason is missing, so that this cannot be judged, or was taken as the incident has it."
    ),
}
_NONE_IMPOSSIBLE = "Nothing: every order can have been carried out as it is written."
#: What each law of the judge is about, for those who do not know its short name.
_LAWS = {
    "content": "cylinder empty",
    "range": "flow of a device",
    "in service": "gauge too low to begin",
    "known": "names",
    "present": "patient there",
    "fits": "regulator fits",
    "holds": "one regulator, one cylinder",
    "window": "thing there",
    "hands": "hands and time",
    "silent": "reason for less",
    "outlets": "outlets and flow",
    "devices": "devices counted",
}


def log_sum(debrief: Debrief) -> str:
    """Count lines, and remarks on how they were read."""
    log = debrief.log
    lost = f", {log.left_out} of them not used (what was done then may count as lost)" if log.left_out else ""
    read = f"{plural(log.read, 'line')} read{lost}"
    counts = Counter(note.kind for note in _own_notes(debrief))
    told = [f"{counts[kind]} {words[counts[kind] != 1]}" for kind, words in _KINDS.items() if counts[kind]]
    notes = f"remarks: {join_words(told)}" if told else "nothing had to be corrected or left open"
    words = len(log.remarks)
    told_only = f" Not shown here: {plural(words, 'line')} of words only." if words else ""
    return f"{read}; {notes}.{told_only}"


def note_lines(debrief: Debrief) -> tuple[NoteLine, ...]:
    """Put remarks on how the log was read into words, in its order; what the judge found stands by itself."""
    discretion, start = Discretion(debrief), debrief.scenario.start
    return tuple(
        NoteLine(
            line=str(note.line) if note.line else "–",
            when="" if math.isnan(note.minute) else moment(note.minute, start),
            kind=str(note.kind),
            column=column,
            written=written,
            read=read,
            why=why,
        )
        for note in _own_notes(debrief)
        for column, written, read, why in [discretion.note(note)]
    )


def _own_notes(debrief: Debrief) -> Iterator[Note]:
    """Yield the remarks that are not findings of the judge, which are told as such."""
    marks, lines = find_marks(debrief.scenario), debrief.log.lines
    found = {(line_of(each, lines), _marked(each.reason.rstrip("."), marks)) for each in debrief.team.verdict.findings}
    return (note for note in debrief.log.notes if (note.line, _marked(note.why.rstrip("."), marks)) not in found)


def fault_groups(debrief: Debrief) -> tuple[FaultGroup, ...]:
    """Put what the judge found into words by what it means, with the line of the log and things by their marks."""
    orders = debrief.team.plan.orders
    found: dict[Fault, list[FindingLine]] = {fault: [] for fault in Fault}
    discretion, marks = Discretion(debrief), find_marks(debrief.scenario)
    for finding in debrief.team.verdict.findings:
        line = line_of(finding, debrief.log.lines)
        found[fault_of(finding, orders)].append(
            FindingLine(
                line=str(line) if line else "–",
                when=moment(finding.minute, debrief.scenario.start),
                law=_LAWS.get(finding.law, finding.law),
                reason=discretion.hide(_marked(finding.reason, marks)).rstrip(".") + ".",
            )
        )
    return tuple(
        FaultGroup(title, _MEANINGS[fault] if found[fault] else _NONE_IMPOSSIBLE, tuple(found[fault]))
        for fault, title in _TITLES.items()
        if found[fault] or fault is Fault.IMPOSSIBLE
    )


def _marked(text: str, marks: Marks) -> str:
    """Write marks in place of the names of things."""
    names = sorted(marks.by_name, key=lambda name: (-len(name), name))
    if not names:
        return text
    return re.sub(rf"(?<!\w)({'|'.join(map(re.escape, names))})(?!\w)", lambda found: marks.of(found[1]), text)
