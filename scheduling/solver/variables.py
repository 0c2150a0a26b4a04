"""The variables of the CP-SAT model: for each free task a start, an end, and who does it.

Tasks that are not free are held at their places. What they and the calendars leave to a free
task is worked out beforehand and becomes the domain of its start, with holes.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from ortools.sat.python import cp_model

from scheduling.solver.bound import earliest, latenesses
from scheduling.solver.compiled import Compiled
from scheduling.solver.curves import latest_end
from scheduling.solver.draft import Bounds, Draft
from scheduling.solver.exits import Exit
from scheduling.solver.problem import TICK_MINUTES
from scheduling.solver.starts import StartChoices
from scheduling.solver.tally import broken_pins, finish_of, score_of_draft
from scheduling.solver.ways import EVERY

Stretches = list[tuple[int, int]]
Kind = tuple[int, int, int]
"""A crew, the ticks it takes, and what they cost extra."""


@dataclass(frozen=True, slots=True)
class Option:
    """One crew that may do a task in ``duration`` ticks for an extra price, and its starts
    (inclusive stretches)."""

    crew: int
    duration: int
    extra: int
    starts: Stretches
    chosen: cp_model.IntVar
    interval: cp_model.IntervalVar


@dataclass(frozen=True, slots=True)
class Slot:
    """The variables of one free task; ``ends`` are all ends it could have (stretches).

    exits: its ways to be left, as far as held tasks have a say; ``lefts`` are the literals, where
    there are several.
    """

    start: cp_model.IntVar
    end: cp_model.IntVar
    options: tuple[Option, ...]
    ends: Stretches
    exits: tuple[Exit, ...]
    lefts: tuple[cp_model.IntVar, ...]

    def left(self, way: int) -> list[cp_model.IntVar]:
        """Return what must hold for a wait in a way (number, or EVERY) to count: nothing or a
        literal."""
        return [] if way == EVERY or not self.lefts else [self.lefts[way]]


@dataclass(slots=True)
class Variables:
    """A model under construction. ``draft`` is the plan to beat and the source of every hint;
    ``base`` is the same plan without the free tasks."""

    compiled: Compiled
    draft: Draft
    base: Draft
    model: cp_model.CpModel = field(default_factory=cp_model.CpModel)
    slots: dict[int, Slot] = field(default_factory=dict)
    run_crews: dict[tuple[int, int], cp_model.IntVar] = field(default_factory=dict)
    later_than: dict[tuple[int, int], cp_model.IntVar] = field(default_factory=dict)

    def integer(self, low: int, high: int, hint: int) -> cp_model.IntVar:
        """Return a new variable in [low, high] with its value in the draft."""
        variable = self.model.new_int_var(low, high, "")
        self.model.add_hint(variable, hint)
        return variable

    def literal(self, hint: bool) -> cp_model.IntVar:
        """Return a new literal with its value in the draft."""
        variable = self.model.new_bool_var("")
        self.model.add_hint(variable, hint)
        return variable

    def ends_after(self, task: int, tick: int) -> cp_model.IntVar:
        """Return the literal that is true if and only if a free task ends after a tick."""
        known = self.later_than.get((task, tick))
        if known is None:
            known = self.literal(self.draft.end[task] > tick)
            self.model.add(self.slots[task].end <= tick).only_enforce_if(~known)
            self.model.add(self.slots[task].end > tick).only_enforce_if(known)
            self.later_than[task, tick] = known
        return known


def new_variables(draft: Draft, free: Sequence[int]) -> Variables | None:
    """Return the variables of the free tasks (indices, all placed; a task after those it waits
    for), or None where some task has no start left."""
    base = draft.copy()
    for task in free:
        base.take(task)
    variables = Variables(draft.compiled, draft, base)
    bounds = _tightened(draft, base, free)
    for task in free:
        starts = _open_starts(base, task, bounds[task])
        if not starts:
            return None
        variables.slots[task] = _slot(variables, task, starts, bounds[task].exits)
    return variables


def _slot(
    variables: Variables,
    task: int,
    starts: dict[Kind, Stretches],
    exits: tuple[Exit, ...],
) -> Slot:
    draft, model = variables.draft, variables.model
    doing = draft.crew[task], draft.end[task] - draft.start[task], extra_now(draft, task)
    first = min(stretches[0][0] for stretches in starts.values())
    last = max(stretches[-1][1] for stretches in starts.values())
    ends = sorted(
        (low + length, high + length)
        for (_, length, _), stretches in starts.items()
        for low, high in stretches
    )
    start = variables.integer(first, last, draft.start[task])
    end = variables.integer(ends[0][0], max(high for _, high in ends), draft.end[task])
    options = []
    for (crew, length, extra), stretches in starts.items():
        chosen = variables.literal((crew, length, extra) == doing)
        interval = model.new_optional_fixed_size_interval_var(start, length, chosen, "")
        options.append(Option(crew, length, extra, stretches, chosen, interval))
    model.add_exactly_one(option.chosen for option in options)
    several = exits if len(exits) > 1 else ()
    lefts = tuple(variables.literal(one.way == draft.way[task]) for one in several)
    if lefts:
        model.add_exactly_one(lefts)
    return Slot(start, end, tuple(options), ends, exits, lefts)


def extra_now(draft: Draft, task: int) -> int:
    """Return what a free task costs extra where the draft has it."""
    choices = draft.compiled.choices[task][draft.crew[task]]
    return choices.extra_at(draft.start[task]) if choices else 0


def _tightened(draft: Draft, base: Draft, free: Sequence[int]) -> dict[int, Bounds]:
    """Return the bounds of each free task, with those of the other free tasks carried over."""
    compiled = draft.compiled
    heed = not broken_pins(draft)
    bounds = {task: base.bounds(task, heed) for task in free}
    for task in free:
        floor = bounds[task].floor
        for before, wait in compiled.least_into[task]:
            if before in bounds:
                floor = max(floor, wait.ready(bounds[before].floor + 1))
        bounds[task] = bounds[task]._replace(floor=floor)
    limits = lateness_limits(draft, free)
    for task in reversed(free):
        latest = min(bounds[task].latest, limits[task])
        for after, wait in compiled.least_from[task]:
            if after in bounds:
                latest = min(latest, wait.latest_end(bounds[after].latest - 1))
        bounds[task] = bounds[task]._replace(latest=latest)
    return bounds


def lateness_limits(draft: Draft, free: Sequence[int]) -> list[int]:
    """Return by task the end after which its handover, with the least that all else can cost
    while only free tasks move, costs more than the draft as a whole."""
    compiled, problem = draft.compiled, draft.compiled.problem
    least = _least_latenesses(draft, set(free))
    spare = score_of_draft(draft).cost - sum(least)
    limits = [problem.horizon] * len(compiled.tasks)
    for handover, members, late in zip(problem.handovers, compiled.members, least, strict=True):
        if handover.weight > 0:
            finish = handover.due + (late + spare) // (TICK_MINUTES * handover.weight)
            for task in members:
                curve = compiled.tasks[task].done_curve
                end = latest_end(problem.curves[curve], finish) if curve else finish
                limits[task] = min(limits[task], end)
    return limits


def _least_latenesses(draft: Draft, free: set[int]) -> list[int]:
    """Return by handover the weighted minutes that it is late at least, and exactly so where none
    of its tasks is free."""
    compiled = draft.compiled
    _, ends = earliest(compiled)
    least = latenesses(compiled, ends)
    for number, handover in enumerate(compiled.problem.handovers):
        if free.isdisjoint(compiled.members[number]):
            over = max(0, (finish_of(draft, number) or 0) - handover.due)
            least[number] = handover.weight * over * TICK_MINUTES
    return least


def _open_starts(base: Draft, task: int, bounds: Bounds) -> dict[Kind, Stretches]:
    """Return by crew, duration and price the starts that bounds and held tasks leave."""
    starts: dict[Kind, Stretches] = {}
    for crew in base.compiled.crews[task]:
        choices = base.compiled.choices[task][crew]
        if choices is None:
            continue
        for number in range(len(choices.lows)):
            duration = choices.durations[number]
            low = max(choices.lows[number], bounds.floor, bounds.first_end - duration)
            high = min(choices.highs[number], bounds.latest - duration, bounds.last_start)
            if low > high:
                continue
            blocks = [*bounds.blocks, *_crew_blocks(base, task, crew, choices, number)]
            stretches = _without(low, high, duration, blocks)
            if stretches:
                kind = crew, duration, choices.extras[number]
                starts.setdefault(kind, []).extend(stretches)
    return starts


def _crew_blocks(
    base: Draft, task: int, crew: int, choices: StartChoices, number: int
) -> Stretches:
    """Return the spans around the crew's held tasks in one window, ways and wash-ups included.

    Only the way to the next held task and from the last counts: fixed tasks may stand closer to
    each other than their ways allow.
    """
    compiled, home, items = base.compiled, base.compiled.house[task], base.items[crew]
    opens, closes = choices.opens[number], choices.closes[number]
    blocks = []
    for spot, other in enumerate(items):
        if base.start[other] < closes and base.until[other] > opens:
            first = base.start[other] - compiled.gaps[home][compiled.house[other]]
            last = base.until[other] + compiled.gaps[base.leaves[other]][home]
            if spot:
                first = max(first, base.start[items[spot - 1]])
            if spot + 1 < len(items):
                last = min(last, base.until[items[spot + 1]])
            blocks.append((first, last))
    return blocks


def _without(low: int, high: int, duration: int, blocks: Stretches) -> Stretches:
    """Return the starts in [low, high] whose task of so many ticks touches no block."""
    stretches = []
    for first, last in sorted(blocks):
        if first - duration >= low and low <= high:
            stretches.append((low, min(high, first - duration)))
        low = max(low, last)
    if low <= high:
        stretches.append((low, high))
    return stretches
