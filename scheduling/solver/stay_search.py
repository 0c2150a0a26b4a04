"""Which house gets which dryer from which visit to which: the stays that save most lateness.

One stay after another is taken or changed, each time the best of those tried, for as long as it
saves more than two solves of the same problem differ by.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import islice, takewhile

from scheduling.solver.again import solve_from
from scheduling.solver.chain import late_chains
from scheduling.solver.evaluate import handover_finishes
from scheduling.solver.outcome import Limits, Outcome
from scheduling.solver.problem import Placement, Problem
from scheduling.solver.stay_moves import Moves, Stays
from scheduling.solver.stays import Fleet, Stayed, with_stays

type Worth = tuple[int, int]
"""Cost of a plan and for how many ticks dryers stand in it."""


@dataclass(frozen=True, slots=True)
class Thoroughness:
    """At each step, of how many changes a plan is made without any search, and how many of the
    best of those are solved. solves: among which the budget is shared out evenly."""

    looked_at: int = 80
    solved: int = 5
    solves: int = 30


def search_stays(
    problem: Problem,
    fleet: Fleet,
    placements: Sequence[Placement],
    limits: Limits,
    stopwatch: Callable[[], float],
    *,
    thorough: Thoroughness = Thoroughness(),
) -> Stayed:
    """Return the plan with the stays that were found to save lateness, from a plan without any.

    No stay is left that saves nothing. ``stopwatch`` returns seconds and never falls.
    """
    return _Search(problem, fleet, limits, stopwatch, thorough).best(placements)


def late_houses(problem: Problem, placements: Sequence[Placement]) -> list[str]:
    """Return the houses that are late, the worst first, then those that hold them up."""
    places = {place.task: place for place in placements}
    finishes = handover_finishes(problem, places)
    late = {
        row.house: row.weight * (finishes[row.id] - row.due)
        for row in sorted(problem.handovers, key=lambda row: finishes.get(row.id, 0) - row.due)
        if row.id in finishes and finishes[row.id] > row.due and row.weight
    }
    house = {task.id: task.house for task in problem.tasks}
    links = (link.task for chain in late_chains(problem, placements) for link in chain.links)
    worst_first = sorted(late, key=lambda name: (-late[name], name))
    return list(dict.fromkeys([*worst_first, *map(house.__getitem__, links)]))


class _Search:
    """A search and how many solves it has left; ``noise`` is what two of them differ by."""

    def __init__(
        self,
        problem: Problem,
        fleet: Fleet,
        limits: Limits,
        stopwatch: Callable[[], float],
        thorough: Thoroughness,
    ) -> None:
        self.problem, self.fleet = problem, fleet
        self.limits, self.stopwatch, self.thorough = limits, stopwatch, thorough
        self.left, self.noise, self.began, self.looked = thorough.solves, 0, stopwatch(), 0

    def best(self, placements: Sequence[Placement]) -> Stayed:
        seeds = self.limits.seed, self.limits.seed + 1
        plans = [self._solved((), placements, seed) for seed in seeds]
        self.noise = abs(plans[0].score.cost - plans[1].score.cost)
        without = min(plans, key=lambda plan: (len(plan.unplaced), plan.score))
        now = Stayed(without, without=without.score.cost)
        while self.left > len(now.stays) and not self._over() and (better := self._step(now)):
            now = better
        return self._each_told(now)

    def _step(self, now: Stayed) -> Stayed | None:
        """Return the best change that saves more than noise, or as much in less dryer time."""
        there = now.outcome.placements
        houses = late_houses(self._problem(now.stays), there)
        changed = dict.fromkeys(self._moves(there).around(now.stays, houses))
        looked_at = takewhile(lambda _: not self._over(), changed)
        plain = [
            (self._plain(stays, there), stays)
            for stays in islice(looked_at, self.thorough.looked_at)
        ]
        plain.sort(key=lambda pair: (len(pair[0].unplaced), pair[0].score))
        best, worth_now = now, self._worth(now)
        for plan, stays in plain[: min(self.thorough.solved, self.left)]:
            solved = self._solved(stays, plan.placements, self.limits.seed)
            found = replace(now, outcome=solved, stays=stays)
            if len(solved.unplaced) > len(now.outcome.unplaced) or not self._in_place(found):
                continue
            cost, ticks = worth = self._worth(found)
            counts = cost + self.noise < worth_now[0] or ticks < worth_now[1]
            if counts and worth < self._worth(best):
                best = found
        return None if best is now else best

    def _over(self) -> bool:
        """Return whether the budget is spent; what was looked at until then counts. One of work is
        looks: those of a step, and one for each round."""
        if self.limits.work is not None:
            return self.looked > self.thorough.looked_at + self.limits.work
        seconds = self.limits.seconds
        return seconds is not None and self.stopwatch() - self.began > seconds

    def _each_told(self, found: Stayed) -> Stayed:
        """Return what each stay saves, those left out that save no more than noise."""
        saved: list[int] = []
        for number in range(len(found.stays)):
            less = self._without(found, number)
            more = less.outcome.score.cost - found.outcome.score.cost
            fewer = len(less.outcome.unplaced) <= len(found.outcome.unplaced)
            if fewer and more <= self.noise and self._in_place(less):
                return self._each_told(less)
            saved.append(more)
        return replace(found, saved=tuple(saved))

    def _without(self, found: Stayed, number: int) -> Stayed:
        """Return the best plan with one stay less: the others with all their coats, or with those
        that are dry beside them without its unit."""
        there = found.outcome.placements
        rest = found.stays[:number] + found.stays[number + 1 :]
        plans = [
            replace(found, outcome=self._solved(stays, there, self.limits.seed), stays=stays)
            for stays in dict.fromkeys((rest, self._moves(there).trimmed(rest)))
        ]
        return min(plans, key=lambda one: (len(one.outcome.unplaced), one.outcome.score))

    def _worth(self, found: Stayed) -> Worth:
        moves = self._moves(found.outcome.placements)
        return found.outcome.score.cost, moves.ticks(found.stays)

    def _moves(self, placements: Sequence[Placement]) -> Moves:
        return Moves(self.problem, self.fleet, placements)

    def _in_place(self, found: Stayed) -> bool:
        placed = {place.task for place in found.outcome.placements}
        return all({stay.set_in, stay.collect_in} <= placed for stay in found.stays)

    def _problem(self, stays: Stays) -> Problem:
        return with_stays(self.problem, self.fleet, stays)

    def _plain(self, stays: Stays, placements: Sequence[Placement]) -> Outcome:
        """Return the plan with its orders kept, each task as early as it then can."""
        self.looked += 1
        no_work = replace(self.limits, seconds=None, work=0)
        return solve_from(self._problem(stays), placements, no_work, self.stopwatch)

    def _solved(self, stays: Stays, placements: Sequence[Placement], seed: int) -> Outcome:
        self.left -= 1
        limits, solves = self.limits, self.thorough.solves
        shared = replace(
            limits,
            seed=seed,
            seconds=limits.seconds / solves if limits.seconds else None,
            work=None if limits.work is None else limits.work // solves,
        )
        return solve_from(self._problem(stays), placements, shared, self.stopwatch)
