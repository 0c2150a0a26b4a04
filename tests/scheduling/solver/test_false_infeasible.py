"""CP-SAT's word that there is no plan is never taken: the plan in hand shows that there is."""

import pytest
from ortools.sat.python import cp_model

from scheduling.solver.construct import construct
from scheduling.solver.outcome import Limits
from scheduling.solver.solve import solve
from scheduling.solver.verify import verify
from tests.scheduling.solver.shops import job_shop
from tests.scheduling.solver.streets import street

FALSE_CLAIMS = (cp_model.INFEASIBLE, cp_model.MODEL_INVALID, cp_model.UNKNOWN)


@pytest.mark.parametrize("claim", FALSE_CLAIMS, ids=lambda claim: claim.name)
def test_a_false_claim_leaves_the_plan_and_its_bound(
    claim: cp_model.CpSolverStatus, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []

    def lie(_: cp_model.CpSolver, model: cp_model.CpModel, *_args: object) -> object:
        asked.append(model)
        return claim

    monkeypatch.setattr(cp_model.CpSolver, "solve", lie)
    for problem in (job_shop("ft06"), street(houses=3, rooms=3, crews=2, slack=3)):
        outcome = solve(problem, Limits(work=3000), lambda: 0.0)
        assert asked
        assert outcome.unplaced == ()
        assert verify(problem, outcome) == []
        assert outcome.score <= construct(problem).score
        # The least makespan of ft06 is 55 (Fisher and Thompson 1963): no bound may pass it.
        assert outcome.bound <= outcome.score.cost
        if problem.tasks[0].room == "job 0":
            assert outcome.bound <= 55 * 5
