"""Flexible job shops as Problems: machines are crews with minutes of their own for each step."""

from pathlib import Path

import fjsplib

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


def flexible_shop(file: Path) -> Problem:
    """Return the instance in a file as a Problem whose lateness is five minutes per tick of
    makespan."""
    instance = fjsplib.read(file)
    horizon = sum(max(ticks for _, ticks in step) for job in instance.jobs for step in job)
    tasks = [
        Task(
            id=f"{job}-{step}",
            house="site",
            room=f"job {job}",
            minutes_by_crew={f"machine {m}": ticks * TICK_MINUTES for m, ticks in choices},
            handover="all",
        )
        for job, steps in enumerate(instance.jobs)
        for step, choices in enumerate(steps)
    ]
    window = (Window(0, horizon, 0),)
    return Problem(
        origin="2026-01-01T00:00:00+00:00",
        horizon=horizon,
        crews=tuple(Crew(f"machine {m}", window) for m in range(instance.num_machines)),
        houses=(House("site"),),
        tasks=tuple(tasks),
        handovers=(Handover("all", "site", 0),),
        waits=tuple(Wait(tasks[a].id, tasks[b].id, "none") for a, b in instance.precedences),
        curves={"none": constant_lag(0)},
    )
