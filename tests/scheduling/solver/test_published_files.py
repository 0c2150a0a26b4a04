"""Published instances written as problem files, read back and solved to their known optima."""

from pathlib import Path

import pytest
from ortools.sat.python import cp_model

from scheduling.services.instances import read_instance, write_instance
from scheduling.solver.outcome import Limits, Outcome, Status
from scheduling.solver.problem import TICK_MINUTES, Problem
from scheduling.solver.solve import solve
from scheduling.solver.verify import verify
from tests.scheduling.solver.flexible_shops import flexible_shop
from tests.scheduling.solver.projects import Project, project_problem
from tests.scheduling.solver.shops import job_shop

# Four jobs, five machines (Kacem, Hammadi and Borne 2002): steps, then machine and ticks. The 54
# of the second job is a misprint that came to be part of the benchmark. Known optimum: 11.
KACEM_1 = """4 5 5
3 5 1 2 2 5 3 4 4 1 5 2 5 1 5 2 4 3 5 4 7 5 5 5 1 4 2 5 3 5 4 4 5 5
3 5 1 2 2 5 3 4 4 7 5 8 5 1 5 2 6 3 9 4 8 5 5 5 1 4 2 5 3 4 4 54 5 5
4 5 1 9 2 8 3 6 4 7 5 9 5 1 6 2 1 3 2 4 5 5 4 5 1 2 2 5 3 4 4 2 5 4 5 1 4 2 5 3 2 4 1 5 5
2 5 1 1 2 5 3 2 4 4 5 12 5 1 5 2 1 3 2 4 1 5 2
"""

# Ten activities, five resources: PSP1 of the set sm_j10 of the project scheduling library PSPLIB
# (Kolisch, Sprecher). In brackets the lags from start to start; below nothing they are maximum
# lags the other way round.
PSP_1 = """10 5 0 0
0 1 4 4 2 1 3 [0] [0] [0] [0]
1 1 4 9 7 8 10 [9] [1] [8] [2]
2 1 1 8 [24]
3 1 2 10 7 [4] [8]
4 1 3 10 9 5 [0] [0] [7]
5 1 1 6 [0]
6 1 1 11 [5]
7 1 1 11 [10]
8 1 3 1 2 11 [-22] [-34] [2]
9 1 1 11 [6]
10 1 1 11 [1]
11 1 0
0 1 0 0 0 0 0 0
1 1 3 4 1 0 0 0
2 1 10 1 0 3 0 0
3 1 3 4 0 2 2 3
4 1 3 0 0 0 3 0
5 1 3 0 1 2 4 0
6 1 5 2 3 4 0 0
7 1 10 0 4 4 0 4
8 1 2 2 0 0 4 4
9 1 6 5 0 0 1 1
10 1 1 0 1 0 0 0
11 1 0 0 0 0 0 0
5 5 5 5 5
"""


def solved_from_file(problem: Problem, folder: Path, work: int) -> Outcome:
    """Write, read back, solve; the plan is proved to be the best and verified."""
    write_instance(problem=problem, file=folder / "problem.json")
    read = read_instance(file=folder / "problem.json")
    assert read == problem
    outcome = solve(read, Limits(work=work), lambda: 0.0)
    assert verify(read, outcome) == []
    assert outcome.status is Status.OPTIMAL
    assert outcome.bound == outcome.score.lateness
    return outcome


def project_of(text: str, folder: Path) -> Project:
    (folder / "project.sch").write_text(text, encoding="utf-8")
    return Project(folder / "project.sch")


def shortest(project: Project) -> int:
    """Return the least makespan by the textbook model: starts, arcs, cumulative resources."""
    model = cp_model.CpModel()
    most = sum(project.durations) + sum(abs(lag) for _, _, lag in project.arcs)
    starts = [model.new_int_var(0, most, "") for _ in project.durations]
    for one, two, lag in project.arcs:
        model.add(starts[two] >= starts[one] + lag)
    intervals = [
        model.new_fixed_size_interval_var(start, ticks, "")
        for start, ticks in zip(starts, project.durations, strict=True)
    ]
    for resource, capacity in enumerate(project.capacities):
        demands = [row[resource] for row in project.demands]
        model.add_cumulative(intervals, demands, capacity)
    model.minimize(starts[-1])
    solver = cp_model.CpSolver()
    assert solver.solve(model) == cp_model.OPTIMAL
    return round(solver.objective_value)


def test_a_job_shop_through_a_file(tmp_path: Path) -> None:
    outcome = solved_from_file(job_shop("ft06"), tmp_path, 2000)
    assert outcome.score.lateness == 55 * TICK_MINUTES


def test_a_flexible_job_shop_through_a_file(tmp_path: Path) -> None:
    (tmp_path / "kacem.fjs").write_text(KACEM_1, encoding="utf-8")
    outcome = solved_from_file(flexible_shop(tmp_path / "kacem.fjs"), tmp_path, 2000)
    assert outcome.score.lateness == 11 * TICK_MINUTES


def test_a_project_with_minimum_and_maximum_lags_through_a_file(tmp_path: Path) -> None:
    project = project_of(PSP_1, tmp_path)
    # Activity 8 comes 24 ticks after activity 2 and takes 2: no plan is shorter than 26.
    assert shortest(project) == 26
    outcome = solved_from_file(project_problem(project), tmp_path, 2000)
    assert outcome.score.lateness == (26 + 1) * TICK_MINUTES
    starts = {place.task: place.start for place in outcome.placements}
    # The maximum lag has activity 1 wait although nothing else keeps it from starting at once.
    assert starts["8"] - starts["1"] <= 22


@pytest.mark.parametrize(("capacity", "lag"), [(5, -10), (6, -8), (9, -15)])
def test_the_same_project_otherwise_as_the_textbook_model_says(
    tmp_path: Path, capacity: int, lag: int
) -> None:
    text = PSP_1.replace("[-22]", f"[{lag}]").replace("5 5 5 5 5", " ".join([str(capacity)] * 5))
    project = project_of(text, tmp_path)
    outcome = solved_from_file(project_problem(project), tmp_path, 2000)
    assert outcome.score.lateness == (shortest(project) + 1) * TICK_MINUTES


def test_lags_of_a_project_that_contradict_each_other_are_named(tmp_path: Path) -> None:
    # Activity 8 starts at least 8 and at most 7 ticks after activity 1.
    project = project_of(PSP_1.replace("[-22]", "[-7]"), tmp_path)
    unplaced = solve(project_problem(project), Limits(work=10), lambda: 0.0).unplaced
    named = {item.task for item in unplaced if item.code == "impossible_lags"}
    assert named == {"start 1", "start 8"}
