"""First steps on a fresh machine: ``python -m mci.start plan`` and ``python -m mci.start test``.

Makes a virtual environment beside the project, installs the project into it and runs the main
job on a bundled scenario, or the tests.  Needs only Python and pip, so it imports nothing but the
standard library, and works the same on Linux, macOS and Windows.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import venv
from pathlib import Path

__all__ = ["main"]

PROJECT = Path(__file__).resolve().parents[1]
SCENARIO = "scenarios/ferry-fire.yaml"
OLDEST = (3, 11)


def _python_in(environment: Path) -> Path:
    """Return the interpreter of a virtual environment, making the environment first if need be."""
    python = environment / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    if not python.exists():
        print(f"making a virtual environment in {environment}", flush=True)  # noqa: T201
        venv.create(environment, with_pip=True)
    return python


def _run(*command: str | Path) -> int:
    print("+", *command, flush=True)  # noqa: T201
    return subprocess.run([str(part) for part in command], cwd=PROJECT, check=False).returncode  # noqa: S603


def main(arguments: list[str] | None = None) -> int:
    """Install and run; return the exit code of the first step that failed, or 0.

    Parameters
    ----------
    arguments
        Command line without the program; that of the process if not given.
    """
    parser = argparse.ArgumentParser(prog="python -m mci.start", description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("what", choices=("plan", "test"), help="plan: a bundled scenario; test: run the tests")
    parser.add_argument("--venv", type=Path, default=PROJECT / ".venv", help="folder of the virtual environment")
    options = parser.parse_args(arguments)
    if sys.version_info < OLDEST:
        print(f"needs Python {OLDEST[0]}.{OLDEST[1]} or newer, this is {sys.version.split()[0]}", file=sys.stderr)  # noqa: T201
        return 2
    python = _python_in(options.venv)
    wanted = ".[test]" if options.what == "test" else "."
    code = _run(python, "-m", "pip", "install", "--quiet", "--editable", wanted)
    if code:
        return code
    if options.what == "test":
        return _run(python, "-m", "pytest", "-n", "auto", "--dist", "loadfile")  # what a file shares is made once
    code = _run(python, "-m", "mci", "plan", SCENARIO, "-o", "out", "--force")
    if not code:
        print(f"\nThe report is out{os.sep}report.html. To plan your own incident: {python} -m mci plan FILE -o FOLDER")  # noqa: T201
    return code


if __name__ == "__main__":
    sys.exit(main())
