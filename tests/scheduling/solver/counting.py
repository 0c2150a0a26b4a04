"""The least cost, or the least change, of any plan, by going through the plans: depth first,
dearest branch cut."""

from collections.abc import Callable, Iterable, Iterator
from itertools import combinations

from scheduling.solver.evaluate import score_of
from scheduling.solver.outcome import Outcome, Status
from scheduling.solver.problem import (
    TICK_MINUTES,
    Placement,
    Problem,
    Task,
    Window,
    duration_ticks,
)
from scheduling.solver.verify import verify

Pair = tuple[Placement, Placement]
Plan = tuple[Placement, ...]


class Counting:
    """Goes through every plan of a problem.

    Two places that verify refuses together are never combined, but for travel, which depends on
    what lies between them; a whole plan must please verify as it is.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.options = [_options(problem, task) for task in problem.tasks]
        self.extra = {
            place: score_of(problem, [place]).extra for places in self.options for place in places
        }
        self.clashes = set(_clashes(problem, self.options))

    def least_cost(self) -> int | None:
        """Return the least lateness and price of extra windows in weighted minutes, None where
        there is no plan."""
        return self._least(self._cost)

    def least_change(self, current: Iterable[Placement]) -> tuple[int, int] | None:
        """Return the least visits moved and shift (working minutes) against a plan, None where
        there is no plan."""
        change = _Changes(self.problem, {place.task: place for place in current})
        return self._least(change.size)

    def _least[T: (int, tuple[int, int])](
        self, worth: Callable[[Plan], T], plan: Plan = (), best: T | None = None
    ) -> T | None:
        """Return the least worth of whole plans that begin so, or the best if that is less."""
        if best is not None and worth(plan) >= best:
            return best
        if len(plan) == len(self.problem.tasks):
            outcome = Outcome(Status.FEASIBLE, plan, score_of(self.problem, plan))
            return best if verify(self.problem, outcome) else worth(plan)
        for place in self.options[len(plan)]:
            if not any((other, place) in self.clashes for other in plan):
                best = self._least(worth, (*plan, place), best)
        return best

    def _cost(self, plan: tuple[Placement, ...]) -> int:
        """Return what the tasks placed so far cost at least."""
        problem, late = self.problem, 0
        for handover in problem.handovers:
            dones = [
                problem.curves[task.done_curve].ready(place.end) if task.done_curve else place.end
                for task, place in zip(problem.tasks, plan, strict=False)
                if task.handover == handover.id
            ]
            late += handover.weight * max(0, max(dones, default=0) - handover.due)
        return late * TICK_MINUTES + sum(self.extra[place] for place in plan)


class _Changes:
    """What places change against a plan, worked out from the words of ``Change`` tick by tick."""

    def __init__(self, problem: Problem, current: dict[str, Placement]) -> None:
        self.current = current
        self.house = {task.id: task.house for task in problem.tasks}
        self.day = {
            (crew.id, tick): window.day
            for crew in problem.crews
            for window in crew.windows
            for tick in range(window.start, window.end)
        }

    def size(self, plan: tuple[Placement, ...]) -> tuple[int, int]:
        """Return the visits moved and the shift in working minutes of the tasks placed so far."""
        both = [(self.current[place.task], place) for place in plan if place.task in self.current]
        visits = {self._visit(old) for old, new in both if self._visit(old) != self._visit(new)}
        ticks = sum(
            (new.crew, tick) in self.day
            for old, new in both
            for tick in range(min(old.start, new.start), max(old.start, new.start))
        )
        return len(visits), ticks * TICK_MINUTES

    def _visit(self, place: Placement) -> tuple[str, str, int | None]:
        return place.crew, self.house[place.task], self.day.get((place.crew, place.start))


def _options(problem: Problem, task: Task) -> list[Placement]:
    """Return the places, with every way to leave, that break no rule of the task's own, earliest
    end first."""
    if task.fixed:
        return [task.fixed]
    ways = {wait.way for wait in problem.waits if wait.before == task.id and wait.way}
    places = (
        Placement(task.id, crew.id, start, end, way)
        for crew in problem.crews
        for w in crew.windows
        for start in range(w.start, w.end)
        for end in _ends(problem, task, start, w)
        for way in sorted(ways) or [""]
    )
    return sorted((p for p in places if _holds(problem, (task,), (p,))), key=lambda p: p.end)


def _ends(problem: Problem, task: Task, start: int, window: Window) -> Iterable[int]:
    """Return the end of a task that starts in a window, or all there might be where it may be
    split."""
    if task.split:
        return range(start + 1, problem.horizon + 1)
    return [start + duration_ticks(task.person_minutes, window.heads)]


def _clashes(problem: Problem, options: list[list[Placement]]) -> Iterator[Pair]:
    for one, two in combinations(range(len(options)), 2):
        tasks = problem.tasks[one], problem.tasks[two]
        for here in options[one]:
            for there in options[two]:
                if not _holds(problem, tasks, (here, there)):
                    yield here, there


def _holds(problem: Problem, tasks: tuple[Task, ...], places: tuple[Placement, ...]) -> bool:
    """Return whether the places keep the rules if there are no tasks but these."""
    ids = {task.id for task in tasks}
    alone = Problem(
        problem.origin,
        problem.horizon,
        problem.crews,
        problem.houses,
        tasks,
        waits=tuple(w for w in problem.waits if {w.before, w.after} <= ids),
        curves=problem.curves,
        travel=problem.travel,
        now=problem.now,
        setup_ticks=problem.setup_ticks,
        washup_ticks=problem.washup_ticks,
        equipment=problem.equipment,
    )
    outcome = Outcome(Status.FEASIBLE, places, score_of(alone, places))
    # A way may be named only by waits of a task that is left out here.
    return {fault.code for fault in verify(alone, outcome)} <= {"travel", "way"}
