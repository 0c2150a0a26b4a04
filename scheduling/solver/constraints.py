"""The rules of the CP-SAT model, one function each, listed in RULES in the order they are added.

Held tasks and calendars are already in the domains (variables.py); these rules are about free
tasks among themselves.
"""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from itertools import combinations

from ortools.sat.python import cp_model

from scheduling.solver.draft import NOWHERE
from scheduling.solver.exits import held_until
from scheduling.solver.problem import ReadyCurve
from scheduling.solver.shared import Holder, use_over_time
from scheduling.solver.variables import Option, Variables


def one_place_each(variables: Variables) -> None:
    """A task starts where the chosen crew's windows let it, and lasts as long as they make it."""
    model = variables.model
    for slot in variables.slots.values():
        for option in slot.options:
            domain = cp_model.Domain.from_intervals([list(pair) for pair in option.starts])
            model.add_linear_expression_in_domain(slot.start, domain).only_enforce_if(option.chosen)
        length = sum(option.duration * option.chosen for option in slot.options)
        model.add(slot.end == slot.start + length)


def runs_keep_their_crew(variables: Variables) -> None:
    """All tasks of a run are done by one crew."""
    compiled, model = variables.compiled, variables.model
    for task, slot in variables.slots.items():
        unit = compiled.unit_of[task]
        if len(compiled.units[unit]) == 1:
            continue
        held = {variables.base.crew[t] for t in compiled.units[unit] if _held(variables, t)}
        crews = {option.crew for option in slot.options}
        for crew in compiled.crews[task]:
            literal = _run_crew(variables, unit, crew)
            chosen = [option.chosen for option in slot.options if option.crew == crew]
            model.add(sum(chosen) == literal)
            if held and crew not in held and crew in crews:
                model.add(literal == 0)


def _held(variables: Variables, task: int) -> bool:
    placed = variables.base.crew[task] != NOWHERE
    return placed and variables.compiled.tasks[task].fixed is None


def _run_crew(variables: Variables, unit: int, crew: int) -> cp_model.IntVar:
    if (unit, crew) not in variables.run_crews:
        first = next(t for t in variables.compiled.units[unit] if t in variables.slots)
        hint = variables.draft.crew[first] == crew
        variables.run_crews[unit, crew] = variables.literal(hint)
    return variables.run_crews[unit, crew]


def runs_keep_their_order(variables: Variables) -> None:
    """Each task of a run starts when the one before it has ended."""
    for task, slot in variables.slots.items():
        before = variables.compiled.run_before[task]
        if before in variables.slots:
            variables.model.add(slot.start >= variables.slots[before].end)


def crews_do_one_thing(variables: Variables) -> None:
    """A crew works on one task at a time."""
    intervals = defaultdict(list)
    for slot in variables.slots.values():
        for option in slot.options:
            intervals[option.crew].append(option.interval)
    for group in intervals.values():
        variables.model.add_no_overlap(group)


def crews_travel(variables: Variables) -> None:
    """Between two houses a crew washes up, travels and sets up.

    The gap is asked for across a break as well, where it only holds anyway if the break is as
    long as the way; see ``gaps_are_exact``.
    """
    compiled = variables.compiled
    for one, two in combinations(variables.slots, 2):
        there = compiled.gaps[compiled.house[one]][compiled.house[two]]
        back = compiled.gaps[compiled.house[two]][compiled.house[one]]
        if there or back:
            _keep_apart(variables, one, two, there, back)


def _keep_apart(variables: Variables, one: int, two: int, there: int, back: int) -> None:
    """Whichever of two tasks a crew does first, the way to the other lies between them."""
    model, first, second = variables.model, variables.slots[one], variables.slots[two]
    pairs = [
        (mine, other)
        for mine in first.options
        for other in second.options
        if mine.crew == other.crew and _can_meet(mine, other, there, back)
    ]
    if not pairs:
        return
    order = variables.literal(variables.draft.start[one] < variables.draft.start[two])
    for mine, other in pairs:
        both = [mine.chosen, other.chosen]
        model.add(second.start >= first.end + there).only_enforce_if([order, *both])
        model.add(first.start >= second.end + back).only_enforce_if([~order, *both])


def _can_meet(mine: Option, other: Option, there: int, back: int) -> bool:
    """Return whether the two could come closer than the way between them."""
    here_last, there_last = mine.starts[-1][1], other.starts[-1][1]
    apart = (
        here_last + mine.duration + there <= other.starts[0][0]
        or there_last + other.duration + back <= mine.starts[0][0]
    )
    return not apart


def rooms_hold_one(variables: Variables) -> None:
    """Only one task runs in a room at a time."""
    intervals: dict[str, list[cp_model.IntervalVar]] = defaultdict(list)
    for task, slot in variables.slots.items():
        room = variables.compiled.tasks[task].room
        intervals[room].extend(option.interval for option in slot.options)
    for group in intervals.values():
        variables.model.add_no_overlap(group)


def some_work_alone(variables: Variables) -> None:
    """While a task that shuts its house runs, none runs in the house's other rooms."""
    tasks = variables.compiled.tasks
    for task, slot in variables.slots.items():
        for other in variables.compiled.shut_out[task] if tasks[task].alone else ():
            if other in variables.slots and tasks[other].room != tasks[task].room:
                pair = [*slot.options, *variables.slots[other].options]
                variables.model.add_no_overlap([option.interval for option in pair])


def things_are_shared(variables: Variables) -> None:
    """Of what tasks share, no more is used at once than there is; held tasks use theirs."""
    base, model = variables.base, variables.model
    for thing in variables.compiled.shared:
        slots = [variables.slots[task] for task in thing.users if task in variables.slots]
        free = [option.interval for slot in slots for option in slot.options]
        free += [_held_after(variables, h) for h in thing.holders if h.task in variables.slots]
        capacity, held = thing.capacity, base.uses(thing)
        used = [(a, b, min(count, capacity)) for a, b, count in use_over_time(held)]
        fixed = [model.new_fixed_size_interval_var(a, b - a, "") for a, b, _ in used]
        if free:
            demands = [1] * len(free) + [count for _, _, count in used]
            model.add_cumulative([*free, *fixed], demands, capacity)


def _held_after(variables: Variables, holder: Holder) -> cp_model.IntervalVar:
    """Return the time for which a free task leaves something scarce behind, if it is left so."""
    model, draft, slot = variables.model, variables.draft, variables.slots[holder.task]
    left, end = slot.left(holder.way), draft.end[holder.task]
    hint = held_until(holder.curves, end) if draft.way[holder.task] == holder.way else end
    last = max(high for _, high in slot.ends)
    until = variables.integer(slot.ends[0][0], held_until(holder.curves, last), hint)
    size = variables.integer(0, held_until(holder.curves, last) - slot.ends[0][0], hint - end)
    model.add(until == slot.end + size)
    follow(variables, holder.task, holder.curves, until, *left)
    if left:
        return model.new_optional_interval_var(slot.end, size, until, left[0], "")
    return model.new_interval_var(slot.end, size, until, "")


def ways_stay_open(variables: Variables) -> None:
    """A task is left only in a way that suits the held tasks that wait for it."""
    for slot in variables.slots.values():
        for one in slot.exits:
            left = slot.left(one.way)
            variables.model.add(slot.end <= one.latest).only_enforce_if(*left)
            variables.model.add(slot.end >= one.first_end).only_enforce_if(*left)


def waits_are_kept(variables: Variables) -> None:
    """A task starts when every coat it waits for is ready."""
    for task, slot in variables.slots.items():
        curves = defaultdict(list)
        for before, curve, way in variables.compiled.waits_into[task]:
            if before in variables.slots:
                curves[before, way].append(curve)
        for (before, way), group in curves.items():
            follow(variables, before, group, slot.start, *variables.slots[before].left(way))


def dust_stays_from_wet(variables: Variables) -> None:
    """A dusty task ends before a wet one in its air starts, or starts when that is dry."""
    compiled, model = variables.compiled, variables.model
    for dusty, slot in variables.slots.items():
        for wet in compiled.foes_of_dusty[dusty]:
            curve = compiled.wet_curves[wet]
            if wet not in variables.slots or curve is None:
                continue
            coat = variables.slots[wet]
            before = variables.literal(variables.draft.start[dusty] < variables.draft.start[wet])
            model.add(slot.end <= coat.start).only_enforce_if(before)
            model.add(slot.start >= coat.end).only_enforce_if(~before)
            follow(variables, wet, [curve], slot.start, ~before)


def lags_are_kept(variables: Variables) -> None:
    """A task starts no later after another than the maximum lag between them."""
    for task, slot in variables.slots.items():
        for before, most, way in variables.compiled.most_into[task]:
            if before in variables.slots:
                earlier = variables.slots[before]
                in_time = variables.model.add(slot.start <= earlier.end + most)
                in_time.only_enforce_if(*earlier.left(way))


def follow(
    variables: Variables,
    task: int,
    curves: Sequence[ReadyCurve],
    target: cp_model.LinearExprT,
    *conditions: cp_model.LiteralT,
) -> None:
    """Make ``target`` (tick) no earlier than each curve of the task's end.

    Every curve gives a straight line; steps get literals only where the task can end and the
    steepest of those lines does not already ask for as much.
    """
    model, slot = variables.model, variables.slots[task]
    steps = [list(_steps(curve, slot.ends)) for curve in curves]
    line = max(min(lag for _, _, lag, _ in group) for group in steps)
    model.add(target >= slot.end + line).only_enforce_if(*conditions)
    for group in steps:
        reached = 0
        for number, (first, last, lag, ready) in enumerate(group):
            begun = [variables.ends_after(task, first - 1)] if number else []
            if ready > max(first + line, reached):
                model.add(target >= ready).only_enforce_if(*conditions, *begun)
                reached = ready
            if lag > line and last + lag > ready:
                more = group[number + 1 :]
                over = [~variables.ends_after(task, more[0][0] - 1)] if more else []
                model.add(target >= slot.end + lag).only_enforce_if(*conditions, *begun, *over)


def _steps(
    curve: ReadyCurve, ends: Sequence[tuple[int, int]]
) -> Iterator[tuple[int, int, int, int]]:
    """Yield the curve's steps in which the task can end: first and last such end, the lag, and
    what the curve answers at the first."""
    top = len(curve.ends) - 1
    found: dict[int, tuple[int, int]] = {}
    for low, high in ends:
        lowest = min(bisect_left(curve.ends, low), top)
        for step in range(lowest, min(bisect_left(curve.ends, high), top) + 1):
            first = max(low, curve.ends[step - 1] + 1) if step else low
            last = min(high, curve.ends[step]) if step < top else high
            known = found.get(step, (first, last))
            found[step] = min(first, known[0]), max(last, known[1])
    for step, (first, last) in sorted(found.items()):
        yield first, last, curve.lags[step], curve.ready(first)


Rule = Callable[[Variables], None]

RULES: tuple[Rule, ...] = (
    one_place_each,
    runs_keep_their_crew,
    runs_keep_their_order,
    crews_do_one_thing,
    crews_travel,
    rooms_hold_one,
    some_work_alone,
    things_are_shared,
    ways_stay_open,
    waits_are_kept,
    lags_are_kept,
    dust_stays_from_wet,
)
