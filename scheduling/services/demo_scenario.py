"""A question that the demo company asks of its plan, so that there is one to look at."""

from datetime import datetime, timedelta

from finishing.models import Company, Crew
from scheduling.models import PlanRun, Scenario
from scheduling.services.replan import request_run
from scheduling.services.scenario_changes import Saturdays
from scheduling.services.scenarios import make_scenario

NAME = "Everybody works on Saturdays for three weeks"
SPAN = timedelta(weeks=3)


def ask_what_if(
    *, company: Company, now: datetime, seconds: float, seed: int, work: int | None
) -> Scenario:
    """Make the scenario of a demo company that has none, with a run that waits for whoever serves
    the page of scenarios: searching here would keep the demo from starting."""
    if not company.is_demo:
        raise ValueError(f"{company} is no demo")
    crews = Crew.objects.filter(company=company, is_active=True).order_by("pk")
    first = now.date()
    saturdays = Saturdays(tuple(crew.public_id for crew in crews), first, first + SPAN)
    scenario = make_scenario(company=company, name=NAME, now=now, changes=[saturdays])
    request_run(
        company=company,
        plan_from=now,
        seconds=seconds,
        seed=seed,
        work=work,
        priority=PlanRun.Priority.TO_COMPARE,
        scenario=scenario,
    )
    return scenario
