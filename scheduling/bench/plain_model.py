"""The house instance as anyone would first write it for CP-SAT, to be measured against.

One optional interval per task, crew and length; start domains with holes; a disjunction per crew
and per area; pairwise order literals for the ways; straight waits; a complete hint. It shares no
code with the engine's own model.
"""

from collections import defaultdict
from collections.abc import Mapping
from itertools import combinations

from ortools.sat.python import cp_model

from scheduling.solver.problem import (
    TICK_MINUTES,
    Crew,
    Placement,
    Problem,
    Task,
    duration_ticks,
)

Choice = tuple[str, int, cp_model.IntVar]
"""A crew, the ticks it takes, and the literal that says so."""


class PlainModel:
    """The model of a town, hinted with a plan for all its tasks."""

    def __init__(self, problem: Problem, hint: Mapping[str, Placement]) -> None:
        self.problem, self._hint, self.model = problem, hint, cp_model.CpModel()
        self._starts = {task.id: self._integer(hint[task.id].start) for task in problem.tasks}
        self._ends = {task.id: self._integer(hint[task.id].end) for task in problem.tasks}
        self._choices = {task.id: self._choices_of(task) for task in problem.tasks}
        self._keep_one_place()
        self._keep_ways()
        for wait in problem.waits:
            lag = problem.curves[wait.curve].ready(0)
            self.model.add(self._starts[wait.after] >= self._ends[wait.before] + lag)
        self._minimise_lateness()

    def solve(self, seconds: float, workers: int) -> tuple[tuple[Placement, ...], float]:
        """Return the best plan within the seconds (none: empty) and the lateness bound."""
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = workers
        solver.parameters.max_time_in_seconds = seconds
        solver.parameters.cp_model_presolve = False
        if solver.solve(self.model) not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
            return (), 0.0
        plan = [
            Placement(name, crew, solver.value(self._starts[name]), solver.value(self._ends[name]))
            for name, choices in self._choices.items()
            for crew, _, chosen in choices
            if solver.boolean_value(chosen)
        ]
        return tuple(plan), solver.best_objective_bound

    def _integer(self, hint: int) -> cp_model.IntVar:
        variable = self.model.new_int_var(0, self.problem.horizon, "")
        self.model.add_hint(variable, hint)
        return variable

    def _literal(self, hint: bool) -> cp_model.IntVar:
        literal = self.model.new_bool_var("")
        self.model.add_hint(literal, hint)
        return literal

    def _choices_of(self, task: Task) -> list[Choice]:
        start, end, hint = self._starts[task.id], self._ends[task.id], self._hint[task.id]
        choices = []
        for crew in self.problem.crews:
            ticks = duration_ticks(task.person_minutes, crew.windows[0].heads)
            chosen = self._literal(hint.crew == crew.id)
            domain = cp_model.Domain.from_intervals(_starts(task, crew, ticks))
            self.model.add_linear_expression_in_domain(start, domain).only_enforce_if(chosen)
            self.model.add(end == start + ticks).only_enforce_if(chosen)
            choices.append((crew.id, ticks, chosen))
        self.model.add_exactly_one(chosen for _, _, chosen in choices)
        return choices

    def _keep_one_place(self) -> None:
        """A crew works on one task at a time, and so does an area."""
        groups = defaultdict(list)
        for task in self.problem.tasks:
            start, end = self._starts[task.id], self._ends[task.id]
            for crew, ticks, chosen in self._choices[task.id]:
                interval = self.model.new_optional_interval_var(start, ticks, end, chosen, "")
                groups["crew", crew].append(interval)
                groups["area", task.room].append(interval)
        for group in groups.values():
            self.model.add_no_overlap(group)

    def _keep_ways(self) -> None:
        """Between two houses a crew travels, whichever it does first."""
        for one, two in combinations(self.problem.tasks, 2):
            there = self.problem.travel.get((one.house, two.house), 0)
            if one.house == two.house or not there:
                continue
            back = self.problem.travel[two.house, one.house]
            first = self._literal(self._hint[one.id].start < self._hint[two.id].start)
            for mine, other in zip(self._choices[one.id], self._choices[two.id], strict=True):
                both = [mine[2], other[2]]
                later = self._starts[two.id] >= self._ends[one.id] + there
                earlier = self._starts[one.id] >= self._ends[two.id] + back
                self.model.add(later).only_enforce_if([first, *both])
                self.model.add(earlier).only_enforce_if([~first, *both])

    def _minimise_lateness(self) -> None:
        late = []
        for handover in self.problem.handovers:
            members = [task.id for task in self.problem.tasks if task.handover == handover.id]
            over = self._integer(
                max(0, max(self._hint[name].end for name in members) - handover.due)
            )
            for name in members:
                self.model.add(over >= self._ends[name] - handover.due)
            late.append(handover.weight * TICK_MINUTES * over)
        self.model.minimize(cp_model.LinearExpr.sum(late))


def _starts(task: Task, crew: Crew, ticks: int) -> list[list[int]]:
    """Return the stretches in which the crew may start the task."""
    return [
        [max(task.release, window.start), window.end - ticks]
        for window in crew.windows
        if max(task.release, window.start) <= window.end - ticks
    ]
