"""How much water a house holds, and what keeps up with it, in steady air."""

from datetime import timedelta

import psychrolib
import pytest

from finishing.models import AirSource, Company, Dryer, House, Surface
from finishing.rules.takeoff import rough_takeoff
from finishing.rules.vocabulary import JointKind, Stage
from scheduling.services.water_answers import WaterAnswers, water_answers
from tests.factories import make_crew, make_house, make_plan, task
from tests.sites import MONDAY, add_joints, make_heated_site, make_site

pytestmark = pytest.mark.django_db

KPA = 101.325


def answers(house: House) -> WaterAnswers:
    return water_answers(house=house, now=MONDAY)


def add_dryer(company: Company, name: str = "Big unit", **fields: object) -> Dryer:
    return Dryer.objects.create(company=company, **{"name": name, "litres_per_day": 24, **fields})


def ratio(celsius: float, humidity: float) -> float:
    """kg of vapour a kg of dry air, by psychrolib (ASHRAE Handbook, Fundamentals)."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    return float(psychrolib.GetHumRatioFromRelHum(celsius, humidity, KPA * 1000))


def test_three_coats_of_a_house_of_800_m2_board() -> None:
    # 0.38-0.45 l of compound a m2 for three coats (Gypsum Construction Handbook, from memory);
    # 130-230 kg of water for 700-900 m2 (computed from the coats' volumes; no published source).
    company, _ = make_site()
    takeoff = rough_takeoff(800.0)
    house = make_house(company, "Great House")
    surface = Surface.objects.get(room__area__house=house)
    fasteners = int(takeoff.quantities[JointKind.FASTENERS])
    Surface.objects.filter(pk=surface.pk).update(area_m2=800.0, fasteners=fasteners)
    joints = {JointKind.FASTENERS, JointKind.SURFACE}
    add_joints(surface, {k: m for k, m in takeoff.quantities.items() if k not in joints})
    found = answers(house)
    coats = [row for row in found.stages if row.stage in {Stage.TAPE, Stage.SECOND, Stage.FINISH}]
    assert 130.0 <= sum(row.water_kg for row in coats) <= 230.0
    assert 0.38 * 800 * 0.9 <= sum(row.litres for row in coats) <= 0.45 * 800 * 1.1
    assert found.water_kg == pytest.approx(sum(row.water_kg for row in found.stages))


def test_litres_of_a_stage_are_its_joints() -> None:
    # By hand: 20 m tapered at 2/3 of 114 x 1.4 mm2, 4 m butt at 0.3 of 2/3 x 600 x 2 mm2, 12 m of
    # corners at 100 x 1 mm2, 300 fasteners at 1 ml.
    _, house = make_heated_site()
    tape = next(row for row in answers(house).stages if row.stage == Stage.TAPE)
    assert tape.litres == pytest.approx(20 * 0.1064 + 4 * 0.24 + 12 * 0.1 + 0.3, rel=1e-3)


def test_what_keeps_up_worked_by_hand() -> None:
    company, house = make_heated_site()
    add_dryer(company, count=3)
    found = answers(house)
    assert found.held is not None
    assert (found.held.temperature_c, found.held.humidity) == (20.0, 0.55)
    (load,) = found.loads  # nothing is planned, so there is no visit
    assert not load.visit
    finish = next(row for row in found.stages if row.stage == Stage.FINISH)
    assert load.stages == (Stage.FINISH,)  # thin, so it dries fastest
    # The law t = 23.0 / (Ps^1.04 (1-RH)^0.90), Ps = 2.339 kPa at 20 C, for a coat of 0.8 mm where
    # the table's has 1.8.
    hours = 23.0 / (2.339**1.04 * 0.45**0.90) * 0.8 / 1.8
    got = load.answer
    assert got.given_off_kg_per_h == pytest.approx(finish.water_kg / hours, rel=2e-3)
    change_kg = 1.2 * 500 * (ratio(20.0, 0.55) - ratio(10.0, 0.8))
    assert got.carried_out_kg_per_h == pytest.approx(0.5 * change_kg, rel=5e-3)
    assert got.air_changes_per_h == pytest.approx(got.given_off_kg_per_h / change_kg, rel=5e-3)
    # NREL/TP-5500-52791: the curve's terms at 20 C, 55 %, and at 26.7 C, 60 %, where it is rated.
    here = -1.16253 + 0.45429 - 0.04528 + 1.16108 - 0.20964 + 0.41673
    rated = -1.16253 + 0.60648 - 0.08070 + 1.26663 - 0.24949 + 0.60691
    assert got.removes_kg_per_h == pytest.approx([24 / 24 * here / rated], rel=1e-3)
    assert got.dryers == (0,)  # the air change carries out more than a hall's finish coat gives off


def test_a_large_load_takes_more_units_the_worse_they_are() -> None:
    company, house = make_heated_site(air_changes_per_h=0.0)
    Surface.objects.filter(room__area__house=house).update(fasteners=100_000)
    add_dryer(company, "Strong", litres_per_day=48)
    add_dryer(company, "Weak", litres_per_day=12)
    add_dryer(company, "Stops at 60 %", hold_humidity=0.6)
    add_dryer(company, "Put away", is_active=False)
    add_dryer(company, "Heater", kind="heater", heat_kw=5, litres_per_day=0)
    found = answers(house)
    assert [row.name for row in found.dryers] == ["Stops at 60 %", "Strong", "Weak"]
    idle, strong, weak = found.loads[0].answer.dryers
    assert idle is None
    assert strong is not None
    assert weak is not None
    assert 1 < strong < weak
    load, removes = found.loads[0].answer.given_off_kg_per_h, found.loads[0].answer.removes_kg_per_h
    assert strong - 1 < load / removes[1] <= strong


def test_no_air_change_does_where_the_air_outside_holds_as_much() -> None:
    _, house = make_site(temperature_c=25.0, humidity=0.9, is_open=False, volume_m3=300.0)
    found = answers(house)
    assert found.loads[0].answer.air_changes_per_h is None
    assert found.loads[0].answer.carried_out_kg_per_h < 0
    assert [(row.name, row.litres_per_day) for row in found.dryers] == [("", 20.0)]


def test_a_flame_heaters_water_counts_in_the_load() -> None:
    # 1.63 kg of water a kg of propane, 12.8 kWh a kg: 0.127 kg a kWh (computed, stoichiometry).
    _, plain = make_heated_site()
    without = answers(plain)
    House.objects.filter(pk=plain.pk).update(flame_heater=True, heat_kw=15.0)
    found = answers(House.objects.get(pk=plain.pk))
    assert (without.flame_kg_per_kwh, without.flame_kg_per_h) == (None, None)
    assert found.flame_kg_per_kwh == 0.127
    assert found.flame_kg_per_h == pytest.approx(15 * 0.127)
    before, after = without.loads[0].answer, found.loads[0].answer
    assert before.air_changes_per_h is not None
    assert after.air_changes_per_h is not None
    more = after.air_changes_per_h / before.air_changes_per_h
    assert more == pytest.approx(1 + 15 * 0.127 / before.given_off_kg_per_h)


def test_the_water_of_a_flame_heater_that_was_brought_counts_too() -> None:
    company, house = make_heated_site(heat_kw=2.0)
    brought = {"kind": "heater", "litres_per_day": 0, "heat_kw": 4.0, "house": house}
    add_dryer(company, "Electric", **brought)
    assert answers(house).flame_kg_per_kwh is None
    add_dryer(company, "Flame", **brought, count=2, flame=True)
    assert answers(house).flame_kg_per_kwh == 0.127
    assert answers(house).flame_kg_per_h == pytest.approx(2 * 4 * 0.127)
    House.objects.filter(pk=house.pk).update(flame_heater=True)
    assert answers(House.objects.get()).flame_kg_per_h == pytest.approx((2 * 4 + 2) * 0.127)
    House.objects.filter(pk=house.pk).update(heat_kw=None)
    assert answers(House.objects.get()).flame_kg_per_h is None


def test_the_heaviest_visit_of_the_plan_is_one_load() -> None:
    company, house = make_heated_site(rooms=("Hall", "Kitchen"))
    crew = make_crew(company, "Other crew")
    make_plan(
        company,
        [
            task(crew, house, MONDAY + timedelta(hours=9), room="Hall"),
            task(crew, house, MONDAY + timedelta(hours=12), room="Kitchen"),
            task(crew, house, MONDAY + timedelta(days=2), room="Hall", stage=Stage.SECOND),
        ],
    )
    found = answers(house)
    visit, stage = found.loads
    assert (visit.visit, stage.visit) == (True, False)
    assert visit.stages == (Stage.TAPE,)
    tape = next(row for row in found.stages if row.stage == Stage.TAPE)
    assert visit.answer.water_kg == pytest.approx(tape.water_kg)


def test_without_outdoor_air_there_is_water_but_no_answer() -> None:
    _, house = make_heated_site()
    AirSource.objects.all().delete()
    found = answers(house)
    assert found.water_kg > 0
    assert (found.held, found.loads) == (None, ())


def test_a_house_without_work_has_no_water_to_come() -> None:
    _, house = make_heated_site()
    House.objects.filter(pk=house.pk).update(is_active=False)
    found = answers(House.objects.get(pk=house.pk))
    assert (found.stages, found.loads, found.water_kg) == ((), (), 0)
