"""The inspection as a command carries it out: what is printed, what is written, and what is refused."""

from __future__ import annotations

import datetime
import json
from pathlib import Path

import pytest
from made_inventory import TRAILER, trailer, write_cache

from mci.cli._inspect import inspect_inventory
from mci.errors import InputError, UsageError
from mci.report.target import INSPECTION_NAMES

RIGHT = {"id": "1", "cylinder": "US E", "pressure": "full", "test date": "2025-01"}
ON = "2026-05-01"


@pytest.mark.parametrize("width", [80, 100, 120])
def test_words_keep_to_the_terminal(width: int, capsys, monkeypatch) -> None:
    """Every finding is told, nothing runs over the edge, and sections come in their order."""
    monkeypatch.setenv("COLUMNS", str(width))
    inspect_inventory([TRAILER], on=ON)
    text = capsys.readouterr().out
    assert max(len(line) for line in text.splitlines()) <= width
    plain = " ".join(text.split())
    for item, fault in trailer().findings:
        assert fault.why in plain
        assert item.name in plain
    heads = [
        "What to mend first",
        "Not fit for service: 10",
        "Due within 90 days",
        "Cylinders that are fit for service: 16",
    ]
    assert [plain.index(head) for head in heads] == sorted(plain.index(head) for head in heads)
    assert "it decides no patient's care" in plain


def test_cache_that_is_right_says_so(tmp_path: Path, capsys) -> None:
    """Nothing to mend; without equipment it is told that outlets were not judged; today is said to be today."""
    found = inspect_inventory(write_cache(tmp_path, [{**RIGHT, "test date": str(datetime.date.today())}], None))
    text = " ".join(capsys.readouterr().out.split())
    assert found.findings == ()
    assert "Nothing: all that is listed is fit for service." in text
    assert "No equipment was listed" in text
    assert "today, as no other day was given" in text


def test_what_is_asked_is_carried_out(capsys) -> None:
    """Load, limits, days and units."""
    found = inspect_inventory(
        [TRAILER], on=ON, load="2 x 15 L/min", soon_days=10, minimum="400 psi", residual="14 bar", pressures_in="bar"
    )
    text = " ".join(capsys.readouterr().out.split())
    assert str(found.load) == "2 × 15 L/min"
    assert found.soon == ()
    assert len(found.findings) == 9
    assert "169 bar is above full (139 bar)" in text
    assert "The load is an assumption" not in text
    values = {assumption.what: assumption.value for assumption in found.assumptions}
    assert values["in-service minimum"] == "28 bar"
    assert values["residual pressure"] == "14 bar"


def test_files_are_written_and_replaced_only_when_asked(tmp_path: Path, capsys) -> None:
    """All or none; a folder with other files is refused before anything is read."""
    folder = tmp_path / "out"
    inspect_inventory([TRAILER], on=ON, output=folder, quiet=True)
    assert capsys.readouterr().out == ""
    assert {path.name for path in folder.iterdir()} == set(INSPECTION_NAMES)
    with pytest.raises(UsageError, match="already holds results"):
        inspect_inventory([TRAILER], on=ON, output=folder)
    inspect_inventory([TRAILER], on=ON, output=folder, force=True)
    assert capsys.readouterr().out.splitlines()[-1].startswith(("Written to", "soon_due"))
    (tmp_path / "mine.txt").write_text("")
    with pytest.raises(UsageError, match="holds other files"):
        inspect_inventory([tmp_path / "none.csv"], output=tmp_path)


def test_json_is_all_that_is_printed(tmp_path: Path, capsys) -> None:
    """Where files are written too, that is told on the other stream."""
    inspect_inventory([TRAILER], on=ON, as_json=True, output=tmp_path / "out")
    told = capsys.readouterr()
    record = json.loads(told.out)
    assert record["format"] == "mci cache inspection"
    assert len(record["tables"]["fix_first"]["rows"]) == 10
    assert told.err.startswith("Written to")


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ({"on": "1 May"}, r"--on '1 May' is not a day \(such as 2026-05-01\)"),
        ({"load": "many"}, "is no load: write patients and flow"),
        ({"soon_days": -1}, "0 to 3660 days"),
        ({"minimum": "500"}, "--minimum '500' is not a gauge pressure: the unit is missing"),
        ({"quiet": True}, "--quiet needs -o"),
    ],
)
def test_what_makes_no_sense_is_refused(asked: dict[str, object], told: str) -> None:
    """In words, with how it is written."""
    with pytest.raises(UsageError, match=told):
        inspect_inventory([TRAILER], **asked)  # type: ignore[arg-type]


def test_mistakes_leave_no_files(tmp_path: Path) -> None:
    """All are told, nothing is written."""
    files = write_cache(tmp_path / "in", [{**RIGHT, "pressure": "2000"}, {**RIGHT, "cylinder": "US EE"}], None)
    with pytest.raises(InputError, match="2 mistakes found"):
        inspect_inventory(files, output=tmp_path / "out")
    assert not (tmp_path / "out").exists()
