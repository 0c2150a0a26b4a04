"""Which dryer stands in which house, from which visit to which: searched from a plan without any.

A coat has two waits, without a dryer and with one. The search takes both from the air of the plan
in hand, once as it is and once with a unit in every house all the time. What it finds is then held
against the air that its own coats and units make, like any plan.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from finishing.models import Company, Dryer
from finishing.rules.vocabulary import DryerKind
from scheduling.services.child import Child, ChildEnded
from scheduling.services.dryer_stays import PlannedStay, bare_dryer
from scheduling.services.house_climates import Standing
from scheduling.services.inputs import PlanInputs, WetHouses, build_inputs
from scheduling.services.rounds import SHARES, Propose, Settled
from scheduling.services.settling import Agreed, Settling, UnsettledError
from scheduling.services.timeline import TICKS_PER_HOUR
from scheduling.solver import stays as solver
from scheduling.solver.change import Current
from scheduling.solver.outcome import Limits
from scheduling.solver.problem import Placement
from scheduling.solver.release import broken_rules
from scheduling.solver.stays import Stayed

EMPTIED_EVERY_HOURS = 24
"""How often the search takes a tank to be emptied; the plan's own visits decide afterwards."""

SEARCH_SHARE = 0.5
"""Of a run's limits, beside what the plan without dryers has had."""


@dataclass(frozen=True)
class DryerSearch:
    """How dryers are searched for: the run's limits, and the child that does it."""

    company: Company
    limits: Limits
    child: Child = field(default_factory=Child)
    should_stop: Callable[[], bool] = lambda: False

    def stayed(self, plan: Agreed, dryers: Sequence[solver.Dryer]) -> Stayed | None:
        """Return the best found from a plan; None where it does not verify or the child ends."""
        problem = plan.inputs.problem
        limits = self.limits.share(SEARCH_SHARE)
        try:
            found = self.child.stays(problem, dryers, plan.outcome.placements, limits)
        except ChildEnded:
            return None
        standing = solver.with_stays(problem, dryers, found.stays)
        return None if broken_rules(standing, found.outcome) else found


def free_dryers(inputs: PlanInputs) -> dict[str, Dryer]:
    """Return the dryers that may be set down where they help, by id.

    Not those that stand in a house; and no heater: whoever heats decides where, and a flame in a
    closed house adds water.
    """
    return {
        key: row
        for key, row in inputs.dryers.items()
        if row.house is None and row.kind == DryerKind.DEHUMIDIFIER and not row.flame
    }


def with_dryers(
    settling: Settling, before: Settled, search: DryerSearch, propose: Propose
) -> Settled:
    """Return the plan in which dryers stand where they save lateness, and which agrees with the
    air that they and its coats make; the plan as it was where none saves any."""
    plan = before.agreed
    rows = free_dryers(plan.inputs)
    if not rows or not plan.outcome.score.lateness or search.should_stop():
        return before
    dryers = dryers_with_curves(search.company, plan.inputs, plan.outcome.placements, rows)
    found = search.stayed(plan, dryers)
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


def dryers_with_curves(
    company: Company,
    inputs: PlanInputs,
    placements: Sequence[Placement],
    rows: Mapping[str, Dryer],
) -> list[solver.Dryer]:
    """Return dryers as the solver knows them, with the waits of coats beside one unit, in the air
    of a plan's coats."""
    hours = inputs.timeline.horizon // TICKS_PER_HOUR
    emptied = frozenset(range(0, hours, EMPTIED_EVERY_HOURS))
    ends = {place.task: inputs.timeline.instant(place.end) for place in placements}
    found = []
    for row in rows.values():
        standing = [Standing(row, house, 1, 0, hours, emptied) for house in inputs.houses]
        beside = build_inputs(
            company=company, now=inputs.now, wet=WetHouses(ends, stays=(), standing=standing)
        )
        curves = {
            name: curve
            for name, curve in beside.problem.curves.items()
            if name in inputs.drying and name in inputs.problem.curves
        }
        found.append(replace(bare_dryer(row), curves=curves))
    return found


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
