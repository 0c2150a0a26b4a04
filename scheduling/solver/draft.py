"""A plan in the making: who is where when, and the earliest place for one more task."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

from scheduling.solver.compiled import Compiled, Leaving
from scheduling.solver.curves import latest_end
from scheduling.solver.exits import Exit, Hold, first_exit, held_until
from scheduling.solver.pieces import Piece, worked
from scheduling.solver.problem import Placement
from scheduling.solver.shared import Stretch, Thing, full_spans
from scheduling.solver.ways import EVERY

FAR = 10**9
"""A tick later than any other."""

NOWHERE = -1
"""Crew index of a task that has no place yet."""


class Place(NamedTuple):
    """A crew (index), ticks, the number of the crew's window, and that of the way it is left."""

    crew: int
    start: int
    end: int
    window: int
    way: int = 0


class Bounds(NamedTuple):
    """What the tasks already placed leave to one task, whoever does it.

    It starts at or after ``floor``, ends at or before ``latest`` and stays out of ``blocks``.
    Maximum lags have it start at or before ``last_start`` and end at or after ``first_end``.
    It is left by one of the ``exits``; there are none where nothing depends on how it is left.
    """

    floor: int
    latest: int
    blocks: list[tuple[int, int]]
    last_start: int = FAR
    first_end: int = 0
    exits: tuple[Exit, ...] = ()

    def left(self, way: int) -> "Bounds":
        """Return the bounds with one way (number) to leave; all of them if that is none of them."""
        exits = tuple(one for one in self.exits if one.way == way)
        return self._replace(exits=exits) if exits else self


@dataclass(slots=True)
class Draft:
    """Places by task index, and each crew's tasks in the order of their starts.

    ``until`` and ``leaves`` say when and at which house (index) a crew is free after a task;
    they differ from its end and house only where fixed tasks of one crew overlap. ``room`` is by
    crew and window how long a stretch is free at most, so that full windows are passed by.
    ``wanted`` are the ways (numbers) in which tasks are to be left when they are placed next;
    others are left in the way whose waits are over first. ``thrifty``: whether places in windows
    at a price are left alone.
    """

    compiled: Compiled
    crew: list[int]
    start: list[int]
    end: list[int]
    window: list[int]
    way: list[int]
    until: list[int]
    leaves: list[int]
    begins: list[list[int]]
    items: list[list[int]]
    room: list[list[int]]
    wanted: dict[int, int] = field(default_factory=dict)
    thrifty: bool = False

    def copy(self) -> "Draft":
        """Return a draft that can be changed without changing this one."""
        return Draft(
            self.compiled,
            self.crew[:],
            self.start[:],
            self.end[:],
            self.window[:],
            self.way[:],
            self.until[:],
            self.leaves,
            [begins[:] for begins in self.begins],
            [items[:] for items in self.items],
            [room[:] for room in self.room],
        )

    def put(self, task: int, place: Place) -> None:
        """Give a task its place; whether the place is allowed is the caller's business."""
        crew, start, self.end[task], self.window[task], self.way[task] = place
        self.crew[task], self.start[task] = crew, start
        self.until[task] = place.end
        begins, items = self.begins[crew], self.items[crew]
        spot = bisect_right(begins, start)
        begins.insert(spot, start)
        items.insert(spot, task)
        self._measure(place.crew, place.window, spot)

    def take(self, task: int) -> Place:
        """Take a task out of the draft and return the place it had."""
        crew, start = self.crew[task], self.start[task]
        spot = self.items[crew].index(task, bisect_left(self.begins[crew], start))
        del self.begins[crew][spot], self.items[crew][spot]
        self.crew[task] = NOWHERE
        self._measure(crew, self.window[task], spot)
        return Place(crew, start, self.end[task], self.window[task], self.way[task])

    def place(self, task: int) -> Place:
        """Return the place of a task that has one."""
        return Place(
            self.crew[task], self.start[task], self.end[task], self.window[task], self.way[task]
        )

    def _measure(self, crew: int, number: int, spot: int) -> None:
        """Note the longest stretch that tasks around a spot in the crew's list leave its window.

        Fixed tasks that reach into further windows are not counted there: it is an upper limit.
        """
        if crew == self.compiled.ghost or not self.room[crew]:
            return
        items, window = self.items[crew], self.window
        first = last = spot
        while first and window[items[first - 1]] == number:
            first -= 1
        while last < len(items) and window[items[last]] == number:
            last += 1
        whole = self.compiled.problem.crews[crew].windows[number]
        free, longest = whole.start, 0
        for task in items[first:last]:
            longest = max(longest, self.start[task] - free)
            free = max(free, self.end[task])
        self.room[crew][number] = max(longest, whole.end - free)

    def bounds(self, task: int, heed_pins: bool = True) -> Bounds:
        """Return what waits, run order, room and air leave to a task.

        With ``heed_pins`` false the task may come too late for fixed tasks that wait for it, but
        still not go over something softer.
        """
        compiled, crew, end, ways = self.compiled, self.crew, self.end, self.way
        floor = compiled.floors[task]
        for before, curve, way in compiled.waits_into[task]:
            if crew[before] != NOWHERE and (way == EVERY or way == ways[before]):
                floor = max(floor, curve.ready(end[before]))
        latest = compiled.problem.horizon
        for after, curve, way in compiled.waits_from[task]:
            if way == EVERY and self._binds(after, heed_pins):
                latest = min(latest, latest_end(curve, self.start[after]))
        for softer in compiled.softer_fixed[task]:
            latest = min(latest, self.start[softer])
        before = compiled.run_before[task]
        if before >= 0 and crew[before] != NOWHERE:
            floor = max(floor, end[before])
        after = compiled.run_after[task]
        if after >= 0 and self._binds(after, heed_pins):
            latest = min(latest, self.start[after])
        blocks = self._blocks(task, floor)
        lags = self._lag_bounds(task, heed_pins) if compiled.chained[task] else (FAR, 0)
        if not compiled.leavings[task]:
            return Bounds(floor, latest, blocks, *lags)
        exits = tuple(self._exit(task, way, heed_pins) for way in compiled.leavings[task])
        latest = min(latest, max(one.latest for one in exits))
        bounds = Bounds(floor, latest, blocks, *lags, exits)
        return bounds.left(self.wanted[task]) if task in self.wanted else bounds

    def _binds(self, after: int, heed_pins: bool) -> bool:
        """Return whether a task has a place that those it waits for must heed."""
        placed = self.crew[after] != NOWHERE
        return placed and (heed_pins or self.compiled.tasks[after].fixed is None)

    def _lag_bounds(self, task: int, heed_pins: bool) -> tuple[int, int]:
        """Return the last start and the first end that maximum lags leave to a task, however it
        is left."""
        compiled, last_start, first_end = self.compiled, FAR, 0
        for before, most, way in compiled.most_into[task]:
            if self.counts(before, way):
                last_start = min(last_start, self.end[before] + most)
        for after, most, way in compiled.most_from[task]:
            if way == EVERY and self._binds(after, heed_pins):
                first_end = max(first_end, self.start[after] - most)
        return last_start, first_end

    def _exit(self, task: int, leaving: Leaving, heed_pins: bool) -> Exit:
        """Return what the tasks placed make of one way to leave a task."""
        compiled, latest, first_end = self.compiled, FAR, 0
        for after, curve, way in compiled.waits_from[task]:
            if way == leaving.way and self._binds(after, heed_pins):
                latest = min(latest, latest_end(curve, self.start[after]))
        for after, most, way in compiled.most_from[task]:
            if way == leaving.way and self._binds(after, heed_pins):
                first_end = max(first_end, self.start[after] - most)
        holds = (Hold(curves, self.full(thing)) for thing, curves in leaving.holds)
        return Exit(leaving.way, leaving.curves, latest, first_end, tuple(holds))

    def counts(self, before: int, way: int) -> bool:
        """Return whether a wait for a task (in a way, or EVERY) counts: the task has a place and
        is left so."""
        return self.crew[before] != NOWHERE and way in {EVERY, self.way[before]}

    def uses(self, thing: Thing) -> Iterator[Stretch]:
        """Yield the spans in which the tasks placed have one of what is scarce."""
        for task in thing.users:
            if self.crew[task] != NOWHERE:
                yield self.start[task], self.end[task]
        for task, way, curves in thing.holders:
            if self.counts(task, way):
                yield self.end[task], held_until(curves, self.end[task])

    def full(self, thing: Thing) -> list[Stretch]:
        """Return the spans in which the tasks placed have all there is of what is scarce."""
        return full_spans(thing.capacity, self.uses(thing))

    def _blocks(self, task: int, floor: int) -> list[tuple[int, int]]:
        """Return the spans that the task may not touch: room taken, dust, wet air, nothing left
        of what it shares."""
        compiled, crew, end = self.compiled, self.crew, self.end
        blocks = [
            (self.start[mate], end[mate])
            for mate in compiled.shut_out[task]
            if end[mate] > floor and crew[mate] != NOWHERE
        ]
        for wet in compiled.foes_of_dusty[task]:
            curve = compiled.wet_curves[wet]
            if crew[wet] != NOWHERE and curve:
                blocks.append((self.start[wet], max(end[wet], curve.ready(end[wet]))))
        for thing in compiled.shared_by[task]:
            blocks.extend(self.full(thing))
        curve = compiled.wet_curves[task]
        for dusty in compiled.foes_of_wet[task]:
            if crew[dusty] != NOWHERE and end[dusty] > floor and curve:
                start = self.start[dusty]
                blocks.append((min(start, latest_end(curve, start)), end[dusty]))
        return blocks

    def earliest(self, task: int, crew: int, bounds: Bounds, before: int) -> Place | None:
        """Return the crew's earliest place for a task within bounds that ends before a tick."""
        compiled = self.compiled
        choices = (compiled.thrifty if self.thrifty else compiled.choices)[task][crew]
        if choices is None:
            return None
        floor, latest, blocks, last_start, first_end, exits = bounds
        latest = min(latest, before - 1)
        begins, items, until, leaves = self.begins[crew], self.items[crew], self.until, self.leaves
        home, gaps = compiled.house[task], compiled.gaps
        highs, durations, windows = choices.highs, choices.durations, choices.windows
        room, whole = self.room[crew], not compiled.tasks[task].split
        later = range(bisect_left(highs, floor), len(highs))
        for choice in (c for c in later if not whole or durations[c] <= room[windows[c]]):
            duration, high = durations[choice], highs[choice]
            start = max(floor, choices.lows[choice], first_end - duration)
            if start >= latest:
                return None
            high = min(high, latest - duration, last_start)
            opens, closes = choices.opens[choice], choices.closes[choice]
            spot = bisect_right(begins, start)
            while start <= high:
                if spot:
                    last = items[spot - 1]
                    clear = until[last]
                    if clear > opens:
                        clear += gaps[leaves[last]][home]
                    if clear > start:
                        start = clear
                        if start > high:
                            break
                end = start + duration
                if spot < len(begins):
                    limit = begins[spot]
                    if limit < closes:
                        limit -= gaps[home][compiled.house[items[spot]]]
                    if limit < end:
                        spot += 1
                        start = max(start, begins[spot - 1])
                        continue
                moved, way = _clear(blocks, exits, start, end)
                if moved == start:
                    return Place(crew, start, end, windows[choice], way)
                start = moved
                spot = bisect_right(begins, start, spot)
        return None

    def pieces(self, task: int, place: Place) -> list[Piece]:
        """Return the unbroken pieces in which a task is worked at a place: one, unless it may be
        split."""
        crew, start, end, window, _ = place
        usable = self.compiled.stretches.get((task, crew))
        pieces = worked(self.compiled.tasks[task].split, usable, start, end) if usable else []
        return pieces or [(start, end, window)]

    def placements(self) -> tuple[Placement, ...]:
        """Return what is placed, fixed tasks as they were given, in the order of the Problem."""
        problem = self.compiled.problem
        return tuple(
            task.fixed
            or Placement(
                task.id,
                problem.crews[self.crew[i]].id,
                self.start[i],
                self.end[i],
                self.compiled.ways[i][self.way[i]] if self.compiled.ways[i] else "",
            )
            for i, task in enumerate(problem.tasks)
            if self.crew[i] != NOWHERE
        )


def empty_draft(compiled: Compiled) -> Draft:
    """Return a draft that holds the fixed tasks, exactly as given, and nothing else."""
    count, crews = len(compiled.tasks), compiled.ghost + 1
    draft = Draft(
        compiled,
        crew=[NOWHERE] * count,
        start=[0] * count,
        end=[0] * count,
        window=[0] * count,
        way=[0] * count,
        until=[0] * count,
        leaves=compiled.house[:],
        begins=[[] for _ in range(crews)],
        items=[[] for _ in range(crews)],
        room=[[w.end - w.start for w in crew.windows] for crew in compiled.problem.crews],
    )
    fixed = [(task.fixed, i) for i, task in enumerate(compiled.tasks) if task.fixed]
    for place, i in sorted(fixed, key=lambda pair: (pair[0].start, pair[0].end, pair[0].task)):
        crew = compiled.crew_number(place.crew)
        window = window_at(compiled, crew, place.start)
        way = max(0, compiled.way_number(i, place.way))
        draft.put(i, Place(crew, place.start, place.end, window, way))
        others = draft.items[crew][:-1]
        if others and draft.until[others[-1]] > place.end:
            draft.until[i], draft.leaves[i] = draft.until[others[-1]], draft.leaves[others[-1]]
    return draft


def window_at(compiled: Compiled, crew: int, tick: int) -> int:
    """Return the number of the crew's last window that opens at or before a tick, else 0."""
    if crew == compiled.ghost:
        return 0
    opens = [window.start for window in compiled.problem.crews[crew].windows]
    return max(0, bisect_right(opens, tick) - 1)


def _clear(
    blocks: list[tuple[int, int]], exits: tuple[Exit, ...], start: int, end: int
) -> tuple[int, int]:
    """Return ``start`` and the way to leave, if [start, end) touches no block and a way is open;
    else the next start to try, and any way."""
    for first, last in blocks:
        if first < end and start < last:
            return last, 0
    if not exits:
        return start, 0
    way, later = first_exit(exits, end)
    return start + later - end, way
