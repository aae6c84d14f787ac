"""The README tells the truth: its example plans, its files exist, its commands are there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import mci
from mci.cli import cli
from mci.drills.debriefed import Cause
from mci.drills.difficulty import BANDS
from mci.drills.result import Level
from mci.drills.table_top import TableTop
from mci.report.debrief_words import needed_weighted

PROJECT = Path(mci.__file__).resolve().parents[1]
TEXT = (PROJECT / "README.md").read_text(encoding="utf-8")


def test_example_plans(tmp_path: Path) -> None:
    """The scenario that the README prints can be read and planned as it stands."""
    (example,) = re.findall(r"```yaml\n(.*?)```", TEXT, flags=re.DOTALL)
    file = tmp_path / "my.yaml"
    file.write_text(example, encoding="utf-8")
    run = mci.run(mci.read_scenario(file))
    assert run.coverage["patients"].iloc[-1] == 13


def test_example_session() -> None:
    """The session at the keyboard that the README shows goes as it says, wherever its lines break."""
    (block,) = re.findall(r"```\n(T\+0 > .*?)```", TEXT, flags=re.DOTALL)
    session = TableTop(mci.run_drill(mci.read_draft(PROJECT / "scenarios" / "school-bus-drill.yaml"), 3))
    said: list[str] = []
    for line in re.findall(r"^T\+\d+ > (.*)$", block, flags=re.MULTILINE):
        said += [session.prompt, line, *session.type_line(line)]
    assert " ".join(" ".join(said).split()) == " ".join(block.split())


def test_first_drill() -> None:
    """The README's first command makes a drill as hard as it asks for; which one, depends on versions of the solver."""
    drill = mci.run_drill(mci.read_draft(PROJECT / "scenarios" / "school-bus-chlorine.yaml"), 3, Level.MODERATE)
    assert drill.difficulty.level is Level.MODERATE
    _says(f"looks at {drill.difficulty.tried} draws")


@pytest.mark.slow
def test_figures_of_the_debrief() -> None:
    """What the README says of the bundled team is so; the best orders may be a little better or worse elsewhere."""
    scenario = mci.read_scenario(PROJECT / "scenarios" / "school-bus-drill.yaml")
    found = mci.run_debrief(scenario, mci.read_log(PROJECT / "scenarios" / "school-bus-drill-log.csv", scenario))
    need, usual = needed_weighted(found), max(judged.verdict.weighted for judged in found.usual)
    said = r"reached ([\d.]+) % of the .{9}need, where .{15}reaches ([\d.]+) % and .* ([\d.]+) %; .* lost, ([\d.]+) %"
    (figures,) = re.findall(said, TEXT)
    shares = (found.team.verdict.weighted / need, usual / need, found.best.verdict.weighted / need)
    first = found.causes.iloc[0]
    assert first["cause"] is Cause.EMPTY
    for told, share, near in zip(figures, (*shares, first["share"]), (0.1, 0.1, 1.5, 1.5), strict=True):
        assert float(told) == pytest.approx(100 * share, abs=near)


def _says(words: str) -> None:
    assert words in " ".join(TEXT.split())


def test_bands_of_difficulty() -> None:
    """The README says from which share on a drill is easy, moderate or hard."""
    for level, (low, high) in BANDS.items():
        told = f"{100 * low:g} % and more" if high >= 1 else f"from {100 * low:g} % to {100 * high:g} %"
        assert re.search(rf"\*{level}\*(?: is)? {told}".replace("+", r"\+"), TEXT, flags=re.IGNORECASE)


def test_files_exist() -> None:
    """Every file and folder that the README names is in the project."""
    named = re.findall(r"[`(]((?:scenarios|notebooks|tests|mci|\.images)/[\w./-]*)[`)]", TEXT)
    assert named
    assert [name for name in named if not (PROJECT / name).exists()] == []


def test_every_scenario_is_listed() -> None:
    """Every bundled scenario stands in the README's table."""
    bundled = {f"scenarios/{file.name}" for file in (PROJECT / "scenarios").glob("*.yaml")}
    assert bundled == set(re.findall(r"\| `(scenarios/[\w-]+\.yaml)` \|", TEXT))


def test_every_command_is_listed() -> None:
    """Every command stands in the README's table, and no other."""
    assert set(re.findall(r"\| `mci (\w+) ", TEXT)) == set(cli.commands) | set(cli.list_commands(None))  # type: ignore[arg-type]


def test_top_level_holds_only_what_it_may() -> None:
    """Nothing stands at the top level but what the project allows, and files that begin with a dot."""
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "mci", "scenarios", "tests", "notebooks"}
    made = {"out", "build", "dist", "mci.egg-info"}
    found = {path.name for path in PROJECT.iterdir() if not path.name.startswith(".")}
    assert found - made <= allowed
    assert allowed <= found
