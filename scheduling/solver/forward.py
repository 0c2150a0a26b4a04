"""Runs a plan forward through many histories at once.

The Problem is the same in all of them but for some waits and allowed starts (the air's), of which
each history has its own. The crews' policy is the simplest there is: wait, then shift right. Every
order of the plan is kept (of a crew's tasks, in a room, on shared things, of dust and wet coats),
and a task starts at its planned tick or as soon after it as its crew is there, all it waits for is
over and a window holds it. So a longer wait makes nothing earlier. What finds no place before the
horizon is left out, and its crew goes on. Maximum lags, which no crew can help once a coat stays
wet, are not heeded.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from scheduling.solver.by_history import NEVER, Later, Starts, Ticks, after, if_done, in_all
from scheduling.solver.compiled import compile_problem
from scheduling.solver.problem import Placement, Problem, Wait
from scheduling.solver.replay import WET_REASONS
from scheduling.solver.turns import turns_of


@dataclass(frozen=True)
class Histories:
    """What differs by history. ready: by curve (id), from when something may follow what ended at
    a tick. may_start: by task (id), the first tick from one on at which it may start, in place of
    its ``starts``; NEVER where there is none. What is not named is in all as the Problem says.
    """

    count: int
    ready: Mapping[str, Later] = field(default_factory=dict)
    may_start: Mapping[str, Later] = field(default_factory=dict)

    def curves_of(self, problem: Problem) -> dict[str, Later]:
        """Return every curve of a Problem by id, the histories' own first."""
        return {name: self.ready.get(name) or in_all(c) for name, c in problem.curves.items()}


@dataclass(frozen=True)
class Forward:
    """Starts and ends by task (id) and history, NEVER for what was left out. ``in_vain``: by
    history, how often a crew came to a coat that was not ready."""

    starts: Mapping[str, Ticks]
    ends: Mapping[str, Ticks]
    in_vain: Ticks


def run_forward(problem: Problem, planned: Iterable[Placement], histories: Histories) -> Forward:
    """Return when planned placements (of tasks and crews the Problem knows) come about.

    Work under way (fixed before ``now``) stays where it is. Tasks without a place in the plan are
    not done, nor are those that wait for one.
    """
    return _Street(problem, planned, histories).run()


def handover_ticks(problem: Problem, forward: Forward, histories: Histories) -> dict[str, Ticks]:
    """Return by handover (id) and history the tick at which its last task is done; a handover
    without tasks is absent."""
    curves = histories.curves_of(problem)
    done: dict[str, Ticks] = {}
    for task in problem.tasks:
        if task.handover is not None:
            end = forward.ends.get(task.id, np.full(histories.count, NEVER))
            end = after(curves[task.done_curve], end) if task.done_curve else end
            done[task.handover] = np.maximum(end, done.get(task.handover, end))
    return done


class _Street:
    """The crews on their way: what has been done in each history, task after task of the plan."""

    def __init__(
        self, problem: Problem, planned: Iterable[Placement], histories: Histories
    ) -> None:
        self.histories = histories
        self.compiled = compile_problem(_with_free_starts(problem, histories))
        self.curves = histories.curves_of(problem)
        index = self.compiled.index
        self.places = {index[place.task]: place for place in planned}
        self.places |= {index[t.id]: t.fixed for t in problem.tasks if t.fixed}
        self.waits: dict[int, list[Wait]] = defaultdict(list)
        for wait in problem.waits:
            before = self.places.get(index[wait.before])
            if wait.way is None or before is None or before.way == wait.way:
                self.waits[index[wait.after]].append(wait)
        self.turns = turns_of(problem, self.places)
        self.starts: dict[int, Ticks] = {}
        self.ends: dict[int, Ticks] = {}
        self.wet: dict[int, Ticks] = {}
        self.free = np.zeros((self.compiled.ghost + 1, histories.count), dtype=np.int64)
        self.at_house = np.full_like(self.free, -1)
        nowhere = [0] * len(self.compiled.gaps)
        self.gaps = np.array([*self.compiled.gaps, nowhere], dtype=np.int64)
        self.choices: dict[int, Starts] = {}

    def run(self) -> Forward:
        """Do the tasks in the order of the plan."""
        in_vain = np.zeros(self.histories.count, dtype=np.int64)
        order = sorted(self.places.items(), key=lambda item: (item[1].start, item[1].end, item[0]))
        for task, place in order:
            crew = self.compiled.crew_number(place.crew)
            if self.compiled.tasks[task].fixed:
                start, end = (np.full(self.histories.count, t) for t in (place.start, place.end))
            else:
                start, end, wet = self._place(task, crew, place.start)
                in_vain += wet
            self._note(task, crew, start, end)
        names = [task.id for task in self.compiled.tasks]
        return Forward(
            {names[task]: start for task, start in self.starts.items()},
            {names[task]: end for task, end in self.ends.items()},
            in_vain,
        )

    def _note(self, task: int, crew: int, start: Ticks, end: Ticks) -> None:
        self.starts[task], self.ends[task] = start, end
        last = (end < NEVER) & (end >= self.free[crew])
        self.free[crew] = np.where(last, end, self.free[crew])
        self.at_house[crew] = np.where(last, self.compiled.house[task], self.at_house[crew])
        if (curve := self.compiled.tasks[task].wet_curve) and self.compiled.foes_of_wet[task]:
            self.wet[task] = if_done(np.maximum(end, after(self.curves[curve], end)))

    def _place(self, task: int, crew: int, planned: int) -> tuple[Ticks, Ticks, Ticks]:
        """Return start and end of a task, and in which histories its crew came in vain."""
        known = np.full(self.histories.count, max(planned, self.compiled.floors[task]))
        for floor in self._known_floors(task):
            known = np.maximum(known, floor)
        start, end = self._earliest(task, crew, known)
        dry = np.zeros_like(known)
        for floor in self._found_out(task):
            dry = np.maximum(dry, floor)
        wet = (dry > start) & (start < NEVER)
        if wet.any():
            start, end = self._earliest(task, crew, np.maximum(known, dry))
        return start, end, wet.astype(np.int64)

    def _known_floors(self, task: int) -> Iterator[Ticks]:
        """Yield when each thing is over that a crew knows before it goes to a task."""
        compiled, ends = self.compiled, self.ends
        yield from (self._over(wait) for wait in self.waits[task] if not _can_be_wet(wait))
        if compiled.run_before[task] in ends:
            yield ends[compiled.run_before[task]]
        beside = compiled.shut_out[task]
        dusty = compiled.foes_of_wet[task] if compiled.tasks[task].wet_curve else []
        yield from (if_done(ends[other]) for other in (*beside, *dusty) if other in ends)
        for turn in self.turns.get(task, ()):
            over = [after(self.curves[curve], ends[turn.before]) for curve in turn.curves]
            yield if_done(np.maximum.reduce([ends[turn.before], *over])) - turn.head_start

    def _found_out(self, task: int) -> Iterator[Ticks]:
        """Yield when each coat is dry that a crew finds out about only when it is there."""
        yield from (self._over(wait) for wait in self.waits[task] if _can_be_wet(wait))
        foes = self.compiled.foes_of_dusty[task]
        yield from (self.wet[other] for other in foes if other in self.wet)

    def _over(self, wait: Wait) -> Ticks:
        end = self.ends.get(self.compiled.index[wait.before])
        if end is None:
            return np.full(self.histories.count, NEVER)
        return after(self.curves[wait.curve], end)

    def _earliest(self, task: int, crew: int, floor: Ticks) -> tuple[Ticks, Ticks]:
        """Return the earliest start of a task on a crew from a floor on, and its end."""
        choices = self.compiled.choices[task][crew] if crew < self.compiled.ghost else None
        if choices is None:
            return np.full_like(floor, NEVER), np.full_like(floor, NEVER)
        if id(choices) not in self.choices:
            self.choices[id(choices)] = Starts.of(choices)
        starts = self.choices[id(choices)]
        gap = self.gaps[self.at_house[crew], self.compiled.house[task]]
        may_start = self.histories.may_start.get(self.compiled.tasks[task].id)
        start, end = starts.first(floor, self.free[crew], gap)
        while may_start is not None:
            allowed = after(may_start, start)
            if np.array_equal(allowed, start):
                break
            start, end = starts.first(allowed, self.free[crew], gap)
        return start, end


def _can_be_wet(wait: Wait) -> bool:
    return wait.reason in WET_REASONS


def _with_free_starts(problem: Problem, histories: Histories) -> Problem:
    """Return the Problem with nothing fixed but work under way, and without the allowed starts
    that the histories have in their place."""
    return replace(
        problem,
        tasks=tuple(
            replace(
                task,
                starts=None if task.id in histories.may_start else task.starts,
                fixed=task.fixed if task.fixed and task.fixed.start < problem.now else None,
            )
            for task in problem.tasks
        ),
    )
