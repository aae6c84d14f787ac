"""Speed and memory, as ratios measured side by side in one run: ``python tests/benchmarks/bench.py``.

a  from validated scenario to outcome, against HiGHS alone on the same matrix
b  the aggregate against the programme with every patient by name
c  100,000 patients against 1,000, same areas and horizon: time, and memory
d  ``mci plan`` on the ferry scenario against importing pandas, pulp and highspy: CPU time
e  what executable orders achieve of the bound, on the bundled and on 200 random scarce incidents
f  1,000 patients from scenario to VALID orders, against the integer solve alone; g: the share of replay
h  the programme of trips and oxygen of the regional scenario against HiGHS alone; whole runs: bound, time, memory
i  planning without trips, with a network in the scenario against without
j  500 what-ifs on the tunnel against as many plans, and against HiGHS itself
k  what-ifs on two workers against one
l  memory of 1,000 and of 10,000 what-ifs
m  sampled incidents of the ferry, with orders judged, as multiples of one plan
n  a packing list for 50 incidents against the extensive form in HiGHS
o  1,000 incidents against 50, both on two workers
p  a packing list for 400 incidents on two workers against one
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import highspy
import numpy as np
from by_name import solve_by_name
from crowd import crowd
from hauls import ratio_without_decisions, time_of_hauls
from orders import share_of_bound, time_of_orders
from stocking import ratio_of_incidents, ratio_of_stocking_workers, ratio_to_extensive
from studies import memory_of_cases, ratio_of_whatifs, ratio_of_workers, time_of_samples

from mci.demand.groups import count_demand
from mci.lp.allocate import Part, allocate, build, solve_part
from mci.lp.objective import tidiness
from mci.lp.parts import split
from mci.lp.solve import Solver
from mci.scenario.model import Scenario
from mci.settings import Settings

FERRY = Path(__file__).resolve().parents[2] / "scenarios" / "ferry-fire.yaml"


def best_of(runs: int, job: Callable[[], object]) -> float:
    """Return the shortest wall time of a few runs [s]."""
    times = []
    for _ in range(runs):
        begin = time.perf_counter()
        job()
        times.append(time.perf_counter() - begin)
    return min(times)


def _solver_alone(whole: Part) -> float:
    """Return the time HiGHS needs for both stages of the whole incident, given the matrix [s]."""
    matrix = whole.solver.highs.getLp()
    costs = tidiness(whole.index, whole.variables, len(whole.earns))
    order = np.flatnonzero(whole.solver.known)
    places = whole.solver.places
    alone = highspy.Highs()
    for option, value in (("output_flag", False), ("threads", 1), ("solver", "ipm")):
        alone.setOptionValue(option, value)
    alone.passModel(matrix)
    begin = time.perf_counter()
    alone.changeColsCost(len(places), places, -whole.earns[order])
    alone.changeRowBounds(whole.built.first_aim, -highspy.kHighsInf, highspy.kHighsInf)
    alone.run()
    best = -alone.getInfo().objective_function_value
    alone.changeRowBounds(whole.built.first_aim, best * (1 - 1e-7), highspy.kHighsInf)
    alone.changeColsCost(len(places), places, costs[order])
    alone.run()
    return time.perf_counter() - begin


def ratio_to_solver() -> None:
    """Print (a)."""
    incident = crowd(1000)
    settings = Settings(max_period=np.inf)
    ours = best_of(3, lambda: allocate(incident, count_demand(incident), settings))
    whole = solve_part(incident, count_demand(incident), settings)
    alone = min(_solver_alone(whole) for _ in range(3))
    columns, rows, nonzeros = whole.solver.size
    print(f"a  {columns} columns, {rows} rows, {nonzeros} nonzeros")
    print(
        f"   scenario to outcome {ours:.2f} s, HiGHS alone {alone:.2f} s: ratio {ours / alone:.2f} (target at most 3)"
    )


def _bound(incident: Scenario) -> float:
    """Return the optimum of the aggregate, without memory as the yardstick is."""
    bound = 0.0
    for part, demand in split(incident, count_demand(incident)):
        _, _, built = build(part, demand, memory=False)
        solution = Solver(built).minimise(-built.aims[0])
        bound += float(built.aims[0] @ solution.values)
    return bound


def ratio_to_names() -> None:
    """Print (b)."""
    incident = crowd(1000, memory=False)
    ours = best_of(3, lambda: _bound(incident))
    bound = _bound(incident)
    print(f"b  aggregated optimum {bound:.6f}, {ours:.2f} s")
    for method in ("choose", "ipm"):
        begin = time.perf_counter()
        named, columns = solve_by_name(incident, method)
        slow = time.perf_counter() - begin
        print(
            f"   by name, HiGHS method {method}: {columns} columns, {slow:.1f} s, ratio {slow / ours:.0f} (target 30)"
        )
        print(f"   optimum {named:.6f}, relative difference {abs(named / bound - 1):.1e}")


_CROWD = """
import resource, sys, time
sys.path.insert(0, {folder!r})
from crowd import crowd
from hauls import ratio_without_decisions, time_of_hauls
from orders import share_of_bound, time_of_orders
import math
from mci.demand.groups import count_demand
from mci.lp.allocate import allocate
from mci.settings import Settings
incident = crowd({people})
settings = Settings(max_period=math.inf)
times = []
for _ in range(3):
    begin = time.perf_counter()
    allocate(incident, count_demand(incident), settings)
    times.append(time.perf_counter() - begin)
try:  # ru_maxrss counts what the parent had when it started this process
    status = open("/proc/self/status").read()
    peak = int(status.split("VmHWM:")[1].split()[0])
except OSError:
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
print(min(times), peak / 1024)
"""


def ratio_of_sizes() -> None:
    """Print (c)."""
    folder = str(Path(__file__).resolve().parent)
    found = {}
    for people in (1_000, 100_000):
        code = _CROWD.format(folder=folder, people=people)
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
        found[people] = tuple(float(part) for part in done.stdout.split())
    (small, _), (large, memory) = found[1_000], found[100_000]
    print(
        f"c  1,000 patients {small:.2f} s, 100,000 patients {large:.2f} s: ratio {large / small:.2f} (target at most 2)"
    )
    print(f"   peak memory with 100,000: {memory:.0f} MB (target under 500)")


def _cpu(*command: str) -> float:
    """Return the least CPU time of a few runs of a command [s]."""
    times = []
    for _ in range(5):
        before = os.times()
        subprocess.run([sys.executable, *command], check=True, stdout=subprocess.DEVNULL)
        after = os.times()
        times.append(after.children_user - before.children_user + after.children_system - before.children_system)
    return min(times)


def ratio_to_imports() -> None:
    """Print (d)."""
    imports = _cpu("-c", "import pandas, pulp, highspy")
    with tempfile.TemporaryDirectory() as folder:
        plan = _cpu("-m", "mci", "plan", str(FERRY), "-o", str(Path(folder) / "out"), "--force")
    print(
        f"d  imports {imports:.2f} s, mci plan on the ferry {plan:.2f} s of CPU: ratio {plan / imports:.2f} (target 3)"
    )


JOBS = {
    "a": ratio_to_solver,
    "b": ratio_to_names,
    "c": ratio_of_sizes,
    "d": ratio_to_imports,
    "e": share_of_bound,
    "f": time_of_orders,
    "h": time_of_hauls,
    "i": ratio_without_decisions,
    "j": ratio_of_whatifs,
    "k": ratio_of_workers,
    "l": memory_of_cases,
    "m": time_of_samples,
    "n": ratio_to_extensive,
    "o": ratio_of_incidents,
    "p": ratio_of_stocking_workers,
}

if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("jobs", nargs="*", choices=[*JOBS, []], default=list(JOBS))
    for job in parser.parse_args().jobs:
        JOBS[job]()
