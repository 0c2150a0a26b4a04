"""Proposals from the solver's child process; only what verifies is believed."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from scheduling.services.child import Child, ChildEnded
from scheduling.services.engine import EngineError
from scheduling.solver.change import Change, Current, change_between
from scheduling.solver.compiled import compile_problem
from scheduling.solver.construct import construct, outcome_of
from scheduling.solver.fewest import first_fewest
from scheduling.solver.homes import homes_of
from scheduling.solver.outcome import Limits, Outcome
from scheduling.solver.problem import Problem
from scheduling.solver.release import held_to_the_rules
from scheduling.solver.verify import verify


@dataclass(frozen=True)
class Proposal:
    """A verified plan and how it differs from the current one."""

    outcome: Outcome
    change: Change


@dataclass(frozen=True)
class Proposed:
    """Proposals of rising change and falling lateness, none dominated on the two; ``note`` says
    how the child ended where it was not by itself."""

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
    strict = held_to_the_rules(problem)
    best = _first(problem, strict, current)
    on_better(best)
    note = ""
    try:
        for plans in child.proposals(problem, current, limits, should_stop):
            sound = [plan for plan in plans if not verify(strict, plan)]
            if len(sound) < len(plans):
                note = "a plan of the solver did not verify and was dropped"
            known = [proposal.outcome for proposal in best[:1]]
            best = _undominated(problem, current, [*sound, *known])
            on_better(best)
    except ChildEnded as ended:
        note = f"{ended}; these are the best plans it had found"
    return Proposed(best, note)


def _first(problem: Problem, strict: Problem, current: Current) -> tuple[Proposal, ...]:
    """Return what there is without any search: the plan that keeps most, or the first plan."""
    kept = outcome_of(first_fewest(homes_of(compile_problem(problem), current)))
    made = [kept, construct(problem)]
    sound = [plan for plan in made if not verify(strict, plan)]
    if not sound:
        raise EngineError(f"the first plan breaks a rule: {verify(strict, kept)[0]}")
    return _undominated(problem, current, sound)


def _undominated(
    problem: Problem, current: Current, plans: Iterable[Outcome]
) -> tuple[Proposal, ...]:
    """Return the plans with the fewest tasks left out of which none is as good as another on
    change and lateness, the fewest changes first."""
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
    return tuple(kept)
