"""A cheap study for engines: what is found for a case, and mishaps that a case can ask for."""

from __future__ import annotations

import os
import time
from pathlib import Path

from mci.errors import InputError, Mistake, NoPlanError
from mci.surge.cases import Case, Row


def made_cases(count: int, **values: str) -> list[Case]:
    """Make cases 1 to ``count``; ``values`` go into every case, ``caseN`` only into that one."""
    common = {name: text for name, text in values.items() if not name.startswith("case")}
    own = {name.removeprefix("case"): text for name, text in values.items() if name.startswith("case")}
    return [
        Case(str(n), {"n": str(n), **common, **({"do": own[str(n)]} if str(n) in own else {})})
        for n in range(1, count + 1)
    ]


def square(work: dict[str, float], case: Case) -> Row:
    """Return a row that depends on the work and the case only, once what the case asks for is done.

    ``do`` is a word: ``refuse``, ``bug``, ``die``, ``die once``; the folder for marks is in the work.
    """
    number = float(case.values["n"])
    _mishap(case.values.get("do", ""), Path(str(work.get("marks", "."))))
    if "sleep" in case.values:
        time.sleep(float(case.values["sleep"]))
    if "marks" in work:
        with (Path(str(work["marks"])) / "evaluated").open("a", encoding="utf-8") as marks:
            marks.write(f"{case.key}\n")
    nothing = float("nan") if number % 3 else float("inf")
    return {"status": "planned", "square": work["factor"] * number**2, "third": number / 3, "none": nothing}


def _mishap(what: str, marks: Path) -> None:
    if what == "refuse":
        raise NoPlanError(["a limit that\n  nobody can meet"])
    if what == "mistakes":
        raise InputError([Mistake("is too large", file="f", line=1), Mistake("is too small", file="f", line=2)])
    if what == "bug":
        raise ZeroDivisionError("over\nnothing")
    if what == "die" or (what == "die once" and not (marks / "died").exists()):
        (marks / "died").touch()
        os._exit(9)
