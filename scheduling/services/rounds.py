"""Solving in rounds, until plans agree with the air that their own coats make."""

from collections.abc import Callable
from dataclasses import dataclass

from scheduling.services.engine import Solved
from scheduling.services.proposing import Proposed, worth_showing
from scheduling.services.settling import Agreed, Settling
from scheduling.solver.change import Current
from scheduling.solver.problem import Placement, Problem

SHARES = (0.5, 0.25, 0.25)
"""Of a run's limits, by round."""
ENOUGH = 2
"""Proposals that agree, after which nobody has to wait for another round: a choice is there."""


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
    """Return the proposals worth showing of those that agree with their air, of all rounds; where
    none does, the one with the fewest changes, shifted. Raises UnsettledError."""
    found: dict[tuple[Placement, ...], Agreed] = {}
    proposed = propose(settling.inputs.problem, current, SHARES[0])
    for share in (*SHARES[1:], None):
        agreed = [settling.agreed(one.outcome) for one in proposed.proposals]
        found |= {plan.outcome.placements: plan for plan in agreed if plan}
        enough = all(agreed) or len(found) >= ENOUGH or settling.should_stop()
        if enough or share is None:
            break
        settling.next_round(proposed.proposals[-1].outcome)
        proposed = propose(settling.inputs.problem, current, share)
    if not found:
        shifted = settling.shifted(proposed.proposals[0].outcome)
        return SettledProposals((shifted,), proposed.note)
    shown = worth_showing(
        settling.inputs.problem, current, [plan.outcome for plan in found.values()]
    )
    return SettledProposals(
        tuple(Agreed(found[one.outcome.placements].inputs, one.outcome) for one in shown),
        proposed.note,
    )
