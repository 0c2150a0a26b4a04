"""Proposals from the solver's child process; only what verifies is believed."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from scheduling.services.child import Child, ChildEnded
from scheduling.services.engine import EngineError
from scheduling.solver.change import Change, Current, change_between
from scheduling.solver.compiled import compile_problem
from scheduling.solver.construct import first_draft, outcome_of
from scheduling.solver.fewest import first_fewest
from scheduling.solver.front import to_show
from scheduling.solver.homes import homes_of
from scheduling.solver.outcome import Limits, Outcome
from scheduling.solver.problem import Problem
from scheduling.solver.release import broken_rules


@dataclass(frozen=True)
class Proposal:
    """A verified plan and how it differs from the current one."""

    outcome: Outcome
    change: Change


@dataclass(frozen=True)
class Proposed:
    """Proposals of rising change and falling lateness, each worth its changes; ``note`` says how
    the child ended where it was not by itself."""

    proposals: tuple[Proposal, ...]
    note: str = ""


def propose(
    problem: Problem,
    current: Current,
    limits: Limits,
    *,
    on_better: Callable[[tuple[Proposal, ...]], None] = lambda _: None,
    should_stop: Callable[[], bool] = lambda: False,
    child: Child = Child(),  # noqa: B008 - frozen
) -> Proposed:
    """Return verified proposals within the limits, or at once when ``should_stop`` says so.

    The first, with little change, is made and verified here, so that whatever becomes of the
    child there is one. Each list of the child's counts as a whole: one plan of it that does not
    verify is left out, and the note says so.
    """
    best = _first(problem, current)
    on_better(best)
    note = ""
    try:
        for plans in child.proposals(problem, current, limits, should_stop):
            sound = [plan for plan in plans if not broken_rules(problem, plan)]
            if len(sound) < len(plans):
                note = "a plan of the solver did not verify and was dropped"
            known = [proposal.outcome for proposal in best[:1]]
            best = worth_showing(problem, current, [*sound, *known])
            on_better(best)
    except ChildEnded as ended:
        note = f"{ended}; these are the best plans it had found"
    return Proposed(best, note)


def _first(problem: Problem, current: Current) -> tuple[Proposal, ...]:
    """Return what there is without any search: the plan that keeps most, or the first plan."""
    compiled = compile_problem(problem)
    kept = outcome_of(first_fewest(homes_of(compiled, current)))
    made = [kept, outcome_of(first_draft(compiled))]
    sound = [plan for plan in made if not broken_rules(problem, plan)]
    if not sound:
        raise EngineError(f"the first plan breaks a rule: {broken_rules(problem, kept)[0]}")
    return worth_showing(problem, current, sound)


def worth_showing(
    problem: Problem, current: Current, plans: Iterable[Outcome]
) -> tuple[Proposal, ...]:
    """Return the plans to show of those with the fewest tasks left out, none as good as another
    on change and lateness, the fewest changes first."""
    plans = list(plans)
    fewest_left = min(len(plan.unplaced) for plan in plans)
    measured = [
        Proposal(plan, change_between(problem, current.seen, plan.placements))
        for plan in plans
        if len(plan.unplaced) == fewest_left
    ]
    measured.sort(key=lambda one: (one.change.size, one.outcome.score))
    kept: list[Proposal] = []
    for proposal in measured:
        if not kept or proposal.outcome.score.lateness < kept[-1].outcome.score.lateness:
            kept.append(proposal)
    least = [one.change.size for one in measured if one.outcome.least_change]
    kept[0] = _said_to_be_least(kept[0], kept[0].change.size in [(0, 0), *least])
    return tuple(kept[number] for number in to_show([one.outcome.score.lateness for one in kept]))


def _said_to_be_least(proposal: Proposal, least: bool) -> Proposal:
    """Return the proposal with what may have been proved of another that changes as much."""
    return replace(proposal, outcome=replace(proposal.outcome, least_change=least))
