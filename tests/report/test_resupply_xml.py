"""The request as an EDXL-RM message: by its schema, escape-safe, the same for the same plan."""

from __future__ import annotations

import dataclasses
import datetime
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
import xmlschema
from made_resupply import crowded_resupply, made_resupply

from mci.errors import UsageError
from mci.replay.verdict import Finding
from mci.report.request import request_lines
from mci.report.request_xml import MESSAGE, STANDARD, request_xml, start_of

SCHEMA = xmlschema.XMLSchema(Path(__file__).parent / "data" / "request-resource.xsd")
SENT = datetime.datetime.fromisoformat("2026-03-02T08:05:00+01:00")
NAMES = {"": MESSAGE, "rm": STANDARD}


@pytest.mark.parametrize("make", [made_resupply, crowded_resupply])
def test_message_is_valid_by_the_schema(make: type) -> None:
    """The message has the elements of the standard's names, in their order, with their types."""
    SCHEMA.validate(request_xml(make(), SENT))


def test_schema_refuses_what_the_standard_does() -> None:
    """An estimated arrival is no schedule type of this message, and a message without a contact is none."""
    text = request_xml(made_resupply(), SENT)
    assert not SCHEMA.is_valid(text.replace("RequestedArrival", "EstimatedArrival"))
    assert not SCHEMA.is_valid(text.replace("Requester", "Somebody"))


def test_every_line_is_one_resource() -> None:
    """Numbers, quantities and places of the message are those of the request."""
    root = ET.fromstring(request_xml(made_resupply(), SENT))  # noqa: S314 - our own text
    found = [
        (
            part.findtext("ResourceInfoElementID", namespaces=NAMES),
            part.findtext(".//rm:Amount", namespaces=NAMES),
            part.findtext(".//rm:LocationDescription", namespaces=NAMES),
        )
        for part in root.findall("ResourceInformation", NAMES)
    ]
    assert found == [(f"{line.number}", f"{line.quantity}", line.location) for line in request_lines(made_resupply())]


def test_times_are_those_of_the_request_on_the_day_of_the_message() -> None:
    """T+0 is 07:50 on the day of the message; an arrival is T+0 and its minutes, with the same offset from UTC."""
    root = ET.fromstring(request_xml(made_resupply(), SENT))  # noqa: S314 - our own text
    times = [datetime.datetime.fromisoformat(e.text or "") for e in root.iterfind(".//DateTime", NAMES)]
    start = datetime.datetime.fromisoformat("2026-03-02T07:50:00+01:00")
    assert start_of(made_resupply(), SENT) == start
    assert [(time - start).total_seconds() / 60 for time in times] == [
        line.requested for line in request_lines(made_resupply())
    ]


def test_without_a_clock_the_message_is_sent_at_the_start() -> None:
    """An incident without clock time begins when the message is sent."""
    found = made_resupply()
    timeless = dataclasses.replace(found, scenario=dataclasses.replace(found.scenario, start=None))
    assert start_of(timeless, SENT) == SENT


def test_same_plan_same_message_and_other_plan_other_name() -> None:
    """The name of the message follows from what it says."""
    found = made_resupply()
    other = dataclasses.replace(
        found, schedule=dataclasses.replace(found.schedule, departures=found.schedule.departures[1:])
    )
    first, second = request_xml(found, SENT), request_xml(other, SENT)
    assert request_xml(made_resupply(), SENT) == first
    names = [ET.fromstring(text).findtext("MessageID", namespaces=NAMES) for text in (first, second)]  # noqa: S314
    assert names[0] != names[1]


def test_names_are_escaped() -> None:
    """Markup and control signs in a name stay text, and the message stays valid."""
    found = made_resupply()
    nasty = dataclasses.replace(found, scenario=dataclasses.replace(found.scenario, name='<a & "b">\x00\n'))
    text = request_xml(nasty, SENT)
    SCHEMA.validate(text)
    assert "&lt;a &amp;" in text


def test_nothing_to_ask_for_is_refused() -> None:
    """Impossible trips ask for nothing."""
    impossible = dataclasses.replace(made_resupply(), findings=(Finding("load", 1, 20.0, "too heavy"),))
    with pytest.raises(UsageError, match="nothing to ask for"):
        request_xml(impossible, SENT)
