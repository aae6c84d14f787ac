"""Studies: many variants against as many plans, two workers against one, memory, sampled incidents with orders."""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path

import mci
from mci.settings import Settings
from mci.surge.cases import Case
from mci.surge.combine import combine
from mci.surge.engine import run_cases
from mci.surge.measure import measure
from mci.surge.risk import run_risk
from mci.surge.study import Study, spread
from mci.surge.vary import parse_vary

__all__ = ["memory_of_cases", "ratio_of_whatifs", "ratio_of_workers", "time_of_samples"]

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"
_TUNNEL = (
    "patients.immediate.count=10..33",
    "deliveries.oxygen van from the valley.delay=0..100 min step 5 min",
)
_FERRY = ("patients.immediate.count=5..24", "deliveries.county oxygen truck.delay=0..45 min step 5 min")
_PLANS = 24  # of the variants that are planned in full


def _study(name: str, texts: tuple[str, ...]) -> tuple[Study, tuple[Case, ...]]:
    draft = mci.read_draft(SCENARIOS / f"{name}.yaml")
    cases = combine([parse_vary(text, draft.numbers) for text in texts])
    return Study(draft, Settings(), spread([case.values for case in cases])), cases


def _inside_solver(study: Study) -> float:
    """Return the time that HiGHS itself has taken in the common programmes [s]."""
    frames = study._frames.values()
    areas = [area for frame in frames for area in frame._frames.values()]
    return sum(loaded.solver.highs.getRunTime() for area in areas for loaded in area._loaded.values())


def ratio_of_whatifs() -> None:
    """Print (j)."""
    study, cases = _study("tunnel-fire", _TUNNEL)
    begin = time.perf_counter()
    rows = run_cases(measure, study, cases)
    ours = time.perf_counter() - begin
    alone = _inside_solver(study)
    chosen = cases[:: -(-len(cases) // _PLANS)]
    begin = time.perf_counter()
    plans = [mci.run(study.draft.scenario(case.values)) for case in chosen]
    each = (time.perf_counter() - begin) / len(chosen)
    worst = max(
        abs(float(rows[int(case.key) - 1]["bound_weighted_min"]) - plan.outcome.bound) / plan.outcome.bound
        for case, plan in zip(chosen, plans, strict=True)
    )
    print(
        f"j  {len(cases)} what-ifs on the tunnel {ours:.0f} s; as many plans (from {len(chosen)} of them) "
        f"{each * len(cases):.0f} s: {each * len(cases) / ours:.1f} x; HiGHS itself {alone:.0f} s: "
        f"{ours / alone:.2f} x; "
        f"bounds differ by {worst:.0e} at most"
    )


def ratio_of_workers() -> None:
    """Print (k)."""
    times = {}
    for workers in (1, 2):
        study, cases = _study("ferry-fire", _FERRY)
        begin = time.perf_counter()
        run_cases(measure, study, cases, workers=workers)
        times[workers] = time.perf_counter() - begin
    print(f"k  {len(cases)} what-ifs on the ferry: {times[1]:.0f} s here, {times[2]:.0f} s on two workers: "
          f"{times[1] / times[2]:.2f} x")  # fmt: skip


_PEAK = """
import resource, sys
from mci.cli import main
sys.argv = sys.argv[1:]
try:
    main()
finally:
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


def memory_of_cases() -> None:
    """Print (l)."""
    peaks = {}
    for side in (32, 100):
        with tempfile.TemporaryDirectory() as folder:
            values = (f"supplies.share=1..{side} % step 1 %", f"supplies.pressure=1..{side} % step 1 %")
            command = ["mci", "whatif", str(SCENARIOS / "by-hand.yaml"), "--vary", values[0], "--vary", values[1], "-o"]
            done = subprocess.run(
                [sys.executable, "-c", _PEAK, *command, f"{folder}/out", "--quiet"],
                capture_output=True, text=True, check=True,
            )  # fmt: skip
            peaks[side**2] = float(done.stdout.split()[-1])
    told = ", ".join(f"{count:,} cases {peak:.0f} MB" for count, peak in peaks.items())
    print(f"l  memory of a study, its files written: {told}")


def time_of_samples() -> None:
    """Print (m)."""
    draft = mci.read_draft(SCENARIOS / "ferry-fire.yaml")
    begin = time.perf_counter()
    mci.run(draft.scenario())
    one = time.perf_counter() - begin
    count = 64
    begin = time.perf_counter()
    run_risk(draft, samples=count, seed=7)
    bare = (time.perf_counter() - begin) / count
    begin = time.perf_counter()
    run_risk(draft, samples=count, seed=7, orders=count)
    orders = (time.perf_counter() - begin) / count
    begin = time.perf_counter()
    run_risk(draft, samples=count // 4, seed=7, orders=count // 4, rolling_every=30.0)
    rolling = 4 * (time.perf_counter() - begin) / count
    print(
        f"m  ferry, one plan {one:.1f} s; a sample {bare / one:.2f}, with orders {orders / one:.2f}, planned again "
        f"every 30 min too {rolling / one:.2f} of it (from {count} samples); 2,000 samples: {2000 * bare / one:.0f}, "
        f"{2000 * orders / one:.0f} and {2000 * rolling / one:.0f} plans"
    )
