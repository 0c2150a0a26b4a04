"""What it costs and saves to plan against air that holds in 8 of 10, not against the average."""

from datetime import datetime

from finishing.models import Company
from scheduling.services.engine import solve
from scheduling.services.inputs import WhatIf, build_inputs
from scheduling.services.odds import (
    HISTORIES,
    NothingPlannedError,
    PlanOdds,
    histories_of,
    odds_in,
    planned_to_come,
)
from scheduling.solver.outcome import Limits


def compare_caution(
    *, company: Company, now: datetime, limits: Limits, seed: int = 1
) -> dict[str, PlanOdds]:
    """Return by ``Company.PlannedAir`` what becomes of a plan in the same histories of the air.

    The company's own plan stands for the air it plans against; the other is solved here within
    the limits and stored nowhere. Raises NothingPlannedError and TooLittleAirError.
    """
    inputs = build_inputs(company=company, now=now)
    plans = {company.planned_air: planned_to_come(company, inputs)}
    (other,) = (air for air in Company.PlannedAir if air != company.planned_air)
    otherwise = build_inputs(company=company, now=now, what_if=WhatIf(planned_air=other))
    plans[other] = list(solve(otherwise.problem, limits).outcome.placements)
    if not all(plans.values()):
        raise NothingPlannedError
    longest = [place for plan in plans.values() for place in plan]
    drawn = histories_of(inputs, longest, now=now, seed=seed, count=HISTORIES)
    return {air: odds_in(inputs, plans[air], drawn) for air in Company.PlannedAir.values}
