"""Which dryer stands in which house, from which visit to which: searched from a plan without any.

A coat has a wait without a dryer, and others with one or several. The search takes them all from
the air of the plan in hand, as it is and with units in a house all the time (``dryer_curves.py``).
What it finds is then held against the air that its own coats and units make, like any plan.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace

from finishing.models import Company, Dryer
from scheduling.services.child import Child, ChildEnded
from scheduling.services.dryer_curves import dryers_with_curves
from scheduling.services.dryer_stays import PlannedStay
from scheduling.services.plan_inputs import PlanInputs
from scheduling.services.rounds import SHARES, Propose, Settled
from scheduling.services.settling import Agreed, Settling, UnsettledError
from scheduling.solver import stays as solver
from scheduling.solver.change import Current
from scheduling.solver.outcome import Limits
from scheduling.solver.release import broken_rules
from scheduling.solver.stay_search import late_houses
from scheduling.solver.stays import Fleet, Stayed

SEARCH_SHARE = 0.5
"""Of a run's limits, beside what the plan without dryers has had."""


@dataclass(frozen=True)
class DryerSearch:
    """How dryers are searched for: the run's limits, and the child that does it."""

    company: Company
    limits: Limits
    child: Child = field(default_factory=Child)
    should_stop: Callable[[], bool] = lambda: False

    def stayed(self, plan: Agreed, fleet: Fleet) -> Stayed | None:
        """Return the best found from a plan; None where it does not verify or the child ends."""
        problem = plan.inputs.problem
        limits = self.limits.share(SEARCH_SHARE)
        try:
            found = self.child.stays(problem, fleet, plan.outcome.placements, limits)
        except ChildEnded:
            return None
        standing = solver.with_stays(problem, fleet, found.stays)
        return None if broken_rules(standing, found.outcome) else found


def free_dryers(inputs: PlanInputs) -> dict[str, Dryer]:
    """Return the dryers that may be set down where they help, by id.

    Not those that stand in a house; and never a flame, which adds water to a closed house and
    gives off carbon monoxide.
    """
    return {key: row for key, row in inputs.dryers.items() if row.house is None and not row.flame}


def with_dryers(
    settling: Settling, before: Settled, search: DryerSearch, propose: Propose
) -> Settled:
    """Return the plan in which dryers stand where they save lateness, and which agrees with the
    air that they and its coats make; the plan as it was where none saves any."""
    plan = before.agreed
    rows = free_dryers(plan.inputs)
    if not rows or not plan.outcome.score.lateness or search.should_stop():
        return before
    late = late_houses(plan.inputs.problem, plan.outcome.placements)
    fleet = dryers_with_curves(search.company, plan.inputs, rows, several_in=late)
    found = search.stayed(plan, fleet)
    if found is None or not found.stays:
        return before
    try:
        after = _settled(settling, found, _planned(plan.inputs, found), propose)
    except UnsettledError:
        return before
    saved = plan.outcome.score.cost - after.outcome.score.cost
    if saved <= 0 or len(after.outcome.unplaced) > len(plan.outcome.unplaced):
        return before
    return Settled(_saving_at_most(after, saved), before.note)


def _settled(
    settling: Settling, found: Stayed, stays: tuple[PlannedStay, ...], propose: Propose
) -> Agreed:
    """Return the plan found, or one near it, that agrees with its air; raise UnsettledError."""
    near = found.outcome
    settling.stand(stays, near)
    for share in SHARES[1:]:
        if agreed := settling.agreed(near):
            return agreed
        settling.next_round(near)
        proposed = propose(settling.inputs.problem, Current(near.placements), share)
        near = min((one.outcome for one in proposed.proposals), key=lambda plan: plan.score)
    return settling.agreed(near) or settling.shifted(near)


def _planned(inputs: PlanInputs, found: Stayed) -> tuple[PlannedStay, ...]:
    house = {task.id: task.house for task in inputs.problem.tasks}
    return tuple(
        PlannedStay(stay, house[stay.set_in], saved)
        for stay, saved in zip(found.stays, found.saved, strict=True)
    )


def _saving_at_most(after: Agreed, saved: int) -> Agreed:
    """Return the plan with no stay that is said to save more than all of them did in the end."""
    stays = after.inputs.stays
    capped = tuple(replace(one, saved_minutes=min(one.saved_minutes, saved)) for one in stays.kept)
    after.inputs.stays = replace(stays, kept=capped)
    return after
