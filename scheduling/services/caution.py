"""What it costs and saves to plan against air that holds in 8 of 10, not against the average."""

from datetime import datetime

from finishing.models import Company
from scheduling.services.engine import solve
from scheduling.services.inputs import build_inputs
from scheduling.services.odds import (
    HISTORIES,
    NothingPlannedError,
    PlanOdds,
    histories_of,
    odds_in,
    planned_to_come,
)
from scheduling.services.plan_inputs import WhatIf
from scheduling.services.proposing import propose
from scheduling.services.rounds import settle
from scheduling.services.settling import Settling
from scheduling.solver.outcome import Limits


def compare_caution(
    *, company: Company, now: datetime, limits: Limits, seed: int = 1
) -> dict[str, PlanOdds]:
    """Return by ``Company.PlannedAir`` what becomes of a plan in the same histories of the air.

    The company's own plan stands for the air it plans against; the other is solved here within
    the limits and stored nowhere. Raises NothingPlannedError and TooLittleAirError.
    """
    inputs = build_inputs(company=company, now=now)
    plans = {company.planned_air: (inputs, planned_to_come(company, inputs))}
    (other,) = (air for air in Company.PlannedAir if air != company.planned_air)
    settled = settle(
        Settling(company, now, WhatIf(planned_air=other)),
        lambda problem, share: solve(problem, limits.share(share)),
        lambda problem, current, share: propose(problem, current, limits.share(share)),
    )
    plans[other] = (settled.agreed.inputs, list(settled.agreed.outcome.placements))
    if not all(planned for _, planned in plans.values()):
        raise NothingPlannedError
    longest = [place for _, planned in plans.values() for place in planned]
    return {
        air: odds_in(own, planned, histories_of(own, longest, now=now, seed=seed, count=HISTORIES))
        for air, (own, planned) in sorted(plans.items())
    }
