"""The first feasible plan: a serial list schedule under several orders, the best one kept."""

from collections.abc import Callable, Sequence
from heapq import heappop, heappush

from scheduling.solver.chain_insertion import place_chain
from scheduling.solver.compiled import Compiled, compile_problem
from scheduling.solver.draft import FAR, NOWHERE, Draft, empty_draft
from scheduling.solver.evaluate import score_of
from scheduling.solver.insertion import place_unit
from scheduling.solver.outcome import Outcome, Status
from scheduling.solver.problem import Problem, Task, duration_ticks
from scheduling.solver.tally import key_of
from scheduling.solver.unplaced import reasons

ORDERS_UP_TO = 1000
"""Tasks up to which several orders are tried: more take longer than a first plan may."""

Order = list[list[int]]
"""Units (lists of task indices) in the order in which they are placed."""


def construct(problem: Problem) -> Outcome:
    """Return a feasible plan for every task that can be planned, without any search."""
    return outcome_of(first_draft(compile_problem(problem)))


def outcome_of(draft: Draft, bound: int = 0) -> Outcome:
    """Return a draft as an Outcome; ``bound`` is a cost that no plan can beat."""
    problem, placements, unplaced = draft.compiled.problem, draft.placements(), reasons(draft)
    score = score_of(problem, placements)
    status = Status.FEASIBLE
    if unplaced:
        status = Status.PARTIAL
    elif score.cost <= bound:
        status = Status.OPTIMAL
    return Outcome(status, placements, score, unplaced, min(bound, score.cost))


def first_draft(compiled: Compiled) -> Draft:
    """Return the best draft that the priority rules give."""
    thrifts = (False, True) if compiled.priced else (False,)
    drafts = [place(compiled, order, thrifty=t) for order in _orders(compiled) for t in thrifts]
    return min(drafts, key=key_of)


def place(compiled: Compiled, order: Order, *, thrifty: bool = False) -> Draft:
    """Place units in an order that respects the waits, after the fixed tasks.

    A task whose predecessor has no place gets none either; the others go on. ``thrifty``: leave
    the windows at a price alone.
    """
    draft = empty_draft(compiled)
    draft.thrifty = thrifty
    for unit in order:
        place_ready(draft, unit)
    draft.thrifty = False
    return draft


def place_ready(draft: Draft, unit: Sequence[int], crews: Sequence[int] | None = None) -> bool:
    """Place the tasks of a unit up to the first that waits for one without a place.

    Tasks tied together by maximum lags are all placed, or none of them.
    ``crews`` narrows the choice. Return whether all were placed.
    """
    if unit and draft.compiled.chained[unit[0]]:
        befores = {b for task in unit for b in draft.compiled.befores(task)} - set(unit)
        placeable = all(draft.crew[before] != NOWHERE for before in befores)
        return placeable and place_chain(draft, unit, crews)
    ready: list[int] = []
    for task in unit:
        befores = set(draft.compiled.befores(task)) - set(ready)
        free = draft.compiled.tasks[task].fixed is None
        if free and any(draft.crew[before] == NOWHERE for before in befores):
            break
        ready.append(task)
    return place_unit(draft, ready, crews) and len(ready) == len(unit)


def in_order(compiled: Compiled, rank: Callable[[int], float]) -> Order:
    """Return the units by rising rank of their first task, each after those it waits for.

    Runs that wait for each other in a ring are taken apart into single tasks.
    """
    pieces = _pieces(compiled)
    order = sort_pieces(compiled, pieces, rank)
    placed = {task for unit in order for task in unit}
    if len(placed) < len(compiled.tasks):
        pieces = [
            piece
            for unit in pieces
            for piece in ([unit] if placed.issuperset(unit) else [[task] for task in unit])
        ]
        order = sort_pieces(compiled, pieces, rank)
    return order


def _pieces(compiled: Compiled) -> Order:
    """Return the units, those that maximum lags tie together as one, in order of their waits."""
    chains = [_sorted_chain(compiled, chain) for chain in compiled.chains]
    return [*chains, *(unit for unit in compiled.units if not compiled.chained[unit[0]])]


def _sorted_chain(compiled: Compiled, chain: list[int]) -> list[int]:
    """Return the tasks of a chain in order of their waits; as listed where those form a ring."""
    pieces = sort_pieces(compiled, [[task] for task in chain], float)
    return [task for piece in pieces for task in piece] if len(pieces) == len(chain) else chain


def sort_pieces(compiled: Compiled, pieces: Order, rank: Callable[[int], float]) -> Order:
    """Sort topologically, smallest rank of a piece's first task first.

    Pieces that wait for each other in a ring, and all after them, drop out. What a fixed task
    should wait for does not matter to the order: it is where it is.
    """
    piece_of = {task: number for number, piece in enumerate(pieces) for task in piece}
    followers: list[set[int]] = [set() for _ in pieces]
    for number, piece in enumerate(pieces):
        for task in (task for task in piece if not compiled.tasks[task].fixed):
            for before in compiled.befores(task):
                if piece_of.get(before, number) != number:
                    followers[piece_of[before]].add(number)
    missing = [0] * len(pieces)
    for group in followers:
        for number in group:
            missing[number] += 1
    heap: list[tuple[float, int]] = []
    for number, piece in enumerate(pieces):
        if not missing[number]:
            heappush(heap, (rank(piece[0]), number))
    order = []
    while heap:
        number = heappop(heap)[1]
        order.append(pieces[number])
        for follower in followers[number]:
            missing[follower] -= 1
            if not missing[follower]:
                heappush(heap, (rank(pieces[follower][0]), follower))
    return order


def _orders(compiled: Compiled) -> list[Order]:
    """Return the orders to try: by slack, by due tick, by work still to come, as listed; only the
    first where there are very many tasks."""
    due, tail = due_and_tail(compiled)
    ranks: list[Callable[[int], float]] = [
        lambda task: due[task] - tail[task],
        lambda task: due[task],
        lambda task: -tail[task],
        lambda task: task,
    ]
    tried = ranks if len(compiled.tasks) <= ORDERS_UP_TO else ranks[:1]
    return [in_order(compiled, rank) for rank in tried]


def due_and_tail(compiled: Compiled) -> tuple[list[int], list[int]]:
    """Return by task the earliest due tick it serves, and the work and waits after its start.

    The whole run counts, as it is placed at one go. Waits are taken at their shortest lag.
    """
    problem, count = compiled.problem, len(compiled.tasks)
    due, tail = [FAR] * count, [0] * count
    heads = max((c.windows[0].heads for c in problem.crews if c.windows), default=1)
    dues = {handover.id: handover.due for handover in problem.handovers}
    for unit in reversed(in_order(compiled, lambda task: task)):
        for task in reversed(unit):
            mine = compiled.tasks[task]
            if mine.handover is not None:
                due[task] = min(due[task], dues[mine.handover])
            later = compiled.run_after[task]
            follows = [(later, 0)] if later >= 0 else []
            follows += [(link.other, 0) for link in compiled.waits_from[task]]
            follows += [(after, wait.lag) for after, wait in compiled.least_from[task]]
            for after, lag in follows:
                fixed = compiled.tasks[after].fixed
                due[task] = min(due[task], due[after], fixed.start if fixed else FAR)
                tail[task] = max(tail[task], tail[after] + max(0, lag))
            tail[task] += _shortest(mine, heads)
    return due, tail


def _shortest(task: Task, heads: int) -> int:
    """Return the ticks a task takes its quickest crew, or that many heads."""
    if task.minutes_by_crew:
        return duration_ticks(min(task.minutes_by_crew.values()), 1)
    return duration_ticks(task.person_minutes, heads)
