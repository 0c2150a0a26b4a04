"""Plays a plan through a Problem it was not made for: what happens when the air is another.

Every crew keeps the order of its tasks and goes to each at its planned start, or as soon as it
can when it is behind. A crew that finds a coat wet, or wet air where it would sand, comes back at
its next working hour after that is dry. Until then it either goes on with its later tasks, or
stays with the order of its plan, and all of them shift behind.
"""

from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

from scheduling.solver.compiled import Compiled, Link, compile_problem
from scheduling.solver.draft import FAR, NOWHERE, Bounds, Place, empty_draft
from scheduling.solver.problem import TICK_MINUTES, Placement, Problem

HOUR_TICKS = 60 // TICK_MINUTES
WET_REASONS = frozenset({"air", "rule", "set"})
"""Reasons of waits that only the coat itself can tell; the others a crew knows before it goes."""


@dataclass(frozen=True, slots=True)
class Replay:
    """What came of a plan. ``wet_arrivals``: tasks whose crew came once in vain; ``undone``:
    tasks for which the crew's windows or the horizon ran out, and those that wait for them."""

    placements: tuple[Placement, ...]
    wet_arrivals: int
    undone: tuple[str, ...] = ()


def replay(problem: Problem, planned: Iterable[Placement], *, goes_on: bool = False) -> Replay:
    """Return how planned placements (of tasks and crews the Problem knows) go in ``problem``.

    goes_on: whether a crew does later tasks of its plan while it waits for a wet coat.
    Fixed tasks stay where the Problem has them. The result keeps all of the Problem's rules but
    maximum lags, which no crew can help once a coat stays wet.
    """
    return _Street(problem, planned, goes_on).play()


@dataclass(frozen=True, slots=True)
class _Arrival:
    """A crew's next task, where it would start it, and where it does."""

    task: int
    start: int
    place: Place


class _Street:
    """The crews on their way: what they have done, and what each still has to do in order."""

    def __init__(self, problem: Problem, planned: Iterable[Placement], goes_on: bool) -> None:
        self.goes_on = goes_on
        self.put_off: set[int] = set()
        self.compiled = compile_problem(problem)
        self.draft = empty_draft(self.compiled)
        self.planned: dict[int, int] = {}
        self.ways: dict[int, int] = {}
        self.queues: list[deque[int]] = [deque() for _ in range(self.compiled.ghost)]
        self.free_from = [0] * self.compiled.ghost
        for place in sorted(planned, key=lambda p: (p.start, p.end, p.task)):
            task = self.compiled.index[place.task]
            if self.compiled.tasks[task].fixed is None:
                self.planned[task] = place.start
                self.ways[task] = self.compiled.way_number(task, place.way)
                self.queues[self.compiled.crew_index[place.crew]].append(task)
        self.wet_waits = _wet_waits(self.compiled)

    def play(self) -> Replay:
        """Let the crews go, always the one that gets to its next task first."""
        wet, undone = 0, []
        while any(self.queues):
            arrivals = []
            for crew, task in self._next_tasks():
                arrival = self._arrival(task, crew)
                if arrival is None:
                    self.queues[crew].remove(task)
                    undone.append(self.compiled.tasks[task].id)
                else:
                    known_wet = task in self.put_off
                    came = arrival.place.start if known_wet else arrival.start
                    arrivals.append((came, crew, arrival))
            if arrivals:
                _, crew, arrival = min(arrivals, key=lambda item: item[:2])
                in_vain = arrival.place.start > arrival.start and arrival.task not in self.put_off
                wet += in_vain
                if in_vain and self.goes_on:
                    self.put_off.add(arrival.task)
                    self.free_from[crew] = arrival.start
                else:
                    self.draft.put(arrival.task, arrival.place)
                    self.queues[crew].remove(arrival.task)
                    self.free_from[crew] = arrival.place.end
        return Replay(self.draft.placements(), wet, tuple(undone))

    def _next_tasks(self) -> Sequence[tuple[int, int]]:
        """Return (crew, task) for the crews whose next task waits for nobody else's.

        Where all wait for one another, the first task in the plan that waits for nothing left
        goes out of turn; where none does, the first of all, which ends as undone.
        """
        if going := [
            (crew, task)
            for crew, queue in enumerate(self.queues)
            for task in self._choices(queue)
            if not self._open_waits(task)
        ]:
            return going
        rest = [(crew, task) for crew, queue in enumerate(self.queues) for task in queue]
        rest.sort(key=lambda item: (bool(self._open_waits(item[1])), self.planned[item[1]]))
        return rest[:1]

    def _choices(self, queue: deque[int]) -> list[int]:
        """Return what a crew may do next: its next task; where it goes on past wet coats, those
        it has found wet and the first later one that waits for nothing left."""
        if not self.goes_on:
            return [queue[0]] if queue else []
        later = (task for task in queue if task not in self.put_off and not self._open_waits(task))
        return [*(task for task in queue if task in self.put_off), *islice(later, 1)]

    def _open_waits(self, task: int) -> list[int]:
        """Return the tasks that a task waits for and that have not been done."""
        befores = self.compiled.befores(task)
        return [before for before in befores if self.draft.crew[before] == NOWHERE]

    def _arrival(self, task: int, crew: int) -> _Arrival | None:
        """Return when the crew comes to a task and when it can do it, None for never."""
        if self._open_waits(task):
            return None
        wet_air = self._wet_air(task)
        full = self._bounds(task, crew)
        blind = full._replace(
            floor=self._floor_by_knowledge(task, crew),
            blocks=[block for block in full.blocks if block not in wet_air],
        )
        came = self.draft.earliest(task, crew, blind, FAR)
        if came is None:
            return None
        dry = max(self._ready(self.wet_waits[task]), default=0)
        for start, end in sorted(wet_air):
            if start < came.end and max(came.start, dry) < end:
                dry = max(dry, end)
        if dry <= came.start:
            return _Arrival(task, came.start, came)
        later = full._replace(floor=self._working_hour(crew, dry))
        place = self.draft.earliest(task, crew, later, FAR)
        return None if place is None else _Arrival(task, came.start, place)

    def _bounds(self, task: int, crew: int) -> Bounds:
        bounds = self.draft.bounds(task, heed_pins=False).left(self.ways[task])
        floor = max(bounds.floor, self.planned[task], self.free_from[crew])
        return bounds._replace(floor=floor, last_start=FAR)

    def _floor_by_knowledge(self, task: int, crew: int) -> int:
        """Return the earliest start by all that a crew knows before it goes there."""
        compiled, end = self.compiled, self.draft.end
        wet = self.wet_waits[task]
        known = [w for w in compiled.waits_into[task] if w not in wet]
        before = compiled.run_before[task]
        return max(
            compiled.floors[task],
            self.planned[task],
            self.free_from[crew],
            end[before] if before >= 0 else 0,
            *self._ready(known),
        )

    def _ready(self, links: Iterable[Link]) -> Iterator[int]:
        """Yield when each of the waits that count is over."""
        for before, curve, way in links:
            if self.draft.counts(before, way):
                yield curve.ready(self.draft.end[before])

    def _wet_air(self, task: int) -> list[tuple[int, int]]:
        """Return the spans in which wet coats keep a dusty task out of its air."""
        draft, spans = self.draft, []
        for wet in self.compiled.foes_of_dusty[task]:
            curve = self.compiled.wet_curves[wet]
            if draft.crew[wet] != NOWHERE and curve:
                spans.append((draft.start[wet], max(draft.end[wet], curve.ready(draft.end[wet]))))
        return spans

    def _working_hour(self, crew: int, tick: int) -> int:
        """Return the crew's first full hour of a window at or after a tick."""
        for window in self.compiled.problem.crews[crew].windows:
            if tick < window.end:
                hours = max(0, -(-(tick - window.start) // HOUR_TICKS))
                hour = window.start + hours * HOUR_TICKS
                if hour < window.end:
                    return hour
        return tick


def _wet_waits(compiled: Compiled) -> list[list[Link]]:
    """Return by task the waits that a crew finds out about only when it is there."""
    waits: list[list[Link]] = [[] for _ in compiled.tasks]
    for wait in compiled.problem.waits:
        if wait.reason in WET_REASONS:
            before, curve = compiled.index[wait.before], compiled.problem.curves[wait.curve]
            link = Link(before, curve, compiled.way_number(before, wait.way))
            waits[compiled.index[wait.after]].append(link)
    return waits
