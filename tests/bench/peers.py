"""The engine beside another library: ``uv run --group bench python -m tests.bench.peers``.

The same job shops and invented towns, with and without ways, go to the engine and to pyjobshop
with the same seconds and workers. Printed are lateness (of a job shop: makespan) by each and the
ratio; every plan of either is verified.
"""

import argparse
from statistics import median
from typing import Any

import pyjobshop

from scheduling.bench.strength import timed
from scheduling.bench.towns import town
from scheduling.solver.evaluate import score_of
from scheduling.solver.outcome import Limits, Outcome, Status
from scheduling.solver.problem import Crew, Placement, Problem, may_do, task_ticks
from scheduling.solver.verify import verify
from tests.bench.shops import SHOPS, say, stopwatch
from tests.scheduling.solver.shops import job_shop


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=15)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--instances", type=int, default=5, help="seeds per size of town")
    parser.add_argument("--no-shops", action="store_true", help="towns only")
    options = parser.parse_args()
    limits = Limits(options.seconds, workers=options.workers)
    say(f"{'instance':<30}{'ours':>9}{'peer':>9}{'ratio':>8}")
    for name in () if options.no_shops else SHOPS:
        compare(name, [job_shop(name)], limits)
    for tasks, crews, able in ((64, 5, None), (200, 8, 3)):
        for travel in (False, True):
            towns = [
                town(tasks=tasks, crews=crews, seed=s, travel=travel, pressure=1.2, able=able)
                for s in range(1, options.instances + 1)
            ]
            ways = "with" if travel else "without"
            compare(f"{tasks} tasks, {crews} crews, {ways} ways", towns, limits)


def compare(name: str, problems: list[Problem], limits: Limits) -> None:
    """Print a line: the medians of both over the problems, and of their ratios."""
    ours = [timed(problem, limits, stopwatch()).score.lateness for problem in problems]
    peers = [peer_lateness(problem, limits) for problem in problems]
    found = [(mine, other) for mine, other in zip(ours, peers, strict=True) if other is not None]
    cells = [f"{name:<30}{median(ours):>9.0f}"]
    if found:
        ratio = median(mine / max(1, other) for mine, other in found)
        cells.append(f"{median(other for _, other in found):>9.0f}{ratio:>8.3f}")
    if len(found) < len(peers):
        cells.append(f"  no plan of the peer in {len(peers) - len(found)} of {len(peers)}")
    say("".join(cells))


def peer_lateness(problem: Problem, limits: Limits) -> int | None:
    """Return the weighted minutes of lateness of the peer's plan, None where it finds none."""
    model = pyjobshop.Model()
    machines = [model.add_machine(breaks_of(crew, problem)) for crew in problem.crews]
    jobs = {
        handover.id: model.add_job(weight=handover.weight, due_date=handover.due)
        for handover in problem.handovers
    }
    tasks = {
        task.id: model.add_task(
            jobs[task.handover or ""], earliest_start=task.release, latest_end=problem.horizon
        )
        for task in problem.tasks
    }
    for task in problem.tasks:
        for crew, machine in zip(problem.crews, machines, strict=True):
            if may_do(task, crew):
                ticks = task_ticks(task, crew.id, crew.windows[0].heads)
                model.add_mode(tasks[task.id], machine, ticks)
    for wait in problem.waits:
        lag = problem.curves[wait.curve].ready(0)
        model.add_end_before_start(tasks[wait.before], tasks[wait.after], lag)
    add_ways(model, problem, machines, tasks)
    model.set_objective(weight_makespan=0, weight_total_tardiness=1)
    result = model.solve(time_limit=limits.seconds, num_workers=limits.workers, display=False)
    return verified(problem, result)


def breaks_of(crew: Crew, problem: Problem) -> list[tuple[int, int]]:
    """Return the stretches in which a crew does not work, as the peer wants them."""
    ends = [0, *(window.end for window in crew.windows)]
    starts = [*(window.start for window in crew.windows), problem.horizon]
    return [(end, start) for end, start in zip(ends, starts, strict=True) if end < start]


def add_ways(model: Any, problem: Problem, machines: list[Any], tasks: dict[str, Any]) -> None:
    """Tell the peer the ways as set-up times: the longest is no longer than a break."""
    for one in problem.tasks:
        for two in problem.tasks:
            way = problem.travel.get((one.house, two.house), 0)
            for crew, machine in zip(problem.crews, machines, strict=True):
                if way and may_do(one, crew) and may_do(two, crew):
                    model.add_setup_time(machine, tasks[one.id], tasks[two.id], way)


def verified(problem: Problem, result: Any) -> int | None:
    """Return the lateness of the peer's plan after it has been verified."""
    if result.best is None or not result.best.tasks:
        return None
    plan = tuple(
        Placement(task.id, problem.crews[place.resources[0]].id, place.start, place.end)
        for task, place in zip(problem.tasks, result.best.tasks, strict=True)
    )
    outcome = Outcome(Status.FEASIBLE, plan, score_of(problem, plan))
    if faults := verify(problem, outcome):
        raise AssertionError(f"the peer's plan breaks {len(faults)} rules, first {faults[0]}")
    return outcome.score.lateness


if __name__ == "__main__":
    main()
