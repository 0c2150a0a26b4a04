"""The score of a draft kept up to date as tasks move, without adding up the whole draft again.

It gives the same figures as tally.py; the tests hold the two against each other.
"""

from bisect import bisect_left
from collections.abc import Iterable
from dataclasses import dataclass, field

from scheduling.solver.draft import NOWHERE, Draft, Place
from scheduling.solver.outcome import Score
from scheduling.solver.problem import TICK_MINUTES
from scheduling.solver.tally import (
    Key,
    Tally,
    broken_pins,
    crew_visits,
    day_tally,
    finish_of,
    works_by_day,
    works_of,
)

DayOfCrew = tuple[int, int]
NO_WORK: Tally = (0, 0, 0)


@dataclass(slots=True)
class Entries:
    """What a round overwrote: by handover its finish, by crew and day its tally, by house what its
    crews beyond the first count as."""

    finishes: dict[int, int] = field(default_factory=dict)
    days: dict[DayOfCrew, Tally] = field(default_factory=dict)
    houses: dict[int, int] = field(default_factory=dict)


class Ledger:
    """Finishing ticks by handover, tallies by crew and day, and their sums.

    Where the Problem has no handover every task counts as one of its own, without a due tick.
    """

    def __init__(self, draft: Draft) -> None:
        compiled, problem = draft.compiled, draft.compiled.problem
        self.draft = draft
        self._promised = bool(problem.handovers)
        self._of: list[list[int]] = [[] for _ in compiled.tasks]
        for handover, members in enumerate(compiled.members):
            for task in members:
                self._of[task].append(handover)
        self._windows = [crew.windows for crew in problem.crews]
        self._opening = [
            {window.day: window.start for window in reversed(windows)} for windows in self._windows
        ]
        numbers = range(len(problem.handovers) if self._promised else len(compiled.tasks))
        self.finishes = [self._finish(number) for number in numbers]
        self._days: dict[DayOfCrew, Tally] = {}
        for crew in range(compiled.ghost + 1):
            for day, works in works_by_day(draft, crew).items():
                self._days[crew, day] = day_tally(compiled, crew, works)
        houses = range(len(problem.houses) if problem.another_crew else 0)
        self._more_crews = [crew_visits(draft, house) for house in houses]
        self._late = sum(self.late(number) for number in numbers)
        self._sum = sum(self.finishes)
        tallies = self._days.values()
        self._visits = sum(tally[0] for tally in tallies) + sum(self._more_crews)
        self._idle = sum(tally[1] for tally in tallies)
        self._extra = sum(tally[2] for tally in tallies)

    def key(self) -> Key:
        """Return how good the draft is now."""
        cost, idle = self._late * TICK_MINUTES + self._extra, self._idle * TICK_MINUTES
        score = Score(cost, self._visits, idle, self._sum, self._extra)
        return Key(self.draft.crew.count(NOWHERE), broken_pins(self.draft), score)

    def late(self, number: int) -> int:
        """Return the weighted ticks that a handover (index) is late."""
        if not self._promised:
            return 0
        handover = self.draft.compiled.problem.handovers[number]
        return handover.weight * max(0, self.finishes[number] - handover.due)

    def settle(self, moved: Iterable[tuple[int, Place]]) -> Entries:
        """Take note that tasks came to, or went from, these places; return what was there."""
        were, splits = Entries(), self.draft.compiled.stretches
        for task, place in moved:
            for number in self._of[task] if self._promised else (task,):
                if number not in were.finishes:
                    were.finishes[number] = self.finishes[number]
                    self._set_finish(number, self._finish(number))
            for start, _, window in self.draft.pieces(task, place) if splits else (place[1:4],):
                day = place.crew, self._windows[place.crew][window].day
                if day not in were.days:
                    were.days[day] = self._days.get(day, NO_WORK)
                    self._set_day(day, self._tally(day, start))
            if self._more_crews and (house := self.draft.compiled.house[task]) not in were.houses:
                were.houses[house] = self._more_crews[house]
                self._set_house(house, crew_visits(self.draft, house))
        return were

    def restore(self, were: Entries) -> None:
        """Put back what ``settle`` returned; the draft itself is the caller's business."""
        for number, finish in were.finishes.items():
            self._set_finish(number, finish)
        for day, tally in were.days.items():
            self._set_day(day, tally)
        for house, visits in were.houses.items():
            self._set_house(house, visits)

    def _finish(self, number: int) -> int:
        if self._promised:
            return finish_of(self.draft, number) or 0
        placed = self.draft.crew[number] != NOWHERE
        return self.draft.end[number] if placed else self.draft.compiled.problem.horizon

    def _set_finish(self, number: int, finish: int) -> None:
        self._sum += finish - self.finishes[number]
        self._late -= self.late(number)
        self.finishes[number] = finish
        self._late += self.late(number)

    def _set_day(self, day: DayOfCrew, tally: Tally) -> None:
        visits, idle, extra = self._days.get(day, NO_WORK)
        self._visits += tally[0] - visits
        self._idle += tally[1] - idle
        self._extra += tally[2] - extra
        self._days[day] = tally

    def _set_house(self, house: int, visits: int) -> None:
        self._visits += visits - self._more_crews[house]
        self._more_crews[house] = visits

    def _tally(self, day: DayOfCrew, tick: int) -> Tally:
        """Return the tally of a crew's day in which ``tick`` lies."""
        crew, number = day
        draft, windows = self.draft, self._windows[crew]
        items, begins, window = draft.items[crew], draft.begins[crew], draft.window
        first = last = bisect_left(begins, tick)
        while first and windows[window[items[first - 1]]].day == number:
            first -= 1
        while last < len(items) and windows[window[items[last]]].day == number:
            last += 1
        compiled = draft.compiled
        if not compiled.stretches:
            return day_tally(compiled, crew, works_of(draft, crew, items[first:last]))
        while first and draft.until[items[first - 1]] > self._opening[crew][number]:
            first -= 1
        works = works_of(draft, crew, items[first:last])
        return day_tally(compiled, crew, [w for w in works if windows[w[3]].day == number])
