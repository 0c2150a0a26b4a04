"""A lateness that no plan can beat because the crews have only so many hours.

Tasks may be cut into head-ticks (one person for one tick) that anyone at work may do: a flow from
tasks to stretches of time, whose least cost is a bound. A head-tick of a task spent in a stretch
means that the task's handover is done no earlier than the stretch begins plus the shortest way
from the end of the task to the handover. The lateness of a handover is shared out among its tasks
by their work, so that a plan costs no less than its flow. (A transportation bound for weighted
tardiness as by Gelders and Kleindorfer, 1974, source from memory; the tails are added.)
"""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from ortools.graph.python import min_cost_flow

from scheduling.solver.bound import earliest, latenesses
from scheduling.solver.compiled import Compiled
from scheduling.solver.construct import in_order
from scheduling.solver.problem import TICK_MINUTES, task_ticks
from scheduling.solver.starts import StartChoices

STRETCHES_UP_TO = 100
"""Stretches of time at most: with more the bound takes longer and is hardly better."""

SCALE = 2**12
"""Costs of a flow are whole numbers: so many to a minute of lateness."""

Ticks = NDArray[np.int64]


class Load(NamedTuple):
    """What a task asks for.

    handover: the one it is counted for (index). tail: the least ticks from its end until that is
    done. work: the least head-ticks any crew needs. floor: the tick it cannot start before.
    """

    handover: int
    tail: int
    work: int
    floor: int


def capacity_bound(compiled: Compiled) -> int:
    """Return weighted minutes of lateness that every plan has at least.

    It is never less than ``lateness_bound``. Fixed tasks are taken to need nobody.
    """
    floors, ends = earliest(compiled)
    least = latenesses(compiled, ends)
    loads = _loads(compiled, floors)
    cost = _least_cost(compiled, loads, least) if loads else 0
    counted = {load.handover for load in loads}
    others = sum(late for number, late in enumerate(least) if number not in counted)
    # Lateness is whole ticks, so that a fraction of one counts as one.
    return max(sum(least), others + -(-cost // (SCALE * TICK_MINUTES)) * TICK_MINUTES)


def _least_cost(compiled: Compiled, loads: list[Load], least: list[int]) -> int:
    """Return the least cost of the flow, in SCALE to a minute."""
    begins, hours = _stretches(compiled, loads)
    needed = np.bincount([load.handover for load in loads], [load.work for load in loads])
    flow, sink = min_cost_flow.SimpleMinCostFlow(), len(loads) + len(begins)
    for number, load in enumerate(loads):
        stretches = np.flatnonzero(np.append(begins[1:], begins[-1] + 1) > load.floor)
        cost = _late_minutes(compiled, load, begins[stretches], least) * SCALE
        flow.add_arcs_with_capacity_and_unit_cost(
            np.full(len(stretches), number),
            len(loads) + stretches,
            np.full(len(stretches), load.work),
            (cost // int(needed[load.handover])),
        )
        flow.set_node_supply(number, load.work)
    for number, supply in enumerate(hours.tolist()):
        flow.add_arc_with_capacity_and_unit_cost(len(loads) + number, sink, supply, 0)
    flow.set_node_supply(sink, -sum(load.work for load in loads))
    return flow.optimal_cost() if flow.solve() == flow.OPTIMAL else 0


def _late_minutes(compiled: Compiled, load: Load, begins: Ticks, least: list[int]) -> Ticks:
    """Return how late the handover is at least if some of the task is done in a stretch."""
    handover = compiled.problem.handovers[load.handover]
    # A task without a place counts as ending at the horizon, whatever should come after it.
    ends = np.maximum(begins, load.floor) + 1
    dones = np.minimum(ends + load.tail, compiled.problem.horizon)
    late: Ticks = np.maximum(0, dones - handover.due) * (handover.weight * TICK_MINUTES)
    return late.clip(min=least[load.handover])


def _stretches(compiled: Compiled, loads: list[Load]) -> tuple[Ticks, Ticks]:
    """Return when stretches of time begin, and how many head-ticks crews work in each.

    The last begins at the horizon and has room for everything, as tasks may be left out.
    """
    windows = [window for crew in compiled.problem.crews for window in crew.windows]
    horizon, everything = compiled.problem.horizon, sum(load.work for load in loads)
    opens = np.array([window.start for window in windows], dtype=np.int64)
    closes = np.array([window.end for window in windows], dtype=np.int64)
    heads = np.array([window.heads for window in windows], dtype=np.int64)

    def hours(since: int, until: int) -> int:
        shared = np.minimum(closes, until) - np.maximum(opens, since)
        return int((np.maximum(0, shared) * heads).sum())

    first, last = min(load.floor for load in loads), max(load.floor for load in loads)
    # None is needed after the first by which there is time for everything since the last floor.
    later = sorted({window.start for window in windows if last < window.start < horizon})
    end = next((tick for tick in later if hours(last, tick) >= everything), horizon)
    spans = {(max(first, w.start), min(end, w.end)) for w in windows}
    step = max(1, sum(max(0, b - a) for a, b in spans) // STRETCHES_UP_TO)
    begins = sorted({first, *(tick for span in spans for tick in range(*span, step))})
    begins = begins[:: -(-len(begins) // STRETCHES_UP_TO)]
    supplies = [hours(one, two) for one, two in zip(begins, [*begins[1:], horizon], strict=True)]
    return np.array([*begins, max(horizon, last)]), np.array([*supplies, everything])


def _loads(compiled: Compiled, floors: list[int]) -> list[Load]:
    """Return the loads of the tasks that are not fixed and that some handover waits for."""
    tails: dict[int, tuple[int, int]] = {}
    known: dict[int, tuple[int, int]] = {}
    loads = []
    for piece in reversed(in_order(compiled, lambda task: task)):
        for task in reversed(piece):
            if compiled.tasks[task].fixed is not None:
                continue
            tail = max(_tails(compiled, task, tails, known), default=None, key=lambda t: t[1])
            least = _least(compiled, task, known)
            if tail is not None and least is not None:
                tails[task] = tail
                loads.append(Load(*tail, least[1], floors[task]))
    return loads


def _tails(
    compiled: Compiled,
    task: int,
    tails: dict[int, tuple[int, int]],
    known: dict[int, tuple[int, int]],
) -> Iterator[tuple[int, int]]:
    """Yield handovers that are not done before the task, each with the least ticks between.

    A task that has a handover itself is counted for no other.
    """
    mine = compiled.tasks[task]
    own = None
    if mine.handover is not None:
        own = next(n for n, h in enumerate(compiled.problem.handovers) if h.id == mine.handover)
        curve = compiled.problem.curves[mine.done_curve] if mine.done_curve else None
        yield own, min(curve.lags) if curve else 0
    follows = [(after, wait.lag) for after, wait in compiled.least_from[task]]
    if compiled.run_after[task] >= 0:
        follows.append((compiled.run_after[task], 0))
    for after, lag in follows:
        if after in tails and own in {None, tails[after][0]}:
            least = _least(compiled, after, known)
            assert least is not None
            yield tails[after][0], lag + least[0] + tails[after][1]


def _least(
    compiled: Compiled, task: int, known: dict[int, tuple[int, int]]
) -> tuple[int, int] | None:
    """Return the fewest ticks and head-ticks of a task, None where no crew may do it."""
    found = []
    for crew, choices in enumerate(compiled.choices[task]):
        if choices is not None and choices.lows:
            if id(choices) not in known:
                known[id(choices)] = _least_of(compiled, task, crew, choices)
            found.append(known[id(choices)])
    return (min(t for t, _ in found), min(w for _, w in found)) if found else None


def _least_of(compiled: Compiled, task: int, crew: int, choices: StartChoices) -> tuple[int, int]:
    """Return the fewest ticks and head-ticks of a task with a crew.

    One that may be split has nights in its ticks: its work is what it asks for.
    """
    mine, windows = compiled.tasks[task], compiled.problem.crews[crew].windows
    fewest = min(choices.durations)
    if mine.split:
        return fewest, task_ticks(mine, compiled.problem.crews[crew].id, 1)
    kinds = zip(choices.durations, choices.windows, strict=True)
    return fewest, min(duration * windows[number].heads for duration, number in kinds)
