"""Ruin and recreate by insertion.

A round takes some pieces out of the draft and puts them back at their earliest places, in
another order and sometimes with another crew. A round that is not accepted is undone piece by
piece, so that it costs no more than the pieces it touched. The walk accepts a draft that is a
little worse, less readily as the budget runs down; the best by the exact score is kept apart.
"""

from math import exp
from random import Random

from scheduling.solver.construct import due_and_tail, in_order, place_ready, sort_pieces
from scheduling.solver.draft import NOWHERE, Draft, Place
from scheduling.solver.evaluate import TICKS_PER_DAY
from scheduling.solver.ledger import Ledger
from scheduling.solver.ruin import MOST, RUINS, Pieces
from scheduling.solver.tally import Key

VISIT_COST, IDLE_COST, FINISH_COST = 60.0, 1.0, 0.01
"""What a visit, an idle minute and a finishing tick weigh on the walk, in minutes of lateness."""

THRIFT = 0.5
"""How often a piece is kept out of the windows at a price, where there are any."""

HEAT = 1000.0
"""Worsening (in minutes of lateness) that the walk accepts once in e times at the start; a
crew-day or so. It cools with the square of the budget left."""

UNPLACED_COST = 1e9

FEW_CREWS, STRANGERS = 8, 3
"""Where more crews than a few may do a piece, it is offered to those that have just lost some
and to so many others by lot: the rest are mostly full."""

ANOTHER_WAY = 0.3
"""How often a task that can be left in several ways is left in one by lot."""

Places = list[tuple[int, Place]]


class Walk:
    """The draft the search stands on, and how it gets to the next one."""

    def __init__(self, draft: Draft, rng: Random) -> None:
        compiled = draft.compiled
        self.rng = rng
        self.pieces = Pieces(draft, in_order(compiled, lambda task: task))
        due, tail = due_and_tail(compiled)
        self._slack = [one - other for one, other in zip(due, tail, strict=True)]
        self.stand_on(draft)

    def stand_on(self, draft: Draft) -> None:
        """Go on from another draft."""
        self.draft = draft.copy()
        self._ledger = Ledger(self.draft)
        self.key = self._ledger.key()

    def step(self, used: float) -> bool:
        """Try one change, ``used`` of the budget being gone; return whether the walk moved.

        It does not where a task finds no place again: others may be waiting for it.
        """
        ruin = self.rng.choice(RUINS)
        chosen = list(dict.fromkeys(ruin(self.pieces, self.draft, self.rng)))[:MOST]
        out = [self.pieces.tasks[number] for number in chosen]
        ranks = self._ranks(out)
        left = self._take(out)
        self._recreate(out, ranks, {place.crew for _, place in left})
        came = self._places(out)
        entries = self._ledger.settle([*left, *came])
        key = self._ledger.key()
        whole = all(self.draft.crew[task] != NOWHERE for task, _ in left)
        if whole and self._accepts(_cost(key) - _cost(self.key), used):
            self.key = key
            return True
        self._undo(left, came)
        self._ledger.restore(entries)
        return False

    def _accepts(self, worse: float, used: float) -> bool:
        heat = HEAT * (1 - min(1.0, used)) ** 2 + 1e-9
        return worse <= 0 or self.rng.random() < exp(-worse / heat)

    def _undo(self, left: Places, came: Places) -> None:
        """Take away what came and put back what had left."""
        for task, _ in came:
            self.draft.take(task)
        for task, place in left:
            self.draft.put(task, place)

    def _take(self, out: list[list[int]]) -> Places:
        """Take pieces out of the draft and return where their tasks were."""
        draft = self.draft
        return [
            (task, draft.take(task))
            for piece in out
            for task in piece
            if draft.crew[task] != NOWHERE
        ]

    def _places(self, out: list[list[int]]) -> Places:
        """Return where the tasks of pieces are."""
        draft = self.draft
        return [
            (task, draft.place(task))
            for piece in out
            for task in piece
            if draft.crew[task] != NOWHERE
        ]

    def _recreate(self, out: list[list[int]], ranks: dict[int, float], holes: set[int]) -> None:
        """Put pieces back, ``holes`` being the crews that have just lost some."""
        compiled, draft, rng = self.draft.compiled, self.draft, self.rng
        draft.wanted = self._ways_by_lot(out)
        for piece in sort_pieces(compiled, out, lambda task: ranks[task]):
            crews = compiled.crews[piece[0]]
            if len(crews) > 1 and rng.random() < 0.2:
                crews = (rng.choice(crews),)
            elif len(crews) > FEW_CREWS:
                others = rng.sample(crews, STRANGERS)
                crews = tuple({*(crew for crew in crews if crew in holes), *others})
            draft.thrifty = compiled.priced and rng.random() < THRIFT
            place_ready(draft, piece, crews)
        draft.thrifty = False

    def _ways_by_lot(self, out: list[list[int]]) -> dict[int, int]:
        """Return for some tasks of pieces another way to leave them than whichever is quickest."""
        compiled, rng = self.draft.compiled, self.rng
        choosers = (task for piece in out for task in piece if task in compiled.choosers)
        return {
            task: rng.randrange(len(compiled.ways[task]))
            for task in choosers
            if rng.random() < ANOTHER_WAY
        }

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
        + score.cost
        + score.visits * VISIT_COST
        + score.idle * IDLE_COST
        + score.finish * FINISH_COST
    )
