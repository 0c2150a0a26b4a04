"""The rules that can leave work no place, and a Problem with one of them set aside."""

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, replace

from scheduling.solver.problem import (
    Crew,
    Equipment,
    House,
    Problem,
    Task,
    Wait,
    Window,
    constant_lag,
)

AT_ANY_TIME = "at any time"
"""Name of the curve of a wait that is set aside where something else still hangs on it."""


@dataclass(frozen=True, slots=True)
class Ground:
    """One kind of rule of one thing; the codes are those of ``RULES``."""

    code: str
    subject: str = ""
    other: str = ""


def rules_in_force(problem: Problem, needed: Collection[str]) -> tuple[Ground, ...]:
    """Return the rules about the needed tasks (ids) that can be set aside, the least telling
    first. Of other tasks, all rules are one with their being done: ``load`` and ``fixed``."""
    mine = [task for task in problem.tasks if task.id in needed]
    found = (Ground(code, *key) for code, rule in RULES.items() for key in rule.keys(problem, mine))
    distinct = dict.fromkeys(found)
    return tuple(g for g in distinct if loosened(problem, [g], needed) != problem)


def loosened(problem: Problem, grounds: Collection[Ground], needed: Collection[str]) -> Problem:
    """Return the problem with rules set aside, one after another."""
    for ground in grounds:
        problem = RULES[ground.code].aside(problem, ground, needed)
    return problem


type Keys = Callable[[Problem, list[Task]], Iterator[tuple[str, ...]]]
type Aside = Callable[[Problem, Ground, Collection[str]], Problem]


@dataclass(frozen=True, slots=True)
class Rule:
    """keys: the things (of some tasks) that have such a rule; aside: the problem without it."""

    keys: Keys
    aside: Aside


def _of_tasks(key: Callable[[Task], str | None], loose: Callable[[Task], Task]) -> Rule:
    """A rule in the tasks that share a key."""

    def keys(_: Problem, tasks: list[Task]) -> Iterator[tuple[str, ...]]:
        yield from ((name,) for task in tasks if (name := key(task)) is not None)

    def aside(problem: Problem, ground: Ground, _: Collection[str]) -> Problem:
        tasks = (loose(t) if key(t) == ground.subject else t for t in problem.tasks)
        return replace(problem, tasks=tuple(tasks))

    return Rule(keys, aside)


def _of_house(loose: Callable[[House], House]) -> Rule:
    def keys(_: Problem, tasks: list[Task]) -> Iterator[tuple[str, ...]]:
        yield from ((task.house,) for task in tasks)

    def aside(problem: Problem, ground: Ground, _: Collection[str]) -> Problem:
        houses = (loose(h) if h.id == ground.subject else h for h in problem.houses)
        return replace(problem, houses=tuple(houses))

    return Rule(keys, aside)


def _of_wait(loose: Callable[[Wait], Wait | None]) -> Rule:
    """A rule in the waits between two tasks: ``subject`` after ``other``."""

    def keys(problem: Problem, tasks: list[Task]) -> Iterator[tuple[str, ...]]:
        ids = {task.id for task in tasks}
        yield from ((w.after, w.before) for w in problem.waits if {w.after, w.before} <= ids)

    def aside(problem: Problem, ground: Ground, _: Collection[str]) -> Problem:
        pair = ground.subject, ground.other
        waits = (loose(w) if (w.after, w.before) == pair else w for w in problem.waits)
        kept, curves = tuple(wait for wait in waits if wait is not None), dict(problem.curves)
        if any(wait.curve == AT_ANY_TIME for wait in kept):
            curves[AT_ANY_TIME] = constant_lag(-2 * problem.horizon)
        return replace(problem, waits=kept, curves=curves)

    return Rule(keys, aside)


def _of_all(loose: Callable[[Problem], Problem]) -> Rule:
    return Rule(lambda _, __: iter([()]), lambda problem, _, __: loose(problem))


def _equipment() -> Rule:
    def keys(problem: Problem, _: list[Task]) -> Iterator[tuple[str, ...]]:
        yield from ((item.id,) for item in problem.equipment)

    def aside(problem: Problem, ground: Ground, _: Collection[str]) -> Problem:
        def plenty(item: Equipment) -> Equipment:
            return replace(item, capacity=item.capacity + 2 * len(problem.tasks))

        items = (plenty(i) if i.id == ground.subject else i for i in problem.equipment)
        return replace(problem, equipment=tuple(items))

    return Rule(keys, aside)


def _not_done(key: Callable[[Task], str], *, fixed: bool) -> Rule:
    """Tasks that stay where they are, or others than the needed ones, are not there at all."""

    def out(task: Task, needed: Collection[str]) -> bool:
        return task.fixed is not None if fixed else not task.fixed and task.id not in needed

    def keys(problem: Problem, tasks: list[Task]) -> Iterator[tuple[str, ...]]:
        ids = {task.id for task in tasks}
        yield from ((key(task),) for task in problem.tasks if out(task, ids))

    def aside(problem: Problem, ground: Ground, needed: Collection[str]) -> Problem:
        gone = (t for t in problem.tasks if key(t) == ground.subject and out(t, needed))
        return without(problem, {task.id for task in gone})

    return Rule(keys, aside)


def without(problem: Problem, gone: Collection[str]) -> Problem:
    """Return the problem without some tasks (ids) and the waits from and to them."""
    return replace(
        problem,
        tasks=tuple(task for task in problem.tasks if task.id not in gone),
        waits=tuple(w for w in problem.waits if w.before not in gone and w.after not in gone),
    )


def _no_wait(wait: Wait) -> Wait | None:
    if wait.most is None and wait.way is None:
        return None
    return replace(wait, curve=AT_ANY_TIME, holds=())


def _day_and_night(problem: Problem) -> Problem:
    """Each window lasts until the next: breaks and nights go, heads stay as they are."""

    def longer(crew: Crew) -> Crew:
        windows = crew.windows or (Window(0, problem.horizon, 0),)
        starts = [min(0, windows[0].start), *(window.start for window in windows[1:])]
        ends = [*starts[1:], max(windows[-1].end, problem.horizon)]
        spans = zip(windows, starts, ends, strict=True)
        return replace(crew, windows=tuple(replace(w, start=a, end=b) for w, a, b in spans))

    return replace(problem, crews=tuple(map(longer, problem.crews)))


def _by_id(task: Task) -> str:
    return task.id


RULES: dict[str, Rule] = {
    "load": _not_done(lambda task: task.house, fixed=False),
    "setup": _of_all(lambda problem: replace(problem, setup_ticks=0, washup_ticks=0)),
    "travel": _of_all(lambda problem: replace(problem, travel={})),
    "equipment": _equipment(),
    "full": _of_house(lambda house: replace(house, crews_inside=None)),
    "alone": _of_tasks(lambda task: task.house, lambda task: replace(task, alone=False)),
    "room": _of_tasks(
        lambda task: task.room, lambda task: replace(task, room=f"{task.room} {task.id}")
    ),
    "grade": _of_tasks(lambda task: task.room, lambda task: replace(task, grade=None)),
    "dust": _of_tasks(lambda task: task.air_space, lambda task: replace(task, air_space=None)),
    "run": _of_tasks(lambda task: task.run, lambda task: replace(task, run=None)),
    "fixed": _not_done(_by_id, fixed=True),
    "wait": _of_wait(_no_wait),
    "lag": _of_wait(lambda wait: replace(wait, most=None)),
    "release": _of_tasks(_by_id, lambda task: replace(task, release=0)),
    "opens": _of_house(lambda house: replace(house, release=0)),
    "access": _of_house(lambda house: replace(house, access=None)),
    "closed": _of_tasks(_by_id, lambda task: replace(task, open=None)),
    "starts": _of_tasks(_by_id, lambda task: replace(task, starts=None)),
    "batch": _of_tasks(_by_id, lambda task: replace(task, batch_ticks=0)),
    "one_go": _of_tasks(
        lambda task: None if task.batch_ticks else task.id, lambda task: replace(task, split=1)
    ),
    "skill": _of_tasks(_by_id, lambda task: replace(task, skills=frozenset(), crews=None)),
    "hours": _of_all(_day_and_night),
}
"""By code what can be set aside, the least telling first: the other work to be done in a house;
set-up and wash-up; ways (also from and to the base); how many of a piece of equipment there are;
how many crews a house holds; work alone in a house; one task at a time in a room (which lets go
what lies over what there, too); nothing hard over soft; dust beside wet in one air; one crew
through a run in its order; a task that stays where it is; a wait, and how soon after one; when a
task may begin at the earliest, and a house; when a house is open, an area, the air fit; the last
batch in time; work at one go, or in pieces not too short (batches are never broken off); who may
do it (minutes by crew stay as they are); and the crews' hours."""
