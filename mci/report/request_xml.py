"""The resource request as an OASIS EDXL-RM 1.0 ``RequestResource`` message; it is written, never sent.

Names and their order: OASIS Standard EDXL-RM 1.0 of 1 November 2008
(docs.oasis-open.org/emergency/edxl-rm/v1.0/os/EDXL-RM-v1.0-OS.html).  Parts of the message are in the namespace of
messages, what common types hold in that of the standard.  A measured quantity is preferred to a text.  Of the times
only the requested arrival is written: an estimated arrival is none of the schedule types of this message.
"""

from __future__ import annotations

import datetime
import hashlib
import xml.etree.ElementTree as ET
from typing import TYPE_CHECKING

from mci.errors import UsageError
from mci.report.cautions import AID_STATEMENT
from mci.report.request import request_lines

if TYPE_CHECKING:
    from mci.pipeline_resupply import ResupplyRun
    from mci.report.request import RequestLine

__all__ = ["MESSAGE", "STANDARD", "request_xml", "start_of"]

#: Namespaces of the standard and of its messages.
STANDARD = "urn:oasis:names:tc:emergency:EDXL:RM:1.0"
MESSAGE = f"{STANDARD}:msg"
_TO_FILL_IN = "to be filled in by the requester"


def start_of(found: ResupplyRun, sent: datetime.datetime) -> datetime.datetime:
    """Return the date and time of T+0: its clock time on the day of ``sent``, or ``sent`` where it has none."""
    if found.scenario.start is None:
        return sent
    return sent.replace(hour=0, minute=0, second=0, microsecond=0) + datetime.timedelta(minutes=found.scenario.start)


def request_xml(found: ResupplyRun, sent: datetime.datetime) -> str:
    """Write the request as XML, one ``ResourceInformation`` per line; the same bytes for the same run and date.

    Parameters
    ----------
    found
        The resupply plan.
    sent
        Date and time of the message; without an offset from UTC they are local.  T+0 is taken to be on that day.

    Raises
    ------
    UsageError
        There is nothing to ask for.
    """
    lines = request_lines(found)
    if not lines:
        raise UsageError("there is nothing to ask for: the trips bring nothing from depots, suppliers or fill stations")
    ET.register_namespace("", MESSAGE)
    ET.register_namespace("rm", STANDARD)
    root = ET.Element(f"{{{MESSAGE}}}RequestResource")
    name = _message_id(found, lines, sent)
    _add(root, "MessageID", name)
    _add(root, "SentDateTime", sent.isoformat(timespec="seconds"))
    _add(root, "MessageContentType", "RequestResource")
    _add(root, "MessageDescription", f"Oxygen resupply, proposed. {AID_STATEMENT}")
    _add(root, "OriginatingMessageID", name)
    incident = _add(root, "IncidentInformation")
    _add(incident, "IncidentID", found.scenario.sha256[:16], STANDARD)
    _add(incident, "IncidentDescription", found.scenario.name, STANDARD)
    contact = _add(root, "ContactInformation")
    _add(contact, "ContactDescription", _TO_FILL_IN, STANDARD)
    _add(contact, "ContactRole", "Requester", STANDARD)
    for line in lines:
        _resource(root, line, start_of(found, sent))
    ET.indent(root)
    return ET.tostring(root, encoding="unicode", xml_declaration=False).join(
        ('<?xml version="1.0" encoding="UTF-8"?>\n', "\n")
    )


def _add(parent: ET.Element, name: str, text: str = "", space: str = MESSAGE) -> ET.Element:
    element = ET.SubElement(parent, f"{{{space}}}{name}")
    if text:
        element.text = "".join(sign for sign in text if sign.isprintable())  # no control signs: XML has none
    return element


def _message_id(found: ResupplyRun, lines: tuple[RequestLine, ...], sent: datetime.datetime) -> str:
    """Derive the name of the message from what it says, so that another plan has another one."""
    said = "\n".join((found.scenario.sha256, sent.isoformat(), *map(repr, lines)))
    return f"mci-{hashlib.sha256(said.encode()).hexdigest()[:32]}"


def _resource(root: ET.Element, line: RequestLine, start: datetime.datetime) -> None:
    information = _add(root, "ResourceInformation")
    _add(information, "ResourceInfoElementID", f"{line.number}")
    resource = _add(information, "Resource")
    _add(resource, "Name", line.type)
    _add(resource, "Keyword", line.kind)
    _add(resource, "Description", line.description)
    if line.substitutes:
        _add(resource, "SpecialRequirements", f"Suitable substitutes: {line.substitutes}")
    assignment = _add(information, "AssignmentInformation")
    measured = _add(_add(assignment, "Quantity"), "MeasuredQuantity", space=STANDARD)
    _add(measured, "Amount", f"{line.quantity}", STANDARD)
    _add(measured, "UnitOfMeasure", line.kind, STANDARD)
    _add(assignment, "AnticipatedFunction", f"Priority {line.priority}; suggested source: {line.source}")
    schedule = _add(information, "ScheduleInformation")
    _add(schedule, "ScheduleType", "RequestedArrival")
    arrival = start + datetime.timedelta(minutes=int(line.requested + 1e-9))  # early by part of a minute, never late
    _add(schedule, "DateTime", arrival.isoformat(timespec="seconds"))
    location = _add(schedule, "Location")
    _add(location, "LocationDescription", line.location, STANDARD)
