"""What a stored plan costs, by visit, house and in all."""

from datetime import date, time
from typing import Any

import pytest

from finishing.models import (
    Company,
    Compound,
    Crew,
    Dryer,
    ExtraHours,
    House,
    JointingSystem,
    Price,
    Supply,
    Surface,
    SystemStage,
)
from finishing.rules.costs import PARTS
from finishing.rules.supplies import USED_PER_UNIT, SupplyKind
from finishing.rules.vocabulary import JointKind
from scheduling.models import Plan
from scheduling.queries.visits import plan_blocks
from scheduling.services.inputs import build_inputs
from scheduling.services.scenario_changes import OtherSystem
from scheduling.solver.problem import TICK_MINUTES
from scheduling.solver.serialize import problem_to_json
from tests.factories import local, make_crew, make_house, make_plan, task
from tests.plans import first_plan, plan_cost
from tests.scenarios import planned_for, scenario_with
from tests.sites import FLATS_AND_CORNERS, MONDAY, add_joints, give_board, make_site

pytestmark = pytest.mark.django_db
SINCE = date(2026, 1, 1)


def set_price(company: Company, kind: str, amount: int, **owner: Any) -> None:
    Price.objects.create(company=company, kind=kind, amount=amount, since=SINCE, **owner)


def planned(company: Company) -> Plan:
    """A plan with the problem that it was made for."""
    plan = first_plan(company)
    assert plan.run is not None
    problem = build_inputs(company=company, now=MONDAY).problem
    plan.run.problem = problem_to_json(problem)
    plan.run.save()
    return plan


def two_houses() -> tuple[Company, House, House]:
    company, house = make_site()
    other = make_house(company, "Barn End", latitude=53.3, longitude=-6.2)
    give_board(other, "4")
    return company, house, other


def test_visits_add_up_to_houses_and_the_plan() -> None:
    company, house, other = two_houses()
    for kind, amount in (("hour", 4333), ("travel_hour", 4111), ("travel_km", 37)):
        set_price(company, kind, amount)
    Compound.objects.filter(company=company).update(pack_kg=[20.0], pack_prices=[2599])
    for kind in SupplyKind:
        Supply.objects.create(company=company, kind=kind, name=kind, packs=[7], pack_prices=[461])
    plan = planned(company)
    cost = plan_cost(plan)
    assert [one.name for one in cost.houses] == [other.name, house.name]
    for part in PARTS:
        visits = [getattr(v.cost, part) for one in cost.houses for v in one.visits]
        beside = [getattr(one.beside, part) for one in cost.houses]
        assert getattr(cost.cost, part) == sum(visits) + sum(beside)
    assert cost.cost.total == sum(one.cost.total for one in cost.houses)
    assert sum(len(one.visits) for one in cost.houses) == len(plan_blocks(plan))
    assert cost.cost.labour > 0
    assert cost.cost.material > 0
    assert not cost.cost.unpriced


def test_hours_are_those_on_site_by_so_many_people_breaks_left_out() -> None:
    company, _house = make_site()
    company.setup_minutes = company.washup_minutes = 15
    company.save()
    set_price(company, "hour", 6000)
    plan = planned(company)
    cost = plan_cost(plan)
    on_site = [
        (block.ends_at - block.starts_at).total_seconds() / 60 * 2 for block in plan_blocks(plan)
    ]
    assert [v.person_minutes for one in cost.houses for v in one.visits] == on_site
    assert cost.cost.labour == sum(on_site) * 100
    assert cost.person_minutes == sum(on_site)


def test_extra_hours_cost_what_extra_hours_cost() -> None:
    company, house = make_site(rooms=("Hall", "Kitchen"))
    crew = Crew.objects.get(company=company)
    crew.hours.all().delete()
    for day in (2, 3, 4, 5, 6):
        ExtraHours.objects.create(
            company=company, crew=crew, day=date(2026, 3, day), start=time(8), end=time(18)
        )
    set_price(company, "hour", 4500)
    set_price(company, "extra_hour", 6000, crew=crew)
    cost = plan_cost(planned(company)).of(house)
    assert cost.visits
    assert cost.cost.labour == 0
    assert cost.cost.extra == cost.person_minutes * 100


def test_what_is_late_costs_by_begun_days_at_the_price_of_its_house() -> None:
    company, house = make_site(handover_on=date(2026, 3, 3))
    set_price(company, "hour", 4500)
    set_price(company, "late_day", 10000)
    set_price(company, "late_day", 25000, house=house)
    plan = planned(company)
    (handover,) = plan.handovers
    assert handover["late_minutes"] > 0
    days = -(-handover["late_minutes"] // (24 * 60))  # no clock changes within these days
    assert plan_cost(plan).cost.late == days * 25000


def test_a_handover_met_at_the_midnight_that_ends_its_day_costs_nothing() -> None:
    company, house = make_site()
    set_price(company, "late_day", 10000)
    plan = planned(company)
    row = {"house_id": str(house.public_id), "due_on": "2026-03-04", "late_minutes": 0}
    at = [("2026-03-05 00:00", 0), ("2026-03-05 00:05", 1), ("2026-03-06 00:00", 1)]
    for met_at, days in at:
        late = days and TICK_MINUTES
        plan.handovers = [{**row, "met_at": local(met_at).isoformat(), "late_minutes": late}]
        assert plan_cost(plan).cost.late == days * 10000


def test_dryers_cost_by_begun_days_at_the_price_of_now() -> None:
    company, house = make_site()
    dryer = Dryer.objects.create(company=company, name="Dry", litres_per_day=30, cost_per_day=1250)
    plan = planned(company)
    plan.dryers = [
        {
            "code": "stay",
            "dryer": str(dryer.public_id),
            "house_id": str(house.public_id),
            "set_at": "2026-03-02T10:00:00+00:00",
            "collect_at": "2026-03-04T10:05:00+00:00",
        },
        {"code": "leave_it", "dryer": str(dryer.public_id)},
    ]
    assert plan_cost(plan).of(house).beside.dryers == 3 * 1250


def test_visits_of_a_crew_that_only_a_scenario_has_are_its_own() -> None:
    company, _house = make_site()
    set_price(company, "hour", 6000)
    plan = planned(company)
    assert plan.run is not None
    crew = plan.run.problem["crews"][0]
    three = [{**window, "heads": 3} for window in crew["windows"]]
    plan.run.problem["crews"].append({**crew, "id": "more", "windows": three})
    plan.run.save()
    theirs = {row.key: row for row in plan.tasks.order_by("starts_at", "pk")[::2]}
    for row in theirs.values():
        row.details["crew_more"] = {"id": "more", "name": "More"}
        row.save()
    cost = plan_cost(plan)
    of_blocks = {(block.crew_id, block.starts_at): block for block in plan_blocks(plan)}
    visits = [visit for one in cost.houses for visit in one.visits]
    assert {visit.crew for visit in visits} == {"more", crew["id"]}
    for visit in visits:
        block, people = of_blocks[visit.crew, visit.starts_at], 3 if visit.crew == "more" else 2
        assert {task.key in theirs for task in block.tasks} == {visit.crew == "more"}
        minutes = (visit.ends_at - visit.starts_at).total_seconds() / 60
        assert visit.cost.labour == visit.person_minutes * 100 == minutes * people * 100


def test_visits_of_a_house_come_by_time_whoever_goes_there() -> None:
    company, house = make_site()
    crews = make_crew(company, "A"), make_crew(company, "B")
    days = (5, 3), (2, 4)
    rows = [
        task(crew, house, f"2026-03-0{day} 08:00", key=f"{crew} {day}")
        for crew, of_crew in zip(crews, days, strict=True)
        for day in of_crew
    ]
    (found,) = plan_cost(make_plan(company, rows)).houses
    assert [(visit.crew_name, visit.starts_at.day) for visit in found.visits] == [
        ("B", 2), ("A", 3), ("B", 4), ("A", 5),
    ]  # fmt: skip


def test_without_prices_all_that_is_missing_is_named() -> None:
    company, _house = make_site(handover_on=date(2026, 3, 3))
    plan = planned(company)
    used = {f"material:{row.details['compound']}" for row in plan.tasks.all()} - {"material:"}
    assert used
    cost = plan_cost(plan).cost
    assert cost.total == 0
    assert cost.unpriced == {"hour", "late_day", "paper_tape", "sandpaper", *used}


def test_each_thing_used_up_costs_its_share_of_the_pack_in_which_it_is_cheapest() -> None:
    """By hand, of a room with one surface: tape on flats and inner corners with 10 % of waste,
    beads on outer ones with 5 %; what is sanded is in test_used_up.py, 0.04 sheets for a m2."""
    company, house = make_site()
    for surface in Surface.objects.filter(room__area__house=house):
        add_joints(surface, {JointKind.EXTERNAL: 5.0})
    plan = planned(company)
    tape_m, bead_m = 1.10 * sum(FLATS_AND_CORNERS.values()), 1.05 * 5.0
    for kind, used in ((SupplyKind.PAPER_TAPE, tape_m), (SupplyKind.METAL_BEAD, bead_m)):
        per_unit = USED_PER_UNIT[kind]
        packs = {"packs": [5, 75], "pack_prices": [500, 3000], "used_per_unit": per_unit}
        bought = Supply.objects.create(company=company, kind=kind, name=kind, **packs)
        cost = plan_cost(plan).cost
        assert cost.material == pytest.approx(used * 40, abs=len(plan_blocks(plan)))
        assert kind not in cost.unpriced
        bought.delete()
    sheets = {"packs": [50], "pack_prices": [5000], "used_per_unit": 0.04}
    Supply.objects.create(company=company, kind="sandpaper", name="Sheets", **sheets)
    assert plan_cost(plan).cost.material > 0


def test_compound_on_fasteners_is_paid_for_with_the_rest() -> None:
    """By hand: 300 spots of 1 ml in each of three coats and 10 % of waste are 0.99 L."""
    found = []
    for fasteners in (0, 300):
        company, house = make_site(name=f"With {fasteners}")
        Surface.objects.filter(room__area__house=house).update(fasteners=fasteners)
        compounds = Compound.objects.filter(company=company)
        compounds.update(
            hardening="dries", density_kg_per_l=1.5, pack_kg=[10], pack_prices=[100000]
        )
        found.append(plan_cost(planned(company)).cost.material)
    assert found[1] - found[0] == pytest.approx(0.99 * 1.5 * 10000, rel=0.03)


def test_a_plan_costs_the_tape_that_it_was_made_with() -> None:
    """Mesh, which is tried in a scenario, has a price; paper, which the house is planned with, has
    none. By hand: 36 m of joints on the one surface and 10 % of waste, at 40 a metre."""
    company, house = make_site()
    mesh = JointingSystem.objects.create(company=company, name="Meshed", tape="mesh")
    usual = JointingSystem.objects.get(company=company, is_default=True)
    for row in usual.stage_rows.all():
        SystemStage.objects.create(
            company=company, system=mesh, stage=row.stage, compound=row.compound
        )
    Supply.objects.create(
        company=company, kind="mesh_tape", name="Mesh", packs=[1], pack_prices=[40]
    )
    working = planned(company)
    tried = planned_for(scenario_with(company, OtherSystem(mesh.public_id, (house.public_id,))))
    house.system = mesh
    house.save()
    assert "paper_tape" in plan_cost(working).cost.unpriced
    assert plan_cost(working).cost.material == 0
    assert "paper_tape" not in plan_cost(tried).cost.unpriced
    assert plan_cost(tried).cost.material == pytest.approx(36 * 1.1 * 40, rel=0.01)
