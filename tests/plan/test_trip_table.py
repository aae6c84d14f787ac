"""Trips written and read back."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
import xlsxwriter
from hypothesis import given
from hypothesis import strategies as st
from small_network import stop, trip

from mci.errors import InputError
from mci.plan.trip_table import TRIP_HEADERS, read_trips, read_trips_with_lines, trip_rows, trips_text
from mci.plan.trips import Cargo, Stop, Trip

NAMES = st.text(st.characters(exclude_categories=["Cs", "Cc", "Z"], exclude_characters=">"), min_size=1, max_size=8)
MINUTES = st.integers(0, 9_999_999_999).map(lambda digits: digits / 100_000)
CARGO = st.lists(st.builds(Cargo, NAMES, st.integers(1, 500)), max_size=2).map(tuple)
STOPS = st.builds(Stop, NAMES, MINUTES, MINUTES, CARGO, CARGO, st.lists(NAMES, max_size=3).map(tuple))
TRIPS = st.lists(
    st.builds(Trip, NAMES, NAMES, st.lists(STOPS, min_size=2, max_size=4).map(tuple)),
    min_size=1,
    max_size=4,
    unique_by=lambda each: each.key,
)


@given(TRIPS)
def test_what_is_written_is_read(tmp_path_factory: pytest.TempPathFactory, trips: list[Trip]) -> None:
    """Any trips come back to ten digits, also names that a spreadsheet would take for a formula, with their lines."""
    file = tmp_path_factory.mktemp("trips") / "trips.csv"
    file.write_text(trips_text(trips, 875), encoding="utf-8", newline="")
    read, lines = read_trips_with_lines(file)
    assert list(read) == trips
    assert lines == tuple(range(2, 2 + len(list(trip_rows(trips)))))


@given(TRIPS, st.randoms(use_true_random=False))
def test_rows_may_be_in_any_order(
    tmp_path_factory: pytest.TempPathFactory, trips: list[Trip], rng: random.Random
) -> None:
    """Sorted by another column, the stops of each trip are the same; what is done at one stop may change its order."""
    head, *rows = trips_text(trips, None).splitlines()
    rng.shuffle(rows)
    file = tmp_path_factory.mktemp("trips") / "trips.csv"
    file.write_text("\n".join([head, *rows]), encoding="utf-8", newline="")
    read, lines = read_trips_with_lines(file)
    assert sorted(map(_loose, read), key=repr) == sorted(map(_loose, trips), key=repr)
    assert [rows[line - 2] for line in lines] == trips_text(read, None).splitlines()[1:]


def _loose(each: Trip) -> tuple[object, ...]:
    stops = [
        (s.place, s.arrive, s.depart, sorted(map(repr, s.unload)), sorted(map(repr, s.load)), s.via) for s in each.stops
    ]
    return (each.key, each.vehicle, stops)


MADE = (
    trip(
        "1",
        "truck",
        stop("depot", 0, 3.5, "ring west", "ring east", load="6 small full, 2 reg"),
        stop("a", 18.5, 23.5, "bridge", unload="6 small full, 2 reg", load="1 small empty"),
        stop("depot", 33.5, 33.5),
    ),
)


def test_the_table_says_what_a_driver_needs() -> None:
    """A row for each thing at each stop, clock beside minutes, the way as roads in their order."""
    text = trips_text(MADE, 10 * 60)
    assert text.splitlines() == [
        ",".join(TRIP_HEADERS),
        "1,truck,1,depot,0,10:00,3.5,10:03,load,small full,6,ring west > ring east",
        "1,truck,1,depot,0,10:00,3.5,10:03,load,reg,2,ring west > ring east",
        "1,truck,2,a,18.5,10:18,23.5,10:23,unload,small full,6,bridge",
        "1,truck,2,a,18.5,10:18,23.5,10:23,unload,reg,2,bridge",
        "1,truck,2,a,18.5,10:18,23.5,10:23,load,small empty,1,bridge",
        "1,truck,3,depot,33.5,10:33,33.5,10:33,,,,",
    ]


@pytest.mark.parametrize("separator", [";", "\t"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_what_a_spreadsheet_saves_is_read(tmp_path: Path, separator: str, mark: bytes) -> None:
    """Semicolons or tabs, a decimal comma and a byte-order mark: the same trips."""
    file = tmp_path / "trips.csv"
    file.write_bytes(mark + trips_text(MADE, None).replace(",", separator).replace(".", ",").encode())
    assert read_trips(file) == MADE


def test_a_sheet_of_a_workbook_is_read(tmp_path: Path) -> None:
    """The sheet ``trips``, numbers as numbers, among others."""
    file = tmp_path / "plan.xlsx"
    with xlsxwriter.Workbook(file, {"strings_to_numbers": True}) as book:
        book.add_worksheet("orders")
        sheet = book.add_worksheet("trips")
        for number, line in enumerate(trips_text(MADE, None).splitlines()):
            sheet.write_row(number, 0, line.split(","))
    assert read_trips(file) == MADE


HEAD = ",".join(TRIP_HEADERS)


def _mistakes(tmp_path: Path, *rows: str) -> list[tuple[int, str, str]]:
    file = tmp_path / "trips.csv"
    file.write_text("\n".join([HEAD, *rows]), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_trips(file)
    return [(each.line, each.path, each.rule) for each in caught.value.mistakes]


def test_all_mistakes_of_a_file_are_told_with_their_lines(tmp_path: Path) -> None:
    """Whatever no row can mean is reported together."""
    assert _mistakes(
        tmp_path,
        ",truck,1,depot,0,,3,,load,small full,6,bridge",
        "1,,one,depot,soon,,-3,,fetch,small full,6,bridge",
        "1,truck,1,depot,0,,3,,load,,2.5,bridge",
        "1,truck,1,depot,0,,3,,,small full,,bridge",
    ) == [
        (2, "trip", "is missing"),
        (3, "action", "no such action"),
        (3, "arrive_min", "not a number"),
        (3, "depart_min", "not a number"),
        (3, "stop", "not a whole number above 0"),
        (3, "vehicle", "is missing"),
        (4, "item", "is missing"),
        (4, "quantity", "not a whole number above 0"),
        (5, "action", "is missing"),
    ]


def test_rows_of_one_stop_must_agree(tmp_path: Path) -> None:
    """Vehicle, place, moments and way are those of the stop; no stop may be left out."""
    assert _mistakes(
        tmp_path,
        "1,truck,1,depot,0,,3,,load,small full,6,bridge",
        "1,van,1,yard,1,,4,,load,reg,6,lane",
        "1,truck,3,a,13,,15,,unload,small full,6,",
        "2,truck,1,depot,0,,3,,load,small full,6,",
    ) == [
        (3, "arrive_min", "another arrive_min than on row 2 of the same stop"),
        (3, "depart_min", "another depart_min than on row 2 of the same stop"),
        (3, "place", "another place than on row 2 of the same stop"),
        (3, "vehicle", "another vehicle than on row 2 of the same trip"),
        (3, "via", "another via than on row 2 of the same stop"),
        (4, "stop", "stop 2 of 1 is missing"),
        (5, "stop", "2 has one stop only"),
    ]


@pytest.mark.parametrize("content", [b"", b"trip,stop\n", b"\xff\xfe\x00", f"{HEAD}\n".encode()])
def test_a_file_that_holds_no_trips_is_refused(tmp_path: Path, content: bytes) -> None:
    """Empty, without the columns or any row, or not text: an error that says what is needed."""
    file = tmp_path / "trips.csv"
    file.write_bytes(content)
    with pytest.raises(InputError):
        read_trips(file)
