"""Moving a visit by hand: what is offered holds, what others do counts, all of it is pinned."""

from datetime import datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.models import Company, Crew, House
from finishing.rules.vocabulary import Stage
from finishing.services.staffing import mark_away
from scheduling.models import Pin
from scheduling.queries.planned_visits import PlannedVisit, blocks_to_come, planned_visit, visit_id
from scheduling.queries.plans import working_plan
from scheduling.services.moving import (
    TICK,
    MoveAnswer,
    MoveRefusedError,
    Spot,
    StaleVisitError,
    check_move,
    pin_visit,
    pins_seen,
)
from scheduling.services.named_pins import named_pins
from scheduling.services.pin_check import check_pins
from scheduling.services.pin_ground import pin_ground
from scheduling.services.pins import places_from
from scheduling.services.publish import publish_plan
from tests.examples import examples
from tests.factories import local, make_crew, make_house
from tests.plans import first_plan, plan_from, task_of
from tests.sites import MONDAY, company_system, give_board, make_site

pytestmark = pytest.mark.django_db(transaction=True)

DRYING = "All-purpose drying"


@pytest.fixture
def company() -> Company:
    """Two houses of three and of two rooms, two crews, and a plan made without a search."""
    company, _ = make_site(rooms=("Hall", "Kitchen", "Landing"), system=DRYING)
    house = make_house(company, "Elm House", rooms=("Hall", "Kitchen"))
    house.system = company_system(company, DRYING)
    house.save()
    give_board(house)
    make_crew(company, "South crew")
    first_plan(company)
    return company


def visits(company: Company, house: str = "Mill Cottage") -> list[PlannedVisit]:
    plan = working_plan(company)
    assert plan
    blocks = [block for block in blocks_to_come(plan, MONDAY) if block.house.name == house]
    return [planned_visit(company, visit_id(block)) for block in blocks]


def crew(company: Company, name: str) -> Crew:
    return Crew.objects.select_related("company").get(company=company, name=name)


def start(visit: PlannedVisit) -> datetime:
    return visit.block.tasks[0].starts_at


def answer(visit: PlannedVisit, spot: Spot) -> MoveAnswer:
    return check_move(visit=visit, spot=spot, now=MONDAY)


def pin(visit: PlannedVisit, spot: Spot) -> list[Pin]:
    return pin_visit(visit=visit, spot=spot, now=MONDAY, seen=pins_seen(visit))


def test_whatever_is_offered_holds_and_one_house_alone_says_what_all_say(company: Company) -> None:
    mine = visits(company)
    north, south = crew(company, "North crew"), crew(company, "South crew")
    pin(visits(company, "Elm House")[0], Spot(south, local("2026-03-03 09:00")))

    @examples(10, soak=25)
    @given(st.sampled_from(mine), st.sampled_from([north, south]), st.integers(-288, 288 * 12))
    def holds(visit: PlannedVisit, who: Crew, ticks: int) -> None:
        spot = Spot(who, start(visit) + timedelta(minutes=5 * ticks))
        found = answer(visit, spot)
        assert (found.nearest is None) == found.holds, "some time would do in any of these"
        if found.nearest:
            assert answer(visit, found.nearest).holds
        everything = pin_ground(company=company, house=None, now=MONDAY)
        tasks = {task.id: task for task in everything.problem.tasks}
        work, rows = [tasks[key] for key in visit.keys], visit.block.tasks
        pauses = [(two.starts_at - one.ends_at) // TICK for one, two in pairwise(rows)]
        places = list(places_from(everything, work, *spot, pauses))
        stuck = check_pins(everything.problem, places, everything.pinned).stuck
        code = stuck.broken[0].code if stuck else None
        assert code == (found.in_the_way.code if found.in_the_way else None)

    holds()


def test_visit_is_pinned_whole_its_pieces_as_far_apart_as_they_are_planned(
    company: Company,
) -> None:
    visit = visits(company)[0]
    assert len(visit.keys) > 1
    pins = pin(visit, Spot(crew(company, "South crew"), local("2026-03-04 08:00")))
    assert [pin.key for pin in pins] == visit.keys
    apart = [pin.starts_at - pins[0].starts_at for pin in pins]
    assert apart == [task.starts_at - start(visit) for task in visit.block.tasks]


def test_visit_that_breaks_a_rule_leaves_nothing_behind(company: Company) -> None:
    with pytest.raises(MoveRefusedError) as refused:
        pin(visits(company)[0], Spot(crew(company, "North crew"), local("2026-03-07 09:00")))
    assert refused.value.answer.nearest
    assert not Pin.objects.exists()


def test_crew_at_pinned_work_in_another_house_is_named(company: Company) -> None:
    there = Spot(crew(company, "South crew"), local("2026-03-03 09:00"))
    pin(visits(company, "Elm House")[0], there)
    found = answer(visits(company)[0], there).in_the_way
    assert found
    assert (found.code, found.other) == ("overlap_crew", "Tape coat, Elm House")


def test_pin_that_the_last_run_set_aside_is_in_nobodys_way_and_is_listed_with_why(
    company: Company,
) -> None:
    south = crew(company, "South crew")
    there = Spot(south, local("2026-03-03 09:00"))
    pin(visits(company, "Elm House")[0], there)
    mark_away(crew=south, member=None, days=[there.starts_at.date()], reason="ill")
    plan_from(company, MONDAY, work=1)
    named = named_pins(company=company, now=MONDAY)
    assert {pin.house for pin in named} == {"Elm House"}
    assert [pin.aside["code"] for pin in named if pin.aside] == ["outside_window"] * len(named)
    found = answer(visits(company)[0], there).in_the_way
    assert found
    assert found.code == "outside_window", "not the pin of the other house"


def test_visits_that_give_way_are_those_in_the_way_by_a_rule(company: Company) -> None:
    publish_plan(company=company, now=MONDAY)
    visit, other = visits(company)[-1], visits(company, "Elm House")[-1]
    there = Spot(other.block.crew, start(other))
    found = answer(visit, there)
    if not found.holds:
        assert found.nearest
        found = answer(visit, Spot(found.nearest.crew, found.nearest.starts_at))
    codes = {one.block.house.name: one.code for one in found.gives_way}
    assert all(one.is_told for one in found.gives_way)
    assert codes.get("Elm House") in {"overlap_crew", "travel", None}
    assert answer(visit, Spot(visit.block.crew, start(visit))).gives_way == []


def test_plan_made_meanwhile_is_not_pinned_into(company: Company) -> None:
    visit = visits(company)[0]
    first_plan(company)
    with pytest.raises(StaleVisitError):
        pin(visit, Spot(crew(company, "South crew"), local("2026-03-04 08:00")))
    again = planned_visit(company, visit.public_id)
    assert not again.is_current
    assert again.now
    assert again.now.keys == visit.keys


def test_coat_over_its_own_pinned_place_can_move_by_five_minutes(company: Company) -> None:
    """The pins that a visit has do not stand in its own way."""
    visit = visits(company)[0]
    south = crew(company, "South crew")
    pin(visit, Spot(south, local("2026-03-04 08:00")))
    pin(visit, Spot(south, local("2026-03-04 08:05")))
    first = Pin.objects.filter(ended_at=None).first()
    assert first
    assert first.starts_at == local("2026-03-04 08:05")


def test_work_done_or_on_hold_since_is_said_piece_by_piece(company: Company) -> None:
    plan = working_plan(company)
    assert plan
    visit = planned_visit(company, task_of(plan, Stage.TAPE).public_id)
    House.objects.filter(name="Mill Cottage").update(is_active=False)
    found = answer(visit, Spot(visit.block.crew, start(visit)))
    assert [(one.piece.key, one.code) for one in found.stays] == [(k, "gone") for k in visit.keys]
