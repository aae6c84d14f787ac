"""The notebooks: committed without outputs, and every cell runs."""

from __future__ import annotations

import pathlib

import nbformat
import pytest

FOLDER = pathlib.Path(__file__).parents[1] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))


def test_there_is_a_notebook() -> None:
    """A drill, two plans, a packing list and two studies are there; an empty folder would let the other tests pass."""
    stems = ["a-drill-and-its-debrief", "a-first-plan", "a-packing-list", "a-resupply-plan", "a-risk-study"]
    assert [path.stem for path in NOTEBOOKS] == [*stems, "a-surge-study"]


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_has_no_outputs(path: pathlib.Path) -> None:
    """No outputs, no counts: what a notebook shows is made when it runs."""
    for cell in nbformat.read(path, as_version=4).cells:
        assert cell.get("outputs", []) == []
        assert cell.get("execution_count") is None


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore:Proactor event loop does not implement add_reader:RuntimeWarning")  # zmq, Windows
@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_runs(path: pathlib.Path) -> None:
    """Every cell runs from the folder of the notebook, without a warning on stderr."""
    import nbclient

    notebook = nbformat.read(path, as_version=4)
    nbclient.NotebookClient(notebook, timeout=120, resources={"metadata": {"path": str(FOLDER)}}).execute()
    streams = [output["name"] for cell in notebook.cells for output in cell.get("outputs", []) if "name" in output]
    assert "stderr" not in streams
    shown = [cell for cell in notebook.cells if cell.cell_type == "code" and cell.outputs]
    assert any("<svg" in output.get("data", {}).get("text/html", "") for cell in shown for output in cell.outputs)
