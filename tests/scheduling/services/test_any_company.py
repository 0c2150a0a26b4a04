"""Any small company gives a plan that the verifier accepts, or stated reasons why none exists."""

from datetime import date, timedelta

import pytest
from django.db import transaction
from hypothesis import given
from hypothesis import strategies as st

from finishing.models import (
    Area,
    Closure,
    CoatDone,
    Company,
    CrewHours,
    CrewMember,
    DayOff,
    House,
    JointingSystem,
    JointLine,
    OddJob,
    ReadinessLine,
    Room,
    Surface,
)
from finishing.rules.levels import levels_of
from finishing.rules.vocabulary import CornerTool, Family, JointKind, Readiness, Skill, Stage
from finishing.services.companies import start_company
from scheduling.services.inputs import build_inputs
from scheduling.services.unplanned import holds_of
from scheduling.solver.outcome import Limits
from scheduling.solver.solve import solve
from scheduling.solver.verify import verify
from tests.examples import examples
from tests.factories import ZONE, local, make_crew
from tests.sites import MONDAY, hourly_station

pytestmark = pytest.mark.django_db

FIRST_DAY = date(2026, 3, 2)
days = st.integers(0, 30).map(lambda number: FIRST_DAY + timedelta(days=number))
LEVELS = [(family, level) for family in Family for level in levels_of(family)]
METRES = (JointKind.TAPERED, JointKind.BUTT, JointKind.INTERNAL, JointKind.EXTERNAL)


@st.composite
def companies(draw: st.DrawFn) -> Company:
    company = start_company(name="Any Finishing", zone=ZONE)
    company.stages = [*Stage]
    company.drying_rule = draw(st.sampled_from(Company.DryingRule.values))
    company.save()
    for number in range(draw(st.integers(1, 3))):
        _draw_crew(draw, company, f"Crew {number}")
    for number in range(draw(st.integers(1, 3))):
        _draw_house(draw, company, f"House {number}")
    if draw(st.integers(0, 9)):
        steady = draw(st.sampled_from([(20.0, 0.5), (12.0, 0.9), (16.0, 0.98), (7.0, 0.7)]))
        night_c = draw(st.sampled_from([0.0, 6.0]))
        by_hour = [steady[0] - (night_c if hour < 6 else 0.0) for hour in range(24)]
        hourly_station(company, by_hour * 40, [steady[1]] * 960, first=date(2026, 2, 10))
    return company


def _draw_crew(draw: st.DrawFn, company: Company, name: str) -> None:
    crew = make_crew(company, name, heads=draw(st.integers(1, 3)))
    for member in CrewMember.objects.filter(crew=crew):
        member.skills = draw(st.lists(st.sampled_from([*Skill]), unique=True, min_size=1))
        member.to_day = draw(st.none() | days)
        member.save()
    if draw(st.booleans()):
        CrewHours.objects.filter(crew=crew, weekday=draw(st.integers(0, 4))).delete()
    for day in draw(st.lists(days, max_size=3, unique=True)):
        DayOff.objects.create(company=company, crew=crew, day=day)


def _draw_house(draw: st.DrawFn, company: Company, name: str) -> None:
    heated = draw(st.booleans())
    house = House.objects.create(
        company=company,
        name=name,
        zone=ZONE,
        handover_on=draw(days),
        opens_on=draw(st.none() | days),
        access=draw(st.sampled_from(["", "mon-fri 08:00-17:00", "tue 07:00-09:00"])),
        heating="heated" if heated else "unheated",
        setpoint_c=18.0 if heated else None,
        corner_tool=draw(st.sampled_from([*CornerTool])),
        system=draw(st.sampled_from([*JointingSystem.objects.filter(company=company)])),
    )
    for item in draw(st.lists(st.sampled_from([*Readiness]), max_size=2, unique=True)):
        ReadinessLine.objects.create(
            company=company,
            house=house,
            item=item,
            done=draw(st.booleans()),
            expected_on=draw(st.none() | days),
        )
    for number in range(draw(st.integers(1, 2))):
        _draw_area(draw, house, f"Area {number}")
    if draw(st.booleans()):
        minutes = draw(st.integers(5, 700))
        OddJob.objects.create(company=company, house=house, name="Patch", person_minutes=minutes)


def _draw_area(draw: st.DrawFn, house: House, name: str) -> None:
    area = Area.objects.create(
        company=house.company,
        house=house,
        name=name,
        floor=draw(st.sampled_from(["", "ground"])),
        handover_on=draw(st.none() | days),
    )
    if draw(st.integers(0, 3)) == 0:
        first = draw(days)
        Closure.objects.create(
            company=house.company, area=area, first_day=first, last_day=first + timedelta(days=3)
        )
    if draw(st.integers(0, 3)) == 0:
        stage = draw(st.sampled_from([Stage.TAPE, Stage.SECOND, Stage.SAND]))
        ended = local("2026-02-27 15:00")
        CoatDone.objects.create(company=house.company, area=area, stage=stage, ended_at=ended)
    for number in range(draw(st.integers(1, 2))):
        room = Room.objects.create(company=house.company, area=area, name=f"Room {number}")
        _draw_surface(draw, room)


def _draw_surface(draw: st.DrawFn, room: Room) -> None:
    family, level = draw(st.sampled_from(LEVELS))
    surface = Surface.objects.create(
        company=room.company,
        room=room,
        part=draw(st.sampled_from(Surface.Part.values)),
        family=family,
        level=level,
        takeoff="measured",
        area_m2=draw(st.floats(1, 300)),
        fasteners=draw(st.integers(0, 2000)),
        tiled_later=draw(st.booleans()),
    )
    for kind in draw(st.lists(st.sampled_from(METRES), unique=True)):
        JointLine.objects.create(
            company=room.company, surface=surface, kind=kind, metres=draw(st.floats(0.5, 400))
        )


@examples(10, soak=100)
@given(data=st.data())
def test_any_company_gives_a_verified_plan_or_reasons(data: st.DataObject) -> None:
    with transaction.atomic():
        company = data.draw(companies())
        inputs = build_inputs(company=company, now=MONDAY)
        outcome = solve(inputs.problem, Limits(work=2, seconds=None, workers=1), lambda: 0.0)
        assert verify(inputs.problem, outcome) == []
        answered = {place.task for place in outcome.placements}
        answered |= {row.task for row in outcome.unplaced}
        assert answered == {task.id for task in inputs.problem.tasks}
        held = [*inputs.holds, *holds_of(inputs, outcome.unplaced)]
        assert outcome.placements or held or not inputs.problem.tasks
        for hold in held:
            assert hold.code
            assert hold.as_json()["house"]
        transaction.set_rollback(True)
