"""Ruin and recreate by insertion.

A round takes some pieces out of the current draft and puts them back at their earliest places,
in another order and sometimes with another crew. The walk accepts a draft that is a little
worse, less readily as the budget runs down; the best by the exact score is kept apart.
"""

from math import exp
from random import Random

from scheduling.solver.construct import due_and_tail, in_order, place_ready, sort_pieces
from scheduling.solver.draft import NOWHERE, Draft
from scheduling.solver.evaluate import TICKS_PER_DAY
from scheduling.solver.ruin import RUINS, Pieces
from scheduling.solver.tally import Key, key_of

VISIT_COST, IDLE_COST, FINISH_COST = 60.0, 1.0, 0.01
"""What a visit, an idle minute and a finishing tick weigh on the walk, in minutes of lateness."""

HEAT = 1000.0
"""Worsening (in minutes of lateness) that the walk accepts once in e times at the start; a
crew-day or so. It cools with the square of the budget left."""

UNPLACED_COST = 1e9


class Walk:
    """The draft the search stands on, and how it gets to the next one."""

    def __init__(self, draft: Draft, rng: Random) -> None:
        compiled = draft.compiled
        self.draft, self.rng = draft, rng
        self.pieces = Pieces(draft, in_order(compiled, lambda task: task))
        due, tail = due_and_tail(compiled)
        self._slack = [one - other for one, other in zip(due, tail, strict=True)]
        self._cost = _cost(key_of(draft))

    def stand_on(self, draft: Draft) -> None:
        """Go on from another draft."""
        self.draft, self._cost = draft.copy(), _cost(key_of(draft))

    def step(self, used: float) -> bool:
        """Try one change, ``used`` of the budget being gone; return whether the walk moved."""
        ruin = self.rng.choice(RUINS)
        candidate = self._recreate(ruin(self.pieces, self.draft, self.rng))
        if candidate is None:
            return False
        cost = _cost(key_of(candidate))
        heat = HEAT * (1 - used) ** 2 + 1e-9
        worse = cost - self._cost
        if worse > 0 and self.rng.random() >= exp(-worse / heat):
            return False
        self.draft, self._cost = candidate, cost
        return True

    def _recreate(self, numbers: list[int]) -> Draft | None:
        """Return a copy of the draft with the numbered pieces taken out and put back.

        None where a task finds no place again: others may be waiting for it.
        """
        compiled, draft = self.draft.compiled, self.draft.copy()
        out = [self.pieces.tasks[number] for number in numbers]
        ranks = self._ranks(out)
        taken = [task for piece in out for task in piece if draft.crew[task] != NOWHERE]
        for task in taken:
            draft.take(task)
        for piece in sort_pieces(compiled, out, lambda task: ranks[task]):
            crews = compiled.crews[piece[0]]
            if len(crews) > 1 and self.rng.random() < 0.2:
                crews = (self.rng.choice(crews),)
            place_ready(draft, piece, crews)
        return None if any(draft.crew[task] == NOWHERE for task in taken) else draft

    def _ranks(self, pieces: list[list[int]]) -> dict[int, float]:
        """Return by first task where its piece stands in line: by slack, as it was, or by lot."""
        spread = self.rng.choice((0, 1, 2, 4)) * TICKS_PER_DAY
        base = self.rng.choice((self._slack, self.draft.start, None))
        return {
            piece[0]: self.rng.random() * (spread or 1) + (base[piece[0]] if base else 0)
            for piece in pieces
        }


def _cost(key: Key) -> float:
    """Return the cost of a draft to the walk, which trades what the score ranks."""
    score = key.score
    return (
        (key.unplaced + key.broken_pins) * UNPLACED_COST
        + score.lateness
        + score.visits * VISIT_COST
        + score.idle * IDLE_COST
        + score.finish * FINISH_COST
    )
