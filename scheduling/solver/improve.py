"""Making a plan better: insertion first, CP-SAT where it can prove or help out of a rut.

CP-SAT is asked only for a smaller cost (lateness and extra windows), and no longer once none can
be had; visits, idle time and finish are the walk's business.
"""

from random import Random

from scheduling.solver.budget import Budget
from scheduling.solver.construct import in_order
from scheduling.solver.draft import NOWHERE, Draft
from scheduling.solver.incumbent import Incumbent
from scheduling.solver.model_size import Size, size_of
from scheduling.solver.ruin import RUINS
from scheduling.solver.walk import Walk

WHOLE_UP_TO = Size(options=750, ways=33_000)
"""A model up to which CP-SAT gets the whole problem: a job shop of 225 tasks, 90 tasks that any
of eight crews may do in as many houses."""

WHOLE_SHARES = (0.3, 0.9)
"""Shares of the budget left that CP-SAT has for the whole problem if it can prove nothing sooner:
a second time with the domains that a better plan leaves."""

PART_UP_TO = 40
"""Free tasks that CP-SAT gets at a time where the problem is larger."""

PATIENCE = 3000
"""Rounds without a better plan after which CP-SAT is asked about a part; where no plan can cost
less, the search ends."""

PART_ROUNDS = 200
"""Rounds that a call of CP-SAT about a part counts for."""


def improve(incumbent: Incumbent, budget: Budget, whole_up_to: Size = WHOLE_UP_TO) -> None:
    """Offer better and better drafts to the incumbent until the budget is used, or until the gap
    is closed and visits and idle time come down no more.

    whole_up_to: the largest model that CP-SAT gets as a whole.
    """
    rng = Random(budget.limits.seed)  # noqa: S311 (a search, no secret)  # nosec B311
    walk = Walk(incumbent.draft, rng)
    if not walk.pieces.tasks:
        return
    _walk_until(walk, incumbent, budget, 0.1)
    if _solve_whole(incumbent, budget, whole_up_to):
        walk.stand_on(incumbent.draft)
    while _walk_until(walk, incumbent, budget, 1.0) and not incumbent.proved:
        if _solve_part(walk, incumbent, budget):
            walk.stand_on(incumbent.draft)


def _walk_until(walk: Walk, incumbent: Incumbent, budget: Budget, share: float) -> bool:
    """Walk until a share of the budget is used, or to its end in vain; return whether in vain.

    Where no plan can cost less the walk cools as its patience runs out, not with the budget.
    """
    vain = 0
    while (used := budget.used()) < share:
        budget.spend()
        vain += 1
        cooled = max(used, vain / PATIENCE) if incumbent.proved and share == 1.0 else used
        if walk.step(cooled) and walk.key < incumbent.key:
            incumbent.offer(walk.draft, "insertion")
            vain = 0
        if vain >= PATIENCE:
            return True
    return False


def _solve_whole(incumbent: Incumbent, budget: Budget, up_to: Size) -> bool:
    """Give a small problem to CP-SAT as a whole; return whether it found a better plan."""
    if incumbent.proved:
        return False
    draft, before = incumbent.draft, incumbent.key
    order = in_order(draft.compiled, lambda task: task)
    free = [task for piece in order for task in piece if not draft.compiled.tasks[task].fixed]
    if incumbent.key[:2] != (0, 0) or not _small(draft, free, up_to):
        return False
    # Imported when it is needed: it takes half a second, a good part of a short search.
    from scheduling.solver.exact import gaps_are_exact, least_cost  # noqa: PLC0415

    def offer(better: Draft) -> None:
        incumbent.offer(better, "cp-sat")

    for share in WHOLE_SHARES:
        if incumbent.proved:
            break
        answer = least_cost(incumbent.draft, free, budget.effort(share), offer)
        if answer.bound is not None and gaps_are_exact(draft.compiled):
            incumbent.bound = max(incumbent.bound, answer.bound)
        if answer.draft is not None:
            offer(answer.draft)
    return incumbent.key < before


def _small(draft: Draft, free: list[int], up_to: Size) -> bool:
    """Return whether the free tasks make a model up to a size."""
    if len(free) > up_to.options:
        return False
    size = size_of(draft.compiled, free)
    return size.options <= up_to.options and size.ways <= up_to.ways


def _solve_part(walk: Walk, incumbent: Incumbent, budget: Budget) -> bool:
    """Give some pieces of the best plan to CP-SAT; return whether it found a better plan."""
    draft, pieces = incumbent.draft, walk.pieces
    chosen: list[list[int]] = []
    for number in sorted(set(walk.rng.choice(RUINS)(pieces, draft, walk.rng))):
        piece = [task for task in pieces.tasks[number] if draft.crew[task] != NOWHERE]
        if sum(map(len, chosen)) + len(piece) <= PART_UP_TO:
            chosen.append(piece)
    free = [task for piece in chosen for task in piece]
    budget.spend(PART_ROUNDS)
    if not free:
        return False
    from scheduling.solver.exact import earlier_finish  # noqa: PLC0415

    answer = earlier_finish(draft, free, budget.effort(share=0.5, most=1.0))
    return answer is not None and incumbent.offer(answer, "cp-sat part")
