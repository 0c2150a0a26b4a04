"""Hours, material and cost of quotes whose work finds no place in the plan: those of all of it."""

from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.models import (
    AirSource,
    Area,
    Company,
    Compound,
    Crew,
    CrewMember,
    JointingSystem,
    Price,
    Quote,
    Supply,
)
from scheduling.services.quote_figures import figures_in_plan, figures_of_takeoff
from scheduling.services.quote_found import found_of
from scheduling.services.quotes import AskedHouse, asked_house, price_found
from scheduling.solver.construct import construct
from tests.examples import examples
from tests.factories import make_crew
from tests.quotes import ROOMS, quote_like, worked_out
from tests.sites import MONDAY, make_site

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("unsearched")]
M2 = st.floats(1.0, 60.0).map(lambda value: round(value, 1))
ROOMS_OF_ANY_SIZE = st.lists(st.tuples(M2, M2), min_size=1, max_size=4)


def price(company: Company, amount: int, **whose: Any) -> None:
    Price.objects.create(company=company, kind="hour", amount=amount, since=MONDAY.date(), **whose)


def of_rooms(**values: Any) -> Quote:
    return quote_like(None, **{"rooms": ROOMS, "level": "4", **values})


def asked(company: Company, rooms: list[dict[str, Any]], level: str) -> AskedHouse:
    values = {"name": "Ash", "opens_on": MONDAY.date(), "rooms": rooms, "level": level}
    return asked_house(Quote(company=company, **values), now=MONDAY)


def test_as_taken_off_it_comes_to_the_work_and_material_of_its_visits() -> None:
    """Each part of a stage rounds its material to 0.01 kg and 0.1 m, its time to five minutes for
    two; a kg or metre costs no more than 1.30."""
    company, _ = make_site()
    company.gap_share = 0.2
    company.save()
    price(company, 4500)
    Compound.objects.update(pack_kg=[20.0], pack_prices=[2599])
    for kind in ("paper_tape", "sandpaper"):
        Supply.objects.create(company=company, kind=kind, name=kind, packs=[7], pack_prices=[461])

    @given(sizes=ROOMS_OF_ANY_SIZE, level=st.sampled_from(["1", "3", "4", "5"]))
    @examples(4, soak=60)
    def agree(sizes: list[tuple[float, float]], level: str) -> None:
        rooms = [
            {"name": f"Room {number}", "walls_m2": walls, "ceiling_m2": ceiling}
            for number, (walls, ceiling) in enumerate(sizes, 1)
        ]
        house = asked(company, rooms, level)
        outcome = construct(house.problem)
        assert not outcome.unplaced
        alone, placed = figures_of_takeoff(house), figures_in_plan(house, outcome)
        assert alone.person_minutes == sum(task.person_minutes for task in house.tasks) > 0
        assert alone.person_minutes <= placed.person_minutes
        assert alone.cost.labour <= placed.cost.labour
        rounding = 0.1 + 0.01 * len(house.tasks)
        for name, amount in placed.material.items():
            assert alone.material[name] == pytest.approx(amount, abs=rounding)
        cost_rounding = 14 * len(house.tasks)
        assert alone.cost.material == pytest.approx(placed.cost.material, abs=cost_rounding)
        assert alone.cost.material > 0
        assert alone.cost.unpriced == placed.cost.unpriced - {"travel_hour"}

    agree()


def test_a_house_too_cold_to_begin_is_told_all_but_when() -> None:
    company, _ = make_site(temperature_c=2.0)
    price(company, 4500)
    cold = worked_out(of_rooms(margin_percent=20))
    warm = worked_out(of_rooms(name="Ash Row 2", setpoint_c=18.0, margin_percent=20))
    found = cold.found
    assert {hold["code"] for hold in found["holds"]} == {"too_cold"}
    assert {hold["heat_on_by"] for hold in found["holds"]} == {None}, "no promise to count from"
    assert (found["handover_on"], found["in_time"], found["holds_on"]) == (None, None, None)
    assert found["from_takeoff"]
    assert found["material"] == warm.found["material"]
    assert found["cost"]["labour"] == found["person_minutes"] * 75  # 45.00 an hour
    assert price_found(cold) == round(sum(found["cost"].values()) * 1.2) > 0
    assert not warm.found["from_takeoff"]
    assert warm.found["holds"] == []
    assert warm.found["handover_on"]


def test_a_house_without_air_is_told_all_but_when() -> None:
    make_site()
    warm = worked_out(of_rooms()).found
    AirSource.objects.all().delete()
    found = worked_out(Quote.objects.get()).found
    assert [hold["code"] for hold in found["holds"]] == ["which_air"]
    assert (found["from_takeoff"], found["handover_on"]) == (True, None)
    assert found["material"] == warm["material"]
    assert 0 < found["person_minutes"] <= warm["person_minutes"]


def test_nothing_is_promised_while_an_area_is_held_before_the_search() -> None:
    company, house = make_site()
    bare = JointingSystem.objects.create(company=company, name="Nothing yet", tape="paper")
    Area.objects.create(company=company, house=house, name="Upper floor")
    quote = quote_like(house)
    placed = worked_out(quote).found
    assert placed["handover_on"]
    Area.objects.filter(name="Ground floor").update(system=bare)
    found = worked_out(quote).found
    assert {hold["code"] for hold in found["holds"]} == {"no_compound"}
    assert (found["from_takeoff"], found["handover_on"]) == (True, None)
    assert 0 < found["person_minutes"] <= placed["person_minutes"]


def test_hours_cost_what_those_who_can_do_them_are_paid_in_the_mean() -> None:
    company, _ = make_site(temperature_c=2.0)
    north = Crew.objects.get()
    dear = make_crew(company, "Dear crew")
    sander = make_crew(company, "Sanders")
    CrewMember.objects.filter(crew=sander).update(skills=["sanding"])
    for crew, amount in ((north, 4000), (dear, 5000), (sander, 9000)):
        price(company, amount, crew=crew)
    house = asked(company, ROOMS, "1")  # nothing is sanded
    outcome = construct(house.problem)
    found = found_of(house, outcome, now=MONDAY)
    assert found["from_takeoff"]
    assert found["cost"]["labour"] == found["person_minutes"] * 75  # 45.00 an hour
    Price.objects.filter(crew=dear).delete()
    assert "hour" in figures_of_takeoff(asked(company, ROOMS, "1")).cost.unpriced


def test_what_was_kept_of_some_of_the_work_is_no_price() -> None:
    make_site()
    quote = worked_out(of_rooms())
    quote.found = {**quote.found, "handover_on": None}
    del quote.found["from_takeoff"]
    assert price_found(quote) is None


def test_a_house_at_a_level_without_coats_costs_nothing() -> None:
    make_site()
    quote = worked_out(of_rooms(level="0"))
    assert (quote.found["person_minutes"], quote.found["holds"]) == (0, [])
    assert price_found(quote) == 0


def test_a_house_heated_from_a_day_on_is_done_later_than_one_that_is_warm() -> None:
    make_site(temperature_c=2.0)
    warm = worked_out(of_rooms(setpoint_c=18.0)).found
    later = {"setpoint_c": 18.0, "heated_from": date(2026, 3, 16)}
    waits = worked_out(of_rooms(name="Ash Row 2", **later)).found
    assert warm["handover_on"] < "2026-03-16" < waits["handover_on"]
