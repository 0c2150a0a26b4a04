"""Published work too near to move stays; where that cannot hold, the fewest visits are let go.

Fixed tasks that start before now are under way and beyond every rule. Those that start later are
frozen or pinned: each must keep every rule as if it were newly planned there, and what it waits
for must have a place before it. Visits are let go whole: one set of visits after another is
looked at, the smallest first (pinned visits weigh more than all others together), each time
letting go one more of those that a broken rule names. So no smaller set would do, as long as the
looks last; then the visits named are let go until the rest holds.
"""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass, replace
from heapq import heappop, heappush

from scheduling.solver.change import Visit, WorkingTime, visit_of
from scheduling.solver.construct import construct
from scheduling.solver.evaluate import score_of
from scheduling.solver.outcome import Outcome, Status, Violation
from scheduling.solver.problem import Problem, Task
from scheduling.solver.reasons_among import Placed, Use, uses_of_equipment, uses_of_house
from scheduling.solver.verify import verify

LOOKS = 60
"""Sets of visits for which a whole plan is tried; each takes as long as a first plan."""

TRIES = 2000
"""Sets of visits looked at in all."""

AROUND = "around"
"""Why a visit goes that breaks no rule among what stays: what must come before it, or goes on
beside it, finds no place."""

type Group = frozenset[Visit]


@dataclass(frozen=True, slots=True)
class Freed:
    """A visit let go: its tasks, and the rule that ``task`` would break there, with the other."""

    tasks: tuple[str, ...]
    code: str
    task: str
    other: str = ""
    pinned: bool = False


@dataclass(frozen=True, slots=True)
class Kept:
    """A problem in which every fixed task can stay, and the visits let go for that."""

    problem: Problem
    freed: tuple[Freed, ...] = ()


def keep_what_holds(problem: Problem, pinned: Collection[str] = ()) -> Kept:
    """Return the problem with the fewest visits let go so that all that stay can stay.

    pinned: ids of frozen tasks whose visits go last.
    """
    near = _Near(problem, frozenset(pinned))
    gone = near.fewest() if near.visits else frozenset()
    return Kept(near.without(gone), tuple(near.freed(visit, gone) for visit in sorted(gone)))


def held_to_the_rules(problem: Problem) -> Problem:
    """Return a problem in which only work under way is beyond the rules."""
    tasks = (
        replace(task, fixed=None) if _is_near(problem, task) else task for task in problem.tasks
    )
    return replace(problem, tasks=tuple(tasks))


def broken_rules(problem: Problem, outcome: Outcome) -> list[Violation]:
    """Return every rule that an outcome breaks, with frozen tasks held to the rules as well as
    to their places."""
    moved = (fault for fault in verify(problem, outcome) if fault.code == "fixed_moved")
    return [*verify(held_to_the_rules(problem), outcome), *moved]


def _is_near(problem: Problem, task: Task) -> bool:
    return task.fixed is not None and task.fixed.start >= problem.now


class _Near:
    """The frozen tasks of a problem by visit, and what stands against keeping them."""

    def __init__(self, problem: Problem, pinned: frozenset[str]) -> None:
        self.problem, self.pinned = problem, pinned
        time = WorkingTime(problem.crews)
        self.visits: dict[Visit, list[Task]] = defaultdict(list)
        self.visit: dict[str, Visit] = {}
        for task in problem.tasks:
            if task.fixed and _is_near(problem, task):
                self.visit[task.id] = visit_of(time, task.house, task.fixed)
                self.visits[self.visit[task.id]].append(task)

    def fewest(self) -> Group:
        """Return the visits to let go."""
        queue: list[tuple[tuple[int, int], list[Visit]]] = [((0, 0), [])]
        seen: set[Group] = set()
        looks = LOOKS
        while queue and looks and len(seen) < TRIES:
            gone = frozenset(heappop(queue)[1])
            if gone in seen:
                continue
            seen.add(gone)
            choice = self._against(gone)
            if choice is None:
                looks -= 1
                if self._holds(gone):
                    return gone
                choice = frozenset(self.visits) - gone
            for visit in choice:
                more = gone | {visit}
                heappush(queue, (self._weight(more), sorted(more)))
        return self._let_go_by_turns()

    def without(self, gone: Collection[Visit]) -> Problem:
        """Return the problem with some visits let go."""
        free = {task.id for visit in gone for task in self.visits[visit]}
        tasks = (replace(t, fixed=None) if t.id in free else t for t in self.problem.tasks)
        return replace(self.problem, tasks=tuple(tasks))

    def freed(self, visit: Visit, gone: Group) -> Freed:
        """Return a visit let go with why it cannot stay where the others that stay do."""
        tasks = tuple(task.id for task in self.visits[visit])
        others = gone - {visit}
        # What breaks no rule by itself may do so in a plan of everything.
        why = next(
            (
                fault
                for look in (self._broken, self._faults)
                for fault in look(others)
                if visit in self._named(fault)
            ),
            Violation(AROUND, tasks[0]),
        )
        task, other = (why.task, why.other) if why.task in tasks else (why.other, why.task)
        if task not in tasks:
            task, other = tasks[0], ""
        return Freed(tasks, why.code, task, other, bool(self.pinned.intersection(tasks)))

    def _weight(self, gone: Group) -> tuple[int, int]:
        """Return how many visits go, the pinned ones weighing most, and how many tasks."""
        tasks = [self.visits[visit] for visit in gone]
        pinned = sum(any(task.id in self.pinned for task in group) for group in tasks)
        return len(gone) + pinned * len(self.visits), sum(map(len, tasks))

    def _against(self, gone: Group) -> Group | None:
        """Return visits of which at least one must go too; None where no rule is broken among
        what stays."""
        named = (self._named(violation) for violation in self._broken(gone))
        return min((group for group in named if group), key=len, default=None)

    def _broken(self, gone: Group) -> list[Violation]:
        """Return the rules broken among what stays, by itself."""
        problem = self.without(gone)
        staying = tuple(task for task in problem.tasks if task.fixed)
        held = {task.id for task in staying}
        waits = tuple(w for w in problem.waits if w.before in held and w.after in held)
        among = held_to_the_rules(replace(problem, tasks=staying, waits=waits))
        places = tuple(task.fixed for task in staying if task.fixed)
        faults = verify(among, Outcome(Status.FEASIBLE, places, score_of(among, places)))
        # The ways to leave a task are known from its waits, of which some are left out here.
        return [fault for fault in faults if fault.code != "way"]

    def _named(self, violation: Violation) -> Group:
        """Return the visits of which one must go so that a violation ends."""
        names = {violation.task, violation.other, *_also_behind(self.problem, violation)}
        return frozenset(self.visit[name] for name in names if name in self.visit)

    def _holds(self, gone: Group) -> bool:
        return not self._faults(gone)

    def _faults(self, gone: Group) -> list[Violation]:
        problem = self.without(gone)
        return verify(held_to_the_rules(problem), construct(problem))

    def _let_go_by_turns(self) -> Group:
        """Let go whatever the rules name until the rest holds."""
        gone: Group = frozenset()
        while gone != self.visits.keys():
            choice = self._against(gone)
            if choice is None:
                faults = self._faults(gone)
                if not faults:
                    return gone
                choice = frozenset(v for fault in faults for v in self._named(fault)) - gone
            weighed = [(self._weight(gone | {visit}), visit) for visit in choice or self.visits]
            gone |= {min(pair for pair in weighed if pair[1] not in gone)[1]}
        return gone


def _also_behind(problem: Problem, violation: Violation) -> set[str]:
    """Return the fixed tasks that may be behind a violation beside the two it names."""
    fixed = [task for task in problem.tasks if task.fixed]
    if violation.code == "run_crew":
        runs = {task.run for task in fixed if task.id == violation.task}
        return {task.id for task in fixed if task.run in runs}
    placed = Placed(problem, {task.id: task.fixed for task in fixed if task.fixed})
    if violation.code == "crews_inside":
        return _at_once(violation.task, uses_of_house(placed, violation.other))
    if violation.code == "equipment":
        return _at_once(violation.task, uses_of_equipment(placed, violation.other))
    return set()


def _at_once(task: str, uses: list[Use]) -> set[str]:
    """Return who uses something while a task does."""
    mine = [(start, end) for user, start, end in uses if user == task]
    return {
        user for user, start, end in uses for since, until in mine if start < until and since < end
    }
