"""Which pieces of a draft to take out and place anew: the neighbourhoods of the search.

A piece is a run or a single task. Every function returns numbers of placed pieces.
"""

from collections.abc import Callable
from random import Random

from scheduling.solver.draft import NOWHERE, Draft
from scheduling.solver.evaluate import TICKS_PER_DAY
from scheduling.solver.tally import finish_of


class Pieces:
    """The movable pieces of a draft and what is known about each."""

    def __init__(self, draft: Draft, order: list[list[int]]) -> None:
        compiled = draft.compiled
        free = ([task for task in piece if not compiled.tasks[task].fixed] for piece in order)
        self.tasks = [piece for piece in free if piece]
        self.house = [compiled.house[piece[0]] for piece in self.tasks]
        self.houses = sorted(set(self.house))
        self.handover_houses = [
            sorted({compiled.house[task] for task in members}) for members in compiled.members
        ]

    def start(self, draft: Draft, piece: int) -> int:
        """Return the start tick of a piece's first task, or -1 where it has no place."""
        first = self.tasks[piece][0]
        return draft.start[first] if draft.crew[first] != NOWHERE else -1

    def crew(self, draft: Draft, piece: int) -> int:
        """Return the crew (index) of a piece's first task, NOWHERE without a place."""
        return draft.crew[self.tasks[piece][0]]


Ruin = Callable[[Pieces, Draft, Random], list[int]]


def some_houses(pieces: Pieces, draft: Draft, rng: Random) -> list[int]:
    """One to three houses from some moment on."""
    count = min(len(pieces.houses), rng.randint(1, 3))
    houses = set(rng.sample(pieces.houses, count))
    since = pieces.start(draft, rng.randrange(len(pieces.tasks)))
    return [
        piece
        for piece in range(len(pieces.tasks))
        if pieces.house[piece] in houses and pieces.start(draft, piece) >= since
    ]


def some_days(pieces: Pieces, draft: Draft, rng: Random) -> list[int]:
    """Whatever starts within one to four days of some piece."""
    middle = pieces.start(draft, rng.randrange(len(pieces.tasks)))
    reach = rng.randint(1, 4) * TICKS_PER_DAY // 2
    return [
        piece
        for piece in range(len(pieces.tasks))
        if abs(pieces.start(draft, piece) - middle) <= reach
    ]


def a_crews_days(pieces: Pieces, draft: Draft, rng: Random) -> list[int]:
    """One crew's pieces of up to two weeks."""
    seed = rng.randrange(len(pieces.tasks))
    crew, since = pieces.crew(draft, seed), pieces.start(draft, seed)
    until = since + rng.randint(2, 14) * TICKS_PER_DAY
    return [
        piece
        for piece in range(len(pieces.tasks))
        if pieces.crew(draft, piece) == crew and since <= pieces.start(draft, piece) <= until
    ]


def a_few(pieces: Pieces, _: Draft, rng: Random) -> list[int]:
    """One to four pieces from anywhere."""
    count = min(len(pieces.tasks), rng.randint(1, 4))
    return rng.sample(range(len(pieces.tasks)), count)


def a_late_house(pieces: Pieces, draft: Draft, rng: Random) -> list[int]:
    """The houses of a late handover, and one other."""
    late = [
        number
        for number, handover in enumerate(draft.compiled.problem.handovers)
        if (finish_of(draft, number) or 0) > handover.due
    ]
    if not late:
        return a_few(pieces, draft, rng)
    houses = {*pieces.handover_houses[rng.choice(late)], rng.choice(pieces.houses)}
    return [piece for piece, house in enumerate(pieces.house) if house in houses]


RUINS: tuple[Ruin, ...] = (some_houses, some_days, a_crews_days, a_few, a_late_house)
