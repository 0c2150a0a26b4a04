"""The house instance as an engineer would write it for CP-SAT, to be measured against.

One optional interval per task and crew; start domains with holes, cut by releases, by the chain
before and after a task and by a horizon a few days after the plan in hand; a disjunction per crew;
pairwise order literals for the ways between tasks that can meet; straight waits; a hint for every
variable. It shares no code with the engine's own model.
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

SPARE_TICKS = 5 * 24 * 60 // TICK_MINUTES
"""What the horizon lies behind the end of the plan in hand."""

Choice = tuple[int, cp_model.IntVar]
"""The ticks a crew takes, and the literal that says that it does the task."""


class PlainModel:
    """The model of a town, hinted with a plan for all its tasks."""

    def __init__(self, problem: Problem, hint: Mapping[str, Placement]) -> None:
        self.problem, self._hint, self.model = problem, hint, cp_model.CpModel()
        last = max(placement.end for placement in hint.values())
        self._horizon = min(problem.horizon, last + SPARE_TICKS)
        self._crews = {
            task.id: [c for c in problem.crews if task.crews is None or c.id in task.crews]
            for task in problem.tasks
        }
        self._earliest, self._latest = self._reach()
        self._starts: dict[str, cp_model.IntVar] = {}
        self._ends: dict[str, cp_model.IntVar] = {}
        self._choices: dict[str, dict[str, Choice]] = {}
        for task in problem.tasks:
            self._add_task(task)
        self._keep_one_place()
        self._keep_ways()
        for wait in problem.waits:
            lag = self._lag(wait.curve)
            self.model.add(self._starts[wait.after] >= self._ends[wait.before] + lag)
        self._minimise_lateness()

    def solve(self, seconds: float, workers: int) -> tuple[tuple[Placement, ...], float]:
        """Return the best plan within the seconds (none: empty) and the lateness bound."""
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = workers
        solver.parameters.max_time_in_seconds = seconds
        solver.parameters.cp_model_presolve = False
        solver.parameters.cp_model_probing_level = 0
        solver.parameters.symmetry_level = 0
        if solver.solve(self.model) not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
            return (), 0.0
        plan = [
            Placement(name, crew, solver.value(self._starts[name]), solver.value(self._ends[name]))
            for name, choices in self._choices.items()
            for crew, (_, chosen) in choices.items()
            if solver.boolean_value(chosen)
        ]
        return tuple(plan), solver.best_objective_bound

    def _lag(self, curve: str) -> int:
        return self.problem.curves[curve].ready(0)

    def _literal(self, hint: bool) -> cp_model.IntVar:
        literal = self.model.new_bool_var("")
        self.model.add_hint(literal, hint)
        return literal

    def _reach(self) -> tuple[dict[str, int], dict[str, int]]:
        """Return by task the earliest start and the latest end that releases and chains leave.

        The waits are listed in the order of the chains.
        """
        earliest = {task.id: task.release for task in self.problem.tasks}
        latest = dict.fromkeys(earliest, self._horizon)
        shortest = {
            task.id: min(_ticks(task, crew) for crew in self._crews[task.id])
            for task in self.problem.tasks
        }
        for wait in self.problem.waits:
            ready = earliest[wait.before] + shortest[wait.before] + self._lag(wait.curve)
            earliest[wait.after] = max(earliest[wait.after], ready)
        for wait in reversed(self.problem.waits):
            due = latest[wait.after] - shortest[wait.after] - self._lag(wait.curve)
            latest[wait.before] = min(latest[wait.before], due)
        return earliest, latest

    def _add_task(self, task: Task) -> None:
        """Add a task's start, end and literals: where each crew's windows let it start."""
        hint, model = self._hint[task.id], self.model
        allowed = {crew.id: self._allowed(task, crew) for crew in self._crews[task.id]}
        any_crew = cp_model.Domain.from_intervals(
            [s for starts in allowed.values() for s in starts]
        )
        start = model.new_int_var_from_domain(any_crew, "")
        end = model.new_int_var(self._earliest[task.id], self._latest[task.id], "")
        model.add_hint(start, hint.start)
        model.add_hint(end, hint.end)
        choices = {}
        for crew in self._crews[task.id]:
            chosen = self._literal(hint.crew == crew.id)
            domain = cp_model.Domain.from_intervals(allowed[crew.id])
            model.add_linear_expression_in_domain(start, domain).only_enforce_if(chosen)
            choices[crew.id] = _ticks(task, crew), chosen
        model.add_exactly_one(chosen for _, chosen in choices.values())
        model.add(end == start + sum(ticks * chosen for ticks, chosen in choices.values()))
        self._starts[task.id], self._ends[task.id] = start, end
        self._choices[task.id] = choices

    def _allowed(self, task: Task, crew: Crew) -> list[list[int]]:
        """Return the stretches in which the crew may start the task."""
        ticks, first, last = _ticks(task, crew), self._earliest[task.id], self._latest[task.id]
        stretches = [(max(first, w.start), min(last, w.end) - ticks) for w in crew.windows]
        return [[low, high] for low, high in stretches if low <= high]

    def _keep_one_place(self) -> None:
        """A crew works on one task at a time; an area does anyway, by its waits."""
        by_crew = defaultdict(list)
        for name, choices in self._choices.items():
            for crew, (ticks, chosen) in choices.items():
                start = self._starts[name]
                by_crew[crew].append(
                    self.model.new_optional_fixed_size_interval_var(start, ticks, chosen, "")
                )
        for group in by_crew.values():
            self.model.add_no_overlap(group)

    def _keep_ways(self) -> None:
        """Between two houses a crew travels, whichever it does first."""
        for one, two in combinations(self.problem.tasks, 2):
            there = self.problem.travel.get((one.house, two.house), 0)
            back = self.problem.travel.get((two.house, one.house), 0)
            crews = [crew for crew in self._choices[one.id] if crew in self._choices[two.id]]
            if one.house == two.house or not crews or self._apart(one.id, two.id, there, back):
                continue
            first = self._literal(self._hint[one.id].start < self._hint[two.id].start)
            for crew in crews:
                both = [self._choices[one.id][crew][1], self._choices[two.id][crew][1]]
                later = self._starts[two.id] >= self._ends[one.id] + there
                earlier = self._starts[one.id] >= self._ends[two.id] + back
                self.model.add(later).only_enforce_if([first, *both])
                self.model.add(earlier).only_enforce_if([~first, *both])

    def _apart(self, one: str, two: str, there: int, back: int) -> bool:
        """Return whether the times left to two tasks are further apart than the way."""
        return (
            self._latest[one] + there <= self._earliest[two]
            or self._latest[two] + back <= self._earliest[one]
        )

    def _minimise_lateness(self) -> None:
        late = []
        for handover in self.problem.handovers:
            members = [task.id for task in self.problem.tasks if task.handover == handover.id]
            over = self.model.new_int_var(0, max(0, self._horizon - handover.due), "")
            end = max(self._hint[name].end for name in members)
            self.model.add_hint(over, max(0, end - handover.due))
            for name in members:
                self.model.add(over >= self._ends[name] - handover.due)
            late.append(handover.weight * TICK_MINUTES * over)
        self.model.minimize(cp_model.LinearExpr.sum(late))


def _ticks(task: Task, crew: Crew) -> int:
    return duration_ticks(task.person_minutes, crew.windows[0].heads)
