"""What the solver is given: crews, houses, tasks, and the waits between tasks.

Time is whole ticks of five minutes from ``Problem.origin`` (a UTC instant). Every span is
half open: ``[start, end)``. The solver does not know what a coat is: whoever builds a Problem
has already turned drying into ready curves and cold nights into allowed starts.
"""

from bisect import bisect_left
from collections.abc import Mapping
from dataclasses import dataclass, field

TICK_MINUTES = 5
"""Length of one tick. Durations and waits are rounded up to ticks, windows inwards."""


@dataclass(frozen=True, slots=True)
class Span:
    """Ticks from ``start`` up to, not including, ``end``."""

    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Window:
    """One unbroken stretch of a crew's working day.

    ``day`` numbers the crew's local working day: windows before and after a lunch break share
    it. ``heads`` is how many people work in this window; a task's length follows from it.
    ``lacks`` are skills of the crew that nobody who is there in this window has.
    price: what each tick worked in it weighs (overtime, a Saturday), in weighted minutes of
        lateness; 0 for ordinary hours.
    """

    start: int
    end: int
    day: int
    heads: int = 1
    lacks: frozenset[str] = frozenset()
    price: int = 0


@dataclass(frozen=True, slots=True)
class Crew:
    """A crew, its working windows in rising order, and the skills it has.

    base: a place in ``travel`` where the crew is when its day begins and must be when it ends,
    None for no such place. On a day it starts no task before the opening of the day's first
    window, the way to the house and the set-up, and ends none after the closing of its last less
    the wash-up and the way back.
    """

    id: str
    windows: tuple[Window, ...]
    skills: frozenset[str] = frozenset()
    base: str | None = None


@dataclass(frozen=True, slots=True)
class House:
    """A place of work. ``access`` None means it is always open to crews.

    crews_inside: how many crews may work in it at once, None for any number.
    release: no task in it that is not fixed starts before this tick.
    """

    id: str
    access: tuple[Span, ...] | None = None
    crews_inside: int | None = None
    release: int = 0


@dataclass(frozen=True, slots=True)
class Equipment:
    """Something that tasks share; ``capacity`` of them can have it at once, to work with or to
    stay with what they left (``Wait.holds``)."""

    id: str
    capacity: int = 1


@dataclass(frozen=True, slots=True)
class Handover:
    """A promise to the builder: lateness is ``weight`` x minutes finished after ``due``."""

    id: str
    house: str
    due: int
    weight: int = 1


@dataclass(frozen=True, slots=True)
class ReadyCurve:
    """Earliest tick at which something may follow, given the tick at which it ended.

    Step ``i`` holds for ends in ``(ends[i-1], ends[i]]`` and answers
    ``max(end + lags[i], floors[i])``; the last step also holds for every later end.
    The answer never falls as the end rises (``services/inputs.py`` and the instance reader
    check this with :func:`curve_faults`).
    """

    ends: tuple[int, ...]
    lags: tuple[int, ...]
    floors: tuple[int, ...]

    def ready(self, end: int) -> int:
        """Return the earliest start (tick) after an end at tick ``end``."""
        step = min(bisect_left(self.ends, end), len(self.ends) - 1)
        return max(end + self.lags[step], self.floors[step])


def constant_lag(ticks: int) -> ReadyCurve:
    """Return the curve of a wait that is always ``ticks`` long."""
    return ReadyCurve((0,), (ticks,), (0,))


def curve_faults(curve: ReadyCurve) -> list[str]:
    """Return what is wrong with a curve: uneven lengths, unsorted ends, or a falling answer."""
    lengths = {len(curve.ends), len(curve.lags), len(curve.floors)}
    if len(lengths) != 1 or 0 in lengths:
        return ["uneven"]
    faults = []
    for here, after in zip(range(len(curve.ends)), range(1, len(curve.ends)), strict=False):
        if curve.ends[after] <= curve.ends[here]:
            faults.append("unsorted")
        elif curve.ready(curve.ends[here] + 1) < curve.ready(curve.ends[here]):
            faults.append("falling")
    return faults


@dataclass(frozen=True, slots=True)
class Wait:
    """``after`` may not start before ``curve`` says so, given when ``before`` ended.

    Two tasks may have several waits between them; the latest binds. ``reason`` is a code for
    explanations: ``order``, ``set``, ``rule``, ``air`` or ``dryer``. ``most``: ``after`` must start
    at most so many ticks after the end of ``before`` (a maximum lag); None for no limit.

    way: the wait counts only where ``before`` is left in the way of this name (to dry by itself,
        with a dryer), None for always. The ways of a task are the names in its waits' ``way``;
        one that has any is left in exactly one of them.
    holds: ids of the equipment that stays with what ``before`` left, one of each, from its end
        until ``curve`` says so, while the wait counts. What several waits of a task hold is held
        once, until the last of them is over.
    A task that waits in some way for one without a place has no place either. When a wet task is
    dry for dust, and done for its promise, does not depend on its way.
    """

    before: str
    after: str
    curve: str
    reason: str = "order"
    most: int | None = None
    way: str | None = None
    holds: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Placement:
    """A task given to a crew from ``start`` to ``end`` (ticks), and the way in which it is left:
    one of those its waits name, "" where they name none."""

    task: str
    crew: str
    start: int
    end: int
    way: str = ""


@dataclass(frozen=True, slots=True)
class Task:
    """Work that one crew does at one go, within one of its windows, or in pieces (``split``).

    person_minutes: work content; it lasts ``ceil(person_minutes / heads / 5)`` ticks, at least 1.
    minutes_by_crew: by crew id how many minutes it takes that crew, whatever its heads, instead
        of person_minutes; crews it does not name may not do it. None for person_minutes.
    room: only one task runs in a room at a time. alone: while it runs, no other task runs in its
        house at all (a tower in the stairwell blocks the way to the other rooms).
    run: tasks with the same run are done by the same crew, one after another in the order in
        which ``Problem.tasks`` lists them (a coat that goes from room to room).
    crews: ids of the crews that may do it, or None for every crew with all its ``skills``.
    release: not before this tick. ``starts``: spans in which it may start, None for any.
    open: spans of which one must hold the whole task, None for always.
    batch_ticks: work goes in batches of this length from the task's start, and the last batch
        must begin at least so long before the window's end less the wash-up; 0 for no batches.
    air_space, dusty, wet_curve: a dusty task may not overlap a wet one in the same air space: it
        ends before the wet task starts or starts after ``wet_curve`` of the wet task's end.
    grade: how hard what it leaves on the room is (higher is harder), None for nothing; in a room
        nothing may go over a lower grade.
    handover: the promise it counts towards, at its end or at ``done_curve`` of its end.
    needs: ids of the equipment it takes one of while it runs.
    split: the least ticks of work in a piece, where the task may be broken off at a crew's lunch
        or for the night and gone on with in its next windows; 0 where it may not. See below.
    fixed: where it must stay (work in progress, frozen or pinned), or None.

    A task with ``split`` is worked in stretches: the unbroken ticks of one of its crew's windows
    in which the crew could work on it (after the set-up, before the wash-up, the ways from and to
    the base kept, no skill lacking, the house's ``access`` and ``open`` given). It starts in a
    stretch and works to the end of it, then through whole stretches, each at the pace of its
    heads, up to the one in which its work is done. Stretches shorter than ``split`` are passed
    over. No piece is shorter than ``split``, but of a task done at one go: a start whose first or
    last piece would be shorter is not allowed, so a crew may begin a little later than it could.
    From start to end its crew does nothing else, and the room, the place in the house, the
    equipment and the air are taken, nights included. ``starts`` speaks of the start alone.
    Batches and ``split`` exclude each other.
    """

    id: str
    house: str
    room: str
    person_minutes: int = 0
    run: str | None = None
    skills: frozenset[str] = frozenset()
    crews: tuple[str, ...] | None = None
    release: int = 0
    starts: tuple[Span, ...] | None = None
    open: tuple[Span, ...] | None = None
    batch_ticks: int = 0
    air_space: str | None = None
    dusty: bool = False
    wet_curve: str | None = None
    grade: int | None = None
    alone: bool = False
    handover: str | None = None
    done_curve: str | None = None
    fixed: Placement | None = None
    minutes_by_crew: Mapping[str, int] | None = None
    needs: tuple[str, ...] = ()
    split: int = 0


@dataclass(frozen=True, slots=True)
class Problem:
    """Everything one planning run is told; it is stored as JSON with the run.

    A crew's block is its consecutive tasks at one house inside one window. A block starts with
    ``setup_ticks`` before its first task and ends with ``washup_ticks`` after its last, both
    inside the window; between blocks at different houses in one window the crew also travels
    ``travel[a, b]`` ticks (absent pairs take none). Waiting inside a block asks for neither.
    A visit is a crew's work at one house on one day (of a split task, that day's pieces); one
    with less work than ``worthwhile_ticks`` counts twice in the score. ``another_crew``: each
    crew beyond the first that works in a house counts as so many visits more.
    ``horizon``: every task ends at or before this tick. ``now``: nothing not fixed starts earlier.
    """

    origin: str
    horizon: int
    crews: tuple[Crew, ...]
    houses: tuple[House, ...]
    tasks: tuple[Task, ...]
    handovers: tuple[Handover, ...] = ()
    waits: tuple[Wait, ...] = ()
    curves: Mapping[str, ReadyCurve] = field(default_factory=dict)
    travel: Mapping[tuple[str, str], int] = field(default_factory=dict)
    now: int = 0
    setup_ticks: int = 0
    washup_ticks: int = 0
    worthwhile_ticks: int = 0
    equipment: tuple[Equipment, ...] = ()
    another_crew: int = 0


def duration_ticks(person_minutes: int, heads: int) -> int:
    """Return how many whole ticks ``heads`` people need for ``person_minutes`` of work."""
    return max(1, -(-person_minutes // (heads * TICK_MINUTES)))


def task_ticks(task: Task, crew: str, heads: int) -> int:
    """Return how many whole ticks a task takes a crew (one that may do it) with so many heads."""
    if task.minutes_by_crew is not None:
        return duration_ticks(task.minutes_by_crew[crew], 1)
    return duration_ticks(task.person_minutes, heads)


def may_do(task: Task, crew: Crew) -> bool:
    """Return whether a crew has the skills for a task and is not shut out by name."""
    named = task.minutes_by_crew is None or crew.id in task.minutes_by_crew
    return named and task.skills <= crew.skills and (task.crews is None or crew.id in task.crews)


def last_batch_ticks(duration: int, batch_ticks: int) -> int:
    """Return the ticks from a task's start that must be left before the window's wash-up.

    Batches begin every ``batch_ticks``; each must begin ``batch_ticks`` before the wash-up, so
    the need is the duration rounded up to whole batches. Without batches it is the duration.
    """
    return -(-duration // batch_ticks) * batch_ticks if batch_ticks else duration
