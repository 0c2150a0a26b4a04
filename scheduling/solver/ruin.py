"""Which pieces of a draft to take out and place anew: the neighbourhoods of the search.

A piece is a run or a single task. Every function returns numbers of pieces, placed or not, and
looks only at the part of the draft it is about.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Callable
from random import Random

from scheduling.solver.draft import NOWHERE, Draft
from scheduling.solver.evaluate import TICKS_PER_DAY
from scheduling.solver.tally import finish_of

MOST = 24
"""Pieces that one round takes out at most: more take longer than they bring."""


class Pieces:
    """The movable pieces of a draft and what is known about each.

    of: by task its piece, or -1. at: by house (index) its pieces.
    """

    def __init__(self, draft: Draft, order: list[list[int]]) -> None:
        compiled = draft.compiled
        free = ([task for task in piece if not compiled.tasks[task].fixed] for piece in order)
        self.tasks = [piece for piece in free if piece]
        self.house = [compiled.house[piece[0]] for piece in self.tasks]
        self.of = [-1] * len(compiled.tasks)
        self.at: dict[int, list[int]] = {}
        for number, piece in enumerate(self.tasks):
            self.at.setdefault(self.house[number], []).append(number)
            for task in piece:
                self.of[task] = number
        self.houses = sorted(self.at)
        self.handover_houses = [
            sorted({self.house[self.of[task]] for task in members if self.of[task] >= 0})
            for members in compiled.members
        ]

    def start(self, draft: Draft, piece: int) -> int:
        """Return the start tick of a piece's first task, or -1 where it has no place."""
        first = self.tasks[piece][0]
        return draft.start[first] if draft.crew[first] != NOWHERE else -1

    def crew(self, draft: Draft, piece: int) -> int:
        """Return the crew (index) of a piece's first task, NOWHERE without a place."""
        return draft.crew[self.tasks[piece][0]]

    def between(self, draft: Draft, crew: int, since: int, until: int) -> list[int]:
        """Return a crew's movable pieces with tasks that start in [since, until]."""
        begins, of = draft.begins[crew], self.of
        items = draft.items[crew][bisect_left(begins, since) : bisect_right(begins, until)]
        return [of[task] for task in items if of[task] >= 0]


Ruin = Callable[[Pieces, Draft, Random], list[int]]


def some_houses(pieces: Pieces, draft: Draft, rng: Random) -> list[int]:
    """One to three houses from some moment on."""
    houses = rng.sample(pieces.houses, min(len(pieces.houses), rng.randint(1, 3)))
    since = pieces.start(draft, rng.choice(pieces.at[houses[0]]))
    return [
        piece
        for house in houses
        for piece in pieces.at[house]
        if pieces.start(draft, piece) >= since
    ]


def some_days(pieces: Pieces, draft: Draft, rng: Random) -> list[int]:
    """Whatever some crews start within half a day to two days of some piece."""
    middle = pieces.start(draft, rng.randrange(len(pieces.tasks)))
    reach = rng.randint(1, 4) * TICKS_PER_DAY // 2
    found: list[int] = []
    crews = list(range(draft.compiled.ghost))
    rng.shuffle(crews)
    for crew in crews:
        found += pieces.between(draft, crew, middle - reach, middle + reach)
        if len(found) >= MOST:
            break
    return found


def a_crews_days(pieces: Pieces, draft: Draft, rng: Random) -> list[int]:
    """One crew's pieces of up to two weeks."""
    seed = rng.randrange(len(pieces.tasks))
    crew, since = pieces.crew(draft, seed), pieces.start(draft, seed)
    if crew == NOWHERE:
        return [seed]
    return pieces.between(draft, crew, since, since + rng.randint(2, 14) * TICKS_PER_DAY)


def two_crews_days(pieces: Pieces, draft: Draft, rng: Random) -> list[int]:
    """Two crews' pieces of up to a week, so that they may change hands."""
    seed = rng.randrange(len(pieces.tasks))
    since = pieces.start(draft, seed)
    until = since + rng.randint(1, 7) * TICKS_PER_DAY
    others = rng.sample(range(draft.compiled.ghost), min(2, draft.compiled.ghost))
    crews = {max(0, pieces.crew(draft, seed)), *others[:1]}
    return [seed, *(p for crew in sorted(crews) for p in pieces.between(draft, crew, since, until))]


def a_few(pieces: Pieces, _: Draft, rng: Random) -> list[int]:
    """One to four pieces from anywhere."""
    count = min(len(pieces.tasks), rng.randint(1, 4))
    return rng.sample(range(len(pieces.tasks)), count)


def a_late_house(pieces: Pieces, draft: Draft, rng: Random) -> list[int]:
    """The houses of a late handover, and one other."""
    number = _late_handover(pieces, draft, rng)
    if number is None:
        return a_few(pieces, draft, rng)
    houses = {*pieces.handover_houses[number], rng.choice(pieces.houses)}
    return [piece for house in sorted(houses) for piece in pieces.at[house]]


def what_makes_late(pieces: Pieces, draft: Draft, rng: Random) -> list[int]:
    """The end of a late house, and what the crews do just before its pieces."""
    number = _late_handover(pieces, draft, rng)
    if number is None:
        return a_few(pieces, draft, rng)
    house = rng.choice(pieces.handover_houses[number])
    since = pieces.start(draft, rng.choice(pieces.at[house]))
    found = [piece for piece in pieces.at[house] if pieces.start(draft, piece) >= since]
    reach = rng.randint(1, 4) * TICKS_PER_DAY // 2
    for piece in found[:]:
        start, crew = pieces.start(draft, piece), pieces.crew(draft, piece)
        if crew != NOWHERE:
            found += pieces.between(draft, crew, start - reach, start)
        if len(found) >= MOST:
            break
    return found


def _late_handover(pieces: Pieces, draft: Draft, rng: Random) -> int | None:
    """Return a late handover with movable pieces, by lot; None where a dozen draws find none."""
    handovers = draft.compiled.problem.handovers
    for _ in range(12 if handovers else 0):
        number = rng.randrange(len(handovers))
        late = (finish_of(draft, number) or 0) > handovers[number].due
        if late and pieces.handover_houses[number]:
            return number
    return None


RUINS: tuple[Ruin, ...] = (
    some_houses,
    some_days,
    a_crews_days,
    two_crews_days,
    a_few,
    a_late_house,
    what_makes_late,
)
