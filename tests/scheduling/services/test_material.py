"""What plans and visits need: loads, orders, what comes too late, what closes starts."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from finishing.models import Company, Compound, Crew, CrewMember, House, StockLine, Supply
from finishing.queries.materials import litres_per_hour, read_catalogue
from finishing.rules.supplies import SupplyKind
from finishing.rules.vocabulary import Stage
from scheduling.models import PlannedTask, Visit
from scheduling.services.done_work import DoneStage
from scheduling.services.inputs import build_inputs
from scheduling.services.material_needs import needs_of
from scheduling.services.material_orders import Material, company_material, late_visits
from scheduling.services.material_there import MaterialThere
from scheduling.services.material_visits import loads_of_crew
from scheduling.services.mixing import MixNote, mix_notes
from scheduling.services.publish import publish_plan
from scheduling.services.room_work import Settings, read_settings, room_stages
from scheduling.services.surveys import AreaSurvey
from scheduling.solver.construct import construct
from scheduling.solver.verify import verify
from tests.factories import make_house, make_plan, task
from tests.plans import first_plan
from tests.sites import MONDAY, give_board, make_site

pytestmark = pytest.mark.django_db
DRYING = "All-purpose, drying"
SETTING = "Setting base, 45 min working"


def pails(company: Company, **values: object) -> Compound:
    """The drying compound in pails of 20 kg alone."""
    row = Compound.objects.get(company=company, name=DRYING)
    for name, value in {"pack_kg": [20.0], **values}.items():
        setattr(row, name, value)
    row.save()
    return row


def uses(kg: float, compound: str = DRYING) -> dict[str, Any]:
    material = {"litres": kg / 1.65, "kg": kg, "powder_kg": 0.0, "water_l": 0.0, "tape_m": 0.0}
    return {"compound": compound, "material": material}


@pytest.fixture
def company(db: None) -> Company:
    return make_site(rooms=("Hall", "Kitchen"))[0]


@pytest.fixture
def house(company: Company) -> House:
    return House.objects.get(company=company)


@pytest.fixture
def crew(company: Company) -> Crew:
    return Crew.objects.get(company=company)


def two_houses(company: Company, crew: Crew, house: House) -> Material:
    """13 kg at the first house on Tuesday, 6 kg at the second on Friday."""
    other = make_house(company, "Ash Row")
    make_plan(
        company,
        [
            task(crew, house, "2026-03-03 08:00", **uses(13.0)),
            task(crew, other, "2026-03-06 08:00", **uses(6.0)),
        ],
    )
    return company_material(company=company, now=MONDAY)


def test_what_is_left_of_a_pail_goes_to_the_next_house(
    company: Company, crew: Crew, house: House
) -> None:
    pails(company, pack_prices=[2450])
    found = two_houses(company, crew, house)
    (line,) = found.lines
    assert (line.packs, line.price, line.there_by) == (((20.0, 1),), 2450, date(2026, 3, 3))
    first, second = (found.loads.by_visit[visit.key][0].drawn for visit in found.visits)
    assert first is not None
    assert second is not None
    assert (first.opened, first.left) == ((20.0,), 7.0)
    assert (second.opened, second.from_open) == ((), 6.0)


def test_a_pail_that_does_not_keep_is_bought_again(
    company: Company, crew: Crew, house: House
) -> None:
    pails(company, opened_days=2)
    assert [line.there_by for line in two_houses(company, crew, house).lines] == [
        date(2026, 3, 3),
        date(2026, 3, 6),
    ]


def test_needs_by_house_week_and_crew_come_to_the_same(
    company: Company, crew: Crew, house: House
) -> None:
    pails(company)
    needs = needs_of(two_houses(company, crew, house).visits)
    assert {str(need.of): sum(need.amounts.values()) for need in needs.by_house} == {
        "Ash Row": 6.0,
        house.name: 13.0,
    }
    assert [sum(need.amounts.values()) for need in needs.by_week] == [19.0]
    assert [(need.of, sum(need.amounts.values())) for need in needs.by_crew] == [(crew, 19.0)]


def test_a_visit_whose_material_cannot_arrive_in_time_is_named(
    company: Company, crew: Crew, house: House
) -> None:
    """Monday, three days to deliver: the pail of Tuesday is there on Thursday."""
    compound = pails(company, lead_days=3)
    found = two_houses(company, crew, house)
    (late,) = found.late
    assert (late.visit.house, late.there_on) == (house, date(2026, 3, 5))
    assert not late.visit.tasks, "they would be kept for pages that show none"
    assert late_visits(company=company, now=MONDAY).keys() == {late.visit.key}
    StockLine.objects.create(
        company=company,
        compound=compound,
        pack_size=20,
        packs=1,
        arrives_on=date(2026, 3, 3),
    )
    assert not late_visits(company=company, now=MONDAY)
    assert not company_material(company=company, now=MONDAY).lines


def test_packs_bought_for_a_house_are_late_for_each_visit_that_opens_one_too_early(
    company: Company, crew: Crew, house: House
) -> None:
    pails(company, lead_days=4)
    rows = [
        task(crew, house, "2026-03-03 08:00", **uses(20.0)),
        task(crew, house, "2026-03-04 08:00", room="Kitchen", **uses(20.0)),
    ]
    make_plan(company, rows)
    late = company_material(company=company, now=MONDAY).late
    assert [one.visit.day for one in late] == [date(2026, 3, 3), date(2026, 3, 4)]


def test_what_comes_after_the_longest_delivery_has_its_say_in_what_is_late(
    company: Company, crew: Crew, house: House
) -> None:
    """Four kg on Tuesday and 14 in three weeks are one pack of 20, which the store has not; four
    alone would be the pack of five that it has."""
    compound = pails(company, pack_kg=[5.0, 20.0], lead_days=3)
    StockLine.objects.create(
        company=company, compound=compound, pack_size=5, packs=1, arrives_on=MONDAY.date()
    )
    rows = [
        task(crew, house, "2026-03-03 08:00", **uses(4.0)),
        task(crew, house, "2026-03-24 08:00", **uses(14.0), stage=Stage.FINISH),
    ]
    make_plan(company, rows)
    late = company_material(company=company, now=MONDAY).late
    assert [one.visit.day for one in late] == [date(2026, 3, 3)]
    assert late_visits(company=company, now=MONDAY).keys() == {one.visit.key for one in late}


def test_what_is_in_the_store_is_opened_before_what_the_house_needs_more_is_there(
    company: Company, crew: Crew, house: House
) -> None:
    """A pail in the store does for Tuesday's 10 kg; the other two, of the 50 kg that the house
    takes in all, are opened on Friday week, well after their seven days."""
    compound = pails(company, lead_days=7)
    StockLine.objects.create(
        company=company, compound=compound, pack_size=20, packs=1, arrives_on=MONDAY.date()
    )
    rows = [
        task(crew, house, "2026-03-03 08:00", **uses(10.0)),
        task(crew, house, "2026-03-13 08:00", **uses(25.0), stage=Stage.SECOND),
        task(crew, house, "2026-03-16 08:00", **uses(15.0), stage=Stage.FINISH),
    ]
    make_plan(company, rows)
    found = company_material(company=company, now=MONDAY)
    assert not found.late
    (line,) = found.lines
    assert (line.packs, line.there_by) == (((20.0, 2),), date(2026, 3, 13))
    assert (line.order_by, line.late) == (date(2026, 3, 6), False)


def test_a_crew_loads_what_is_left_of_the_weeks_before(
    company: Company, crew: Crew, house: House
) -> None:
    pails(company)
    two_houses(company, crew, house)
    publish_plan(company=company, now=MONDAY)
    thursday = MONDAY + timedelta(days=3)
    loads = loads_of_crew(crew, read_catalogue(company), now=thursday)
    friday = loads.by_visit[loads.visits[-1].key][0].drawn
    assert friday is not None
    assert (friday.from_open, friday.opened) == (6.0, ())


def test_tape_beads_and_sandpaper_are_counted_with_their_waste(company: Company) -> None:
    """Surfaces of 36 m of tape each, of which this company buys a quarter more: crews are told of
    as many metres as they load."""
    for kind, packs in ((SupplyKind.PAPER_TAPE, [75]), (SupplyKind.SANDPAPER, [25])):
        used = 1.25 if kind is SupplyKind.PAPER_TAPE else 0.04
        Supply.objects.create(
            company=company, kind=kind, name=str(kind), packs=packs, used_per_unit=used
        )
    plan = first_plan(company)
    found = company_material(company=company, now=MONDAY)
    (need,) = needs_of(found.visits).by_house
    amounts = {item.name: amount for item, amount in need.amounts.items()}
    surfaces = House.objects.get(company=company).areas.get().rooms.count()
    assert amounts["paper_tape"] == pytest.approx(surfaces * 36 * 1.25, rel=0.01)
    told = sum(row.details["material"]["tape_m"] for row in plan.tasks.all())
    assert told == pytest.approx(amounts["paper_tape"], abs=0.1)
    assert amounts["sandpaper"] > 0
    assert 0 < need.fasteners_l < need.litres
    tape = [line for line in found.lines if line.item.name == "paper_tape"]
    assert sum(size * count for line in tape for size, count in line.packs) >= surfaces * 45


def test_a_crew_loads_the_tape_that_it_was_told_of_whatever_is_bought_now(
    company: Company, crew: Crew
) -> None:
    tape = Supply.objects.create(
        company=company, kind=SupplyKind.PAPER_TAPE, name="Paper", packs=[75], used_per_unit=1.25
    )
    first_plan(company)
    publish_plan(company=company, now=MONDAY)
    told = sum(
        task["material"]["tape_m"]
        for visit in Visit.objects.filter(crew=crew)
        for task in visit.content["tasks"]
    )
    tape.used_per_unit = 2.0
    tape.save()
    catalogue = read_catalogue(company)
    of_crew = loads_of_crew(crew, catalogue, now=MONDAY)
    ordered = company_material(company=company, now=MONDAY).loads
    for found in (of_crew, ordered):
        loads = [load for of_visit in found.by_visit.values() for load in of_visit]
        loaded = sum(load.amount for load in loads if load.item.name == "Paper")
        assert loaded == pytest.approx(told)
        assert loaded > 0


def test_starts_before_the_delivery_are_closed_where_plans_wait_for_it(
    company: Company, house: House
) -> None:
    """All coats are of the one compound, there in ten days: no coat starts before."""
    default = "Setting base, 90 min working"
    row = Compound.objects.get(company=company, name=default)
    row.lead_days = 10
    row.save()
    assert not build_inputs(company=company, now=MONDAY).delivered
    row.awaited = True
    row.save()
    inputs = build_inputs(company=company, now=MONDAY)
    assert {stage for _, stage in inputs.delivered} == {Stage.TAPE, Stage.SECOND}
    plan = first_plan(company)
    there = MONDAY + timedelta(days=10)
    taped = [row for row in plan.tasks.all() if row.stage == Stage.TAPE]
    assert all(row.starts_at >= there for row in taped)
    first = min(taped, key=lambda row: row.starts_at)
    assert first.details["why"]["code"] in {"delivery", "window"}
    assert not company_material(company=company, now=MONDAY).late


def test_what_is_done_of_a_stage_needs_no_material_any_more(company: Company, house: House) -> None:
    """Two surfaces of 36 m of joints and 10 % of waste take 79.2 m of tape; 45 m are there."""
    tape = Supply.objects.create(
        company=company, kind="paper_tape", name="Tape", packs=[45], lead_days=10, awaited=True
    )
    StockLine.objects.create(
        company=company, supply=tape, pack_size=45, packs=1, arrives_on=MONDAY.date()
    )
    settings = read_settings(company)
    there = MaterialThere(company, MONDAY, settings)
    half, quarter = (there.first_days([(house, [worked_on(house, settings, n)])]) for n in (2, 4))
    assert half == {}, "39.6 m are left to do"
    assert quarter == {(house.pk, Stage.TAPE): MONDAY.date() + timedelta(days=10)}


def worked_on(house: House, settings: Settings, part: int) -> AreaSurvey:
    """The area of a house of which one part in so many of each stage is done."""
    area = house.areas.get()
    rooms = [(room, tuple(room_stages(room, area, settings))) for room in area.rooms.all()]
    done = {
        stage.key: DoneStage(0, whole=False, minutes=stage.person_minutes // part)
        for _, stages in rooms
        for stage in stages
    }
    return AreaSurvey(area, tuple(rooms), done)


def test_one_house_alone_is_served_as_among_all(company: Company, house: House) -> None:
    """What is in the store goes to the earlier handover, whichever house is looked at."""
    row = Compound.objects.get(company=company, name="Setting base, 90 min working")
    row.lead_days, row.awaited = 10, True
    row.save()
    other = make_house(company, "Ash Row", handover_on=date(2026, 4, 20))
    give_board(other)
    StockLine.objects.create(
        company=company, compound=row, pack_size=5, packs=1, arrives_on=MONDAY.date()
    )
    among = build_inputs(company=company, now=MONDAY).delivered
    alone = build_inputs(company=company, now=MONDAY, only=other).delivered
    assert {key: tick for key, tick in among.items() if key[0] == other.pk} == {
        key: tick for key, tick in alone.items() if key[0] == other.pk
    }
    assert any(key[0] == other.pk for key in among)


def test_a_plan_that_waits_for_its_material_keeps_every_rule(company: Company) -> None:
    Compound.objects.filter(company=company).update(lead_days=6, awaited=True)
    inputs = build_inputs(company=company, now=MONDAY)
    outcome = construct(inputs.problem)
    assert outcome.placements
    assert not verify(inputs.problem, outcome)
    first, *others = sorted(outcome.placements, key=lambda place: place.start)
    three_days = 3 * 24 * 12  # ticks: from the Monday after the delivery to the Friday before it
    too_early = replace(first, start=first.start - three_days, end=first.end - three_days)
    shifted = replace(outcome, placements=(too_early, *others))
    assert "release" in {fault.code for fault in verify(inputs.problem, shifted)}


def test_mixes_of_a_visit_end_in_time(company: Company, crew: Crew, house: House) -> None:
    """Two people at 5 L an hour: 20 L of the 45 minute base are three mixes, each on in 40 minutes,
    so the last whole one is mixed 40 minutes before the work ends."""
    material = {"litres": 20.0, "kg": 32.0, "powder_kg": 20.0, "water_l": 12.0, "tape_m": 0.0}
    row = task(
        crew,
        house,
        "2026-03-03 08:00",
        minutes=180,
        compound=SETTING,
        hardening="sets",
        working_minutes=45,
        material=material,
    )
    make_plan(company, [row])
    (visit,) = company_material(company=company, now=MONDAY).visits
    (note,) = notes_of(company)
    assert (note.mixes.count, note.heads, note.instead) == (3, 2, "")
    assert note.last_by == row.ends_at - timedelta(minutes=40)
    assert {item.name: amount for item, amount in visit.amounts.items()} == {SETTING: 20.0}
    CrewMember.objects.create(company=company, crew=crew, name="Third", skills=["taping"])
    PlannedTask.objects.update(details={**row.details, "person_minutes": 3 * 120})
    (note,) = notes_of(company)
    assert (note.mixes.count, note.heads) == (2, 3), "an hour's break takes nobody away"


def test_nobody_is_told_to_mix_before_the_work_begins(
    company: Company, crew: Crew, house: House
) -> None:
    """7 L by two at 5 L an hour are 42 minutes of placing, planned as half an hour of work."""
    material = {"litres": 7.0, "kg": 11.2, "powder_kg": 7.0, "water_l": 4.2, "tape_m": 0.0}
    details: dict[str, Any] = {"compound": SETTING, "hardening": "sets", "material": material}
    row = task(crew, house, "2026-03-03 08:00", minutes=30, **details)
    make_plan(company, [row])
    (note,) = notes_of(company)
    assert note.mixes.placing_minutes == pytest.approx(42)
    assert note.last_by == row.starts_at


def notes_of(company: Company) -> list[MixNote]:
    """How the one visit of the plan is mixed."""
    (visit,) = company_material(company=company, now=MONDAY).visits
    compounds, rates = read_catalogue(company).compounds, litres_per_hour(company)
    return list(mix_notes(visit.tasks, compounds, rates, heads=visit.heads))


def test_silly_batches_name_a_compound_that_can_be_worked_longer(
    company: Company, crew: Crew, house: House
) -> None:
    material = {"litres": 70.0, "kg": 112.0, "powder_kg": 70.0, "water_l": 42.0, "tape_m": 0.0}
    details: dict[str, Any] = {"compound": SETTING, "hardening": "sets", "material": material}
    make_plan(company, [task(crew, house, "2026-03-03 08:00", minutes=400, **details)])
    (note,) = notes_of(company)
    assert note.instead == "Setting base, 90 min working"


def test_what_has_no_pack_size_is_named_and_not_ordered(
    company: Company, crew: Crew, house: House
) -> None:
    pails(company, pack_kg=[])
    found = two_houses(company, crew, house)
    assert [item.name for item in found.without_packs] == [DRYING]
    assert not found.lines
