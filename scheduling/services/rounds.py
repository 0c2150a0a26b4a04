"""Solving in rounds, until plans agree with the air that their own coats make."""

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from scheduling.services.engine import Solved
from scheduling.services.proposing import Proposed, worth_showing
from scheduling.services.settling import Agreed, Settling, UnsettledError
from scheduling.solver.change import Current
from scheduling.solver.outcome import Outcome
from scheduling.solver.problem import Placement, Problem

SHARES = (0.5, 0.25, 0.25)
"""Of a run's limits, by round."""
ENOUGH = 2
"""Proposals worth showing, after which nobody has to wait for another round: a choice is there."""
SHIFTS_BESIDE = 4
"""Most plans agree after one or two."""


@dataclass(frozen=True)
class Settled:
    """A plan that agrees with its air; ``note`` says how the child ended where it was not by
    itself."""

    agreed: Agreed
    note: str = ""


@dataclass(frozen=True)
class SettledProposals:
    """Proposals that each agree with their air, the fewest changes first."""

    agreed: tuple[Agreed, ...]
    note: str = ""


type Solve = Callable[[Problem, float], Solved]
type Propose = Callable[[Problem, Current, float], Proposed]


def settle(settling: Settling, solve: Solve, propose: Propose) -> Settled:
    """Return a plan that agrees with its air; raise UnsettledError.

    Later rounds look near the plan before, whose air they are made for: a plan that is another
    altogether would not find that air either. solve, propose: work on a problem (and a plan of
    it) within a share of the run's limits.
    """
    first, *later = SHARES
    solved = solve(settling.inputs.problem, first)
    if agreed := settling.agreed(solved.outcome):
        return Settled(agreed, solved.note)
    best, near, note = None, solved.outcome, solved.note
    for share in later:
        if settling.should_stop():
            break
        settling.next_round(near)
        proposed = propose(settling.inputs.problem, Current(near.placements), share)
        note = proposed.note or note
        cheapest_first = sorted(proposed.proposals, key=lambda one: one.outcome.score)
        agreed = next(filter(None, (settling.agreed(one.outcome) for one in cheapest_first)), None)
        if agreed and (best is None or agreed.outcome.score < best.outcome.score):
            best = agreed
        near = best.outcome if best else cheapest_first[0].outcome
    return Settled(best or settling.shifted(near), note)


def settle_proposals(settling: Settling, current: Current, propose: Propose) -> SettledProposals:
    """Return the proposals worth showing of those that agree with their air, of all rounds.

    What does not agree is shifted right at once, beside its round: another search in longer waits
    seldom finds its like again. Rounds end once there is a choice. Raises UnsettledError where
    nothing agrees however far it is shifted.
    """
    found: dict[tuple[Placement, ...], Agreed] = {}
    for share in SHARES:
        proposed = propose(settling.inputs.problem, current, share)
        tries = [_Try(settling.beside(), one.outcome) for one in proposed.proposals]
        found |= {one.agreed.outcome.placements: one.agreed for one in tries if one.agreed}
        shown = _worth_showing(settling, current, found)
        for one in tries:
            settling.learn_from(one.settling)
            settling.freed_beside(one.freed)
        none_wet = not any(one.was_wet for one in tries)
        if none_wet or len(shown) >= ENOUGH or settling.should_stop():
            break
        settling.next_round(proposed.proposals[-1].outcome)
    if not found:
        shown = [settling.shifted(proposed.proposals[0].outcome)]
    return SettledProposals(tuple(shown), proposed.note)


class _Try:
    """One proposal held against its own air, beside its round, and shifted where it does not
    hold there."""

    def __init__(self, settling: Settling, plan: Outcome) -> None:
        self.settling = settling
        self.freed: list[dict[str, Any]] = []
        self.agreed = settling.agreed(plan)
        self.was_wet = self.agreed is None
        if self.was_wet and not settling.should_stop():
            self._shift(plan)

    def _shift(self, plan: Outcome) -> None:
        later = self.settling.beside()
        with suppress(UnsettledError):
            self.agreed = later.shifted(plan, most=SHIFTS_BESIDE)
            self.freed = later.freed


def _worth_showing(
    settling: Settling, current: Current, found: Mapping[tuple[Placement, ...], Agreed]
) -> list[Agreed]:
    """Return the plans of those that agree which are worth their changes, the fewest first."""
    plans = [plan.outcome for plan in found.values()]
    shown = worth_showing(settling.inputs.problem, current, plans) if plans else ()
    return [Agreed(found[one.outcome.placements].inputs, one.outcome) for one in shown]
