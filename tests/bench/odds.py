"""Odds of handovers: how long they take, and how often what should hold in 8 of 10 does.

``uv run python -m tests.bench.odds``
"""

from dataclasses import replace
from functools import partial
from time import monotonic, process_time

import numpy as np

from finishing.rules.climate import Air, indoor_air
from finishing.rules.ensemble import Ensemble
from finishing.rules.histories import Record, draw_histories, forecast_skill
from scheduling.solver.by_history import Ticks
from scheduling.solver.construct import construct
from scheduling.solver.forward import Histories, handover_ticks, run_forward
from scheduling.solver.odds import odds_of
from scheduling.solver.problem import Problem
from tests.held_back import FIRST_DAY, STATIONS, cases, station_year
from tests.scheduling.solver.streets import street

HOUSES, DAYS, DRAWN = 20, 30, 500


def main() -> None:
    speed()
    held_back()


def speed() -> None:
    """Time 500 histories of 20 houses over 30 days, each house with air of its own."""
    problem = own_air(street(houses=HOUSES, rooms=5, crews=8, days=DAYS))
    planned = construct(problem).placements
    record, known = station_year("JFK")
    forecast = Air(*(year[100 : 100 + DAYS].ravel() for year in known))
    began, worked = monotonic(), process_time()
    outdoors = drawn(record, forecast)
    after_drawing = monotonic()
    airs = {
        house.id: Ensemble.of(*indoor_air(*outdoors, setpoint_c=12.0 + number / 2))
        for number, house in enumerate(problem.houses)
    }
    after_drying = monotonic()
    ready = {f"air:{house}": partial(dry, air) for house, air in airs.items()}
    histories = Histories(DRAWN, ready=ready)
    done = handover_ticks(problem, run_forward(problem, planned, histories), histories)
    odds = [odds_of(done[h.id], h.due, problem.horizon) for h in problem.handovers]
    ended = monotonic()
    say(
        f"{DRAWN} histories, {HOUSES} houses, {len(planned)} tasks, {DAYS} days: "
        f"{ended - began:.2f} s, {process_time() - worked:.2f} s of one core "
        f"(drawing {after_drawing - began:.2f}, "
        f"air in the houses {after_drying - after_drawing:.2f}, "
        f"running {ended - after_drying:.2f}); "
        f"mean odds {np.mean([one.in_time for one in odds]):.2f}"
    )


def drawn(record: Record, forecast: Air) -> Air:
    return draw_histories(
        record,
        forecast,
        first_day=FIRST_DAY.replace(month=4, day=11),
        skill=forecast_skill(np.arange(DAYS * 24.0), np.zeros(DAYS * 24)),
        histories=DRAWN,
        seed=1,
    )


def own_air(problem: Problem) -> Problem:
    """Give each house its own curve of air."""
    tasks = {task.id: task.house for task in problem.tasks}
    waits = tuple(
        replace(wait, curve=f"air:{tasks[wait.before]}") if wait.reason == "air" else wait
        for wait in problem.waits
    )
    air = {f"air:{house.id}": problem.curves["air"] for house in problem.houses}
    return replace(problem, waits=waits, curves={**problem.curves, **air})


def dry(air: Ensemble, ends: Ticks) -> Ticks:
    hours = air.dry_at(ends / 12, 1.0)
    return np.asarray(np.minimum(np.ceil(hours * 12), 10.0**9).astype(np.int64))


def held_back() -> None:
    """Print how many of the dates that should hold in 8 of 10 did."""
    for station in STATIONS:
        found = [c for half in (0, 1) for c in cases(station, held_back=half, histories=DRAWN)]
        say(
            f"{station}: {len(found)} handovers, held in "
            f"{np.mean([case.held for case in found]):.0%} to the tick, "
            f"{np.mean([case.held_to_the_day for case in found]):.0%} to the day; "
            f"{np.mean([case.holds - case.came for case in found]) / 288:.1f} d later than it came"
        )


def say(line: str) -> None:
    print(line, flush=True)  # noqa: T201 - a bench prints


if __name__ == "__main__":
    main()
