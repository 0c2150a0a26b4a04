"""How likely a promise is kept, and what holds in so many histories of ten."""

from dataclasses import dataclass

import numpy as np

from scheduling.solver.by_history import NEVER, Ticks
from scheduling.solver.problem import TICK_MINUTES

EIGHT_IN_TEN = 0.8


@dataclass(frozen=True, slots=True)
class Odds:
    """Of one handover. in_time: share of the histories in which it is done by its due tick.
    holds: the tick by which it is done in 8 of 10, None where it is not before the horizon.
    late_minutes: mean over the histories (one in which it is never done counts to the horizon).
    """

    in_time: float
    holds: int | None
    late_minutes: float


def odds_of(done: Ticks, due: int, horizon: int) -> Odds:
    """Return the odds of a handover, given the tick at which it is done in each history."""
    late = np.maximum(np.minimum(done, horizon) - due, 0)
    return Odds(
        in_time=float(np.mean(done <= due)),
        holds=tick_that_holds(done),
        late_minutes=float(np.mean(late)) * TICK_MINUTES,
    )


def tick_that_holds(done: Ticks, share: float = EIGHT_IN_TEN) -> int | None:
    """Return the first tick by which something is done in this share of the histories or more."""
    enough = int(np.ceil(share * len(done) - 1e-9))
    tick = int(np.sort(done)[max(enough, 1) - 1])
    return tick if tick < NEVER else None
