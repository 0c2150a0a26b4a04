"""Each kind of change: a problem in which it is tried is that of a company in which it is so."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest

from finishing.models import Company, Crew, Dryer, House, JointingSystem, Loan
from scheduling.services.inputs import build_inputs
from scheduling.services.made_true import MAKE_TRUE, Making
from scheduling.services.plan_inputs import WhatIf
from scheduling.services.scenario_changes import (
    KINDS,
    CrewLess,
    CrewMore,
    FixedHandover,
    HeatedHouses,
    MoreDryers,
    OtherSystem,
    OtherWeather,
    Saturdays,
    ScenarioChange,
    change_json,
    change_of,
)
from scheduling.solver.problem import Problem
from tests.factories import make_crew
from tests.sites import MONDAY, make_heated_site, make_site

pytestmark = pytest.mark.django_db
TODAY = date(2026, 3, 2)


def a_site() -> tuple[Company, House]:
    """One of two crews that lend each other somebody for a day."""
    company, house = make_heated_site()
    south = make_crew(company, "South crew", heads=1)
    north = Crew.objects.get(company=company, name="North crew")
    for number, (lender, crew) in enumerate([(south, north), (north, south)], start=1):
        day, member = TODAY + timedelta(days=number), lender.members.order_by("pk")[0]
        Loan.objects.create(company=company, member=member, crew=crew, day=day)
    Dryer.objects.create(
        company=company, name="Big dryer", count=2, litres_per_day=40, hold_humidity=0.2
    )
    return company, house


def crew_id(company: Company) -> Any:
    return Crew.objects.get(company=company, name="North crew").public_id


CHANGES: dict[str, Callable[[Company, House], ScenarioChange]] = {
    "crew_more": lambda company, _: CrewMore(crew_id(company)),
    "crew_less": lambda company, _: CrewLess(crew_id(company)),
    "saturdays": lambda company, _: Saturdays(
        (crew_id(company),), TODAY, TODAY + timedelta(weeks=3)
    ),
    "other_system": lambda company, house: OtherSystem(
        JointingSystem.objects.get(company=company, is_default=False).public_id, (house.public_id,)
    ),
    "heated_houses": lambda _, house: HeatedHouses((house.public_id,), 24.0, date(2026, 3, 4)),
    "more_dryers": lambda company, house: MoreDryers(
        Dryer.objects.get(company=company).public_id, 2, house.public_id
    ),
    "fixed_handover": lambda _, house: FixedHandover(house.public_id, date(2026, 3, 6)),
    "other_weather": lambda *_: OtherWeather(TODAY, TODAY + timedelta(days=30), 0.3, -4.0),
}


def problem_of(company: Company, *changes: ScenarioChange) -> Problem:
    return build_inputs(company=company, now=MONDAY, what_if=WhatIf(changes=changes)).problem


def without_crew_names(problem: Problem) -> Problem:
    """A crew that is new has an id of its own."""
    return replace(
        problem,
        crews=tuple(
            sorted(
                (replace(crew, id="") for crew in problem.crews),
                key=lambda crew: (len(crew.windows), repr(crew.windows)),
            )
        ),
    )


def test_there_is_an_example_of_every_kind() -> None:
    assert set(CHANGES) == set(KINDS)
    assert {kind.kind for kind in MAKE_TRUE} == set(KINDS) - {"other_weather"}


@pytest.mark.parametrize("kind", CHANGES)
def test_a_change_is_read_back_as_it_was_stored(kind: str) -> None:
    change = CHANGES[kind](*a_site())
    assert change_of(change_json(change)) == change


@pytest.mark.parametrize("kind", CHANGES)
def test_a_change_makes_another_problem(kind: str) -> None:
    company, house = a_site()
    assert problem_of(company, CHANGES[kind](company, house)) != problem_of(company)


@pytest.mark.parametrize(
    "kinds",
    [
        *((kind,) for kind in sorted(set(CHANGES) - {"other_weather"})),
        ("saturdays", "crew_more"),
        ("crew_more", "saturdays"),
        ("crew_less", "crew_more", "crew_more"),
        ("more_dryers", "more_dryers"),
    ],
    ids=" then ".join,
)
def test_what_is_tried_is_what_there_would_be(kinds: tuple[str, ...]) -> None:
    company, house = a_site()
    make_crew(company, "North crew, crew 1 more", heads=1)
    changes = [CHANGES[kind](company, house) for kind in kinds]
    tried = problem_of(company, *changes)
    making = Making(company, None, MONDAY)
    for change in changes:
        MAKE_TRUE[type(change)](making, change)
    assert without_crew_names(problem_of(company)) == without_crew_names(tried)


def test_a_wetter_month_is_damper_from_now_on_and_only_in_its_days() -> None:
    company, house = make_site(humidity=0.6)
    last = TODAY + timedelta(days=9)
    change = OtherWeather(TODAY - timedelta(days=9), last, damper=0.3)
    plain, wet = (
        build_inputs(company=company, now=MONDAY, what_if=WhatIf(changes=changes)).airs
        for changes in ((), (change,))
    )
    key = str(house.public_id)
    more = wet[key].humidity - plain[key].humidity
    hours = np.flatnonzero(more > 0.2)
    origin = build_inputs(company=company, now=MONDAY).timeline.origin
    assert origin + timedelta(hours=int(hours[0])) == MONDAY
    assert (origin + timedelta(hours=int(hours[-1]))).date() == last
    assert wet[key].progress[-1] < plain[key].progress[-1]
