"""Why a promise is late: from its last task back, reason by reason, to where it began."""

from collections.abc import Iterable
from dataclasses import dataclass

from scheduling.solver.evaluate import handover_finishes
from scheduling.solver.explain import binding_reason, found_reasons
from scheduling.solver.problem import Handover, Placement, Problem, Task
from scheduling.solver.reason import Reason, latest_reason

SHUT = frozenset({"window", "base", "access", "area", "starts"})
"""Reasons that only say when the doors open again; what made the task miss the time before them
is the last reason of another kind."""

ROOTS = frozenset({"now", "release", "fixed", "together", "free"})
"""Reasons with nothing behind them."""


@dataclass(frozen=True, slots=True)
class Link:
    """A task of the chain and why it is not earlier.

    ``behind`` is what made it miss the working or open hours before, where ``reason`` is only
    that those begin again; None otherwise.
    """

    task: str
    reason: Reason
    behind: Reason | None = None

    @property
    def leads_to(self) -> str:
        """Return the task behind this one, or "" at the root."""
        reason = self.behind or self.reason
        return "" if reason.code in ROOTS else reason.other


@dataclass(frozen=True, slots=True)
class Chain:
    """A late promise: its last task ends at tick ``ended`` and counts as done at ``done``.

    links: the last task first, the root last.
    """

    handover: str
    due: int
    ended: int
    done: int
    links: tuple[Link, ...]


def late_chains(problem: Problem, placements: Iterable[Placement]) -> tuple[Chain, ...]:
    """Return a chain for every promise that a sound plan meets late, in the Problem's order.

    A promise with a task that has no place is left out: nothing is known of its end.
    """
    places = {place.task: place for place in placements}
    finishes = handover_finishes(problem, places)
    missing = {task.handover for task in problem.tasks if task.id not in places}
    late = [
        row
        for row in problem.handovers
        if row.id in finishes and row.id not in missing and finishes[row.id] > row.due
    ]
    if not late:
        return ()
    found = found_reasons(problem, places.values())
    tasks = {task.id: task for task in problem.tasks}
    chains = []
    for row in late:
        last = _last_task(problem, row, places)
        links = _links(last, tasks, places, found)
        chains.append(Chain(row.id, row.due, places[last].end, finishes[row.id], links))
    return tuple(chains)


def _last_task(problem: Problem, handover: Handover, places: dict[str, Placement]) -> str:
    """Return the task by which the promise counts as done."""

    def done(task: Task) -> int:
        end = places[task.id].end
        return problem.curves[task.done_curve].ready(end) if task.done_curve else end

    return max((task for task in problem.tasks if task.handover == handover.id), key=done).id


def _links(
    last: str,
    tasks: dict[str, Task],
    places: dict[str, Placement],
    found: dict[str, list[Reason]],
) -> tuple[Link, ...]:
    links: list[Link] = []
    seen: set[str] = set()
    name = last
    while name in places and name not in seen:
        seen.add(name)
        place = places[name]
        reason = binding_reason(tasks[name], place, found[name])
        behind = None
        if reason.code in SHUT:
            others = [other for other in found[name] if other.code not in SHUT]
            behind = latest_reason(others, place.start)
        links.append(Link(name, reason, behind))
        name = links[-1].leads_to
    return tuple(links)
