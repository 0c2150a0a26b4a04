"""Work pinned to a crew and a time: it stays there, or the office hears why it cannot."""

from datetime import date, datetime, timedelta

import pytest

from finishing.models import Company, Crew, House
from finishing.rules.vocabulary import Stage
from finishing.services.errors import InputFaults
from finishing.services.staffing import mark_away
from scheduling.models import Pin
from scheduling.services.inputs import build_inputs
from scheduling.services.named_work import WorkName, find_work
from scheduling.services.pin_check import check_pins
from scheduling.services.pins import PinWanted, end_pins, pin_work
from scheduling.solver.problem import Placement
from tests.factories import local, make_company, make_crew
from tests.plans import broken_rules, freed, moved, plan_from, published_from, task_of
from tests.sites import MONDAY, make_site, utc

pytestmark = pytest.mark.django_db(transaction=True)

DRYING = "All-purpose drying"
NOON = local("2026-03-04 12:00")


def pin(
    company: Company,
    stage: str,
    at: datetime,
    *,
    rooms: tuple[str, ...] = (),
    crew: str = "North crew",
    now: datetime = MONDAY,
) -> list[Pin]:
    house = House.objects.get(company=company)
    work = find_work(company=company, name=WorkName(house.name, stage, rooms=rooms))
    wanted = PinWanted(company, Crew.objects.get(company=company, name=crew), work, at)
    return pin_work(wanted=wanted, now=now)


def refusal(company: Company, stage: str, at: datetime, **more: object) -> str:
    with pytest.raises(InputFaults) as refused:
        pin(company, stage, at, **more)  # type: ignore[arg-type]  # a test's shorthand
    assert not Pin.objects.filter(ended_at=None).exists()
    return str(refused.value)


def test_pinned_task_is_where_it_was_pinned_and_what_comes_before_is_done_in_time() -> None:
    company, _ = make_site(system=DRYING)
    pin(company, "second", NOON)
    plan = plan_from(company, MONDAY)
    tape, second = task_of(plan, Stage.TAPE), task_of(plan, Stage.SECOND)
    assert second.starts_at == NOON
    # Common practice, no published source: 24 hours after a drying coat.
    assert tape.ends_at + timedelta(hours=24) <= NOON
    assert task_of(plan, Stage.FINISH).starts_at >= second.ends_at + timedelta(hours=24)
    assert broken_rules(plan) == []
    assert freed(plan) == {}


def test_pinned_visit_is_its_rooms_one_after_another_with_its_crew() -> None:
    company, _ = make_site(rooms=("Hall", "Kitchen"), system=DRYING)
    make_crew(company, "South crew")
    assert len(pin(company, "tape", local("2026-03-03 09:00"), crew="South crew")) == 2
    plan = plan_from(company, MONDAY)
    hall, kitchen = task_of(plan, Stage.TAPE, "Hall"), task_of(plan, Stage.TAPE, "Kitchen")
    assert {hall.crew.name, kitchen.crew.name} == {"South crew"}
    assert hall.starts_at == local("2026-03-03 09:00")
    assert kitchen.starts_at == hall.ends_at
    assert broken_rules(plan) == []


def test_pin_moves_published_work_inside_the_freeze_and_only_that() -> None:
    company, _ = make_site(system=DRYING)
    first = published_from(company, MONDAY)
    second = task_of(first, Stage.SECOND)
    pin(company, "second", local("2026-03-03 12:00"), now=local("2026-03-02 16:00"))
    again = plan_from(company, local("2026-03-02 16:00"))
    assert task_of(again, Stage.SECOND).starts_at == local("2026-03-03 12:00")
    assert second.key in moved(first, again)
    assert freed(again) == {}
    assert broken_rules(again) == []


def test_pin_before_the_coat_under_it_is_dry_is_refused_with_the_nearest_time() -> None:
    company, _ = make_site(system=DRYING)
    first = published_from(company, MONDAY)
    tape = task_of(first, Stage.TAPE)
    said = refusal(company, "second", local("2026-03-02 14:00"))
    assert "what it waits for is not ready by then (Tape coat, Hall)" in said
    # The tape coat ends in the morning, so that 24 hours later is Tuesday, in the morning too.
    dry = (tape.ends_at + timedelta(hours=24)).strftime("%H:%M")
    assert said.endswith(f"the nearest that would do: North crew, Tue 3 Mar {dry}")


def test_nearest_time_that_is_offered_can_be_pinned() -> None:
    company, _ = make_site(system=DRYING)
    published_from(company, MONDAY)
    inputs = build_inputs(company=company, now=MONDAY)
    key = next(task.id for task in inputs.problem.tasks if task.id.endswith(":finish"))
    crew = inputs.problem.crews[0].id
    asked = inputs.timeline.tick_after(local("2026-03-03 10:00"))
    (nearest,) = check_pins(inputs.problem, [Placement(key, crew, asked, asked + 4)], ()).nearest
    pin(company, "finish", inputs.timeline.instant(nearest.start))
    # The tick before it would not do.
    Pin.objects.all().delete()
    before = inputs.timeline.instant(nearest.start - 1)
    assert "the nearest that would do" in refusal(company, "finish", before)


@pytest.mark.parametrize(
    ("at", "rule"),
    [
        ("2026-03-07 09:00", "working hours"),
        ("2026-03-04 15:20", "working hours"),
        ("2026-02-27 09:00", "too late"),
        ("2026-03-04 05:00", "working hours"),
    ],
)
def test_pin_that_breaks_a_rule_says_which(at: str, rule: str) -> None:
    company, _ = make_site(system=DRYING)
    assert rule in refusal(company, "second", local(at))


def test_pin_on_another_pin_is_refused() -> None:
    company, house = make_site(system=DRYING, rooms=("Hall", "Kitchen"))
    pin(company, "tape", local("2026-03-03 09:00"), rooms=("Hall",))
    with pytest.raises(InputFaults, match=r"the crew is at other work then \(Tape coat, Hall\)"):
        pin(company, "tape", local("2026-03-03 09:05"), rooms=("Kitchen",))
    assert Pin.objects.count() == 1
    assert house.name == "Mill Cottage"


def test_pin_that_comes_to_break_a_rule_is_released_and_named() -> None:
    company, _ = make_site(system=DRYING)
    (row,) = pin(company, "second", NOON)
    mark_away(crew=row.crew, member=None, days=[date(2026, 3, 4)], reason="ill")
    plan = plan_from(company, MONDAY)
    assert freed(plan) == {row.key: "outside_window"}
    assert task_of(plan, Stage.SECOND).starts_at != NOON
    assert broken_rules(plan) == []


def test_pin_that_work_before_it_cannot_reach_is_released_and_named() -> None:
    """The crew is away until the day of the pin, so that the tape coat comes too late."""
    company, _ = make_site(system=DRYING)
    (row,) = pin(company, "second", NOON)
    mark_away(crew=row.crew, member=None, days=[date(2026, 3, 2), date(2026, 3, 3)])
    plan = plan_from(company, MONDAY)
    assert freed(plan) == {row.key: "wait"}
    assert broken_rules(plan) == []


def test_ended_pin_lets_the_work_move_again() -> None:
    company, house = make_site(system=DRYING)
    before = plan_from(company, MONDAY)
    pin(company, "second", NOON)
    assert moved(before, plan_from(company, MONDAY))
    work = find_work(company=company, name=WorkName(house.name, "second"))
    assert end_pins(company=company, work=work, now=MONDAY) == 1
    assert moved(before, plan_from(company, MONDAY)) == set()


def test_new_pin_takes_the_place_of_the_old_one() -> None:
    company, _ = make_site(system=DRYING)
    pin(company, "second", NOON)
    pin(company, "second", NOON + timedelta(hours=1))
    assert Pin.objects.get(ended_at=None).starts_at == NOON + timedelta(hours=1)
    plan = plan_from(company, MONDAY)
    assert task_of(plan, Stage.SECOND).starts_at == NOON + timedelta(hours=1)


def test_work_under_way_or_done_cannot_be_pinned() -> None:
    company, _ = make_site(system=DRYING)
    first = published_from(company, MONDAY)
    tape = task_of(first, Stage.TAPE)
    during = tape.starts_at + timedelta(minutes=5)
    assert "is under way" in refusal(company, "tape", NOON, now=during)
    assert "is done" in refusal(company, "tape", NOON, now=tape.ends_at)


def test_company_cannot_pin_work_to_another_companys_crew() -> None:
    company, _ = make_site(system=DRYING)
    stranger = make_crew(make_company("Other Finishing"), "Strangers")
    work = find_work(company=company, name=WorkName("Mill Cottage", "second"))
    with pytest.raises(InputFaults, match="gets no new work"):
        pin_work(wanted=PinWanted(company, stranger, work, NOON), now=MONDAY)


def test_pin_after_the_clock_change_is_at_the_same_hour_of_the_day() -> None:
    """Summer time in Ireland begins on Sunday 29 March 2026: noon is 12:00, then 11:00 UTC."""
    company, _ = make_site(system=DRYING, handover_on=date(2026, 4, 10))
    pin(company, "second", local("2026-03-27 12:00"))
    assert Pin.objects.get(ended_at=None).starts_at == utc("2026-03-27 12:00")
    pin(company, "second", local("2026-03-30 12:00"))
    assert Pin.objects.get(ended_at=None).starts_at == utc("2026-03-30 11:00")
    second = task_of(plan_from(company, MONDAY), Stage.SECOND)
    assert second.starts_at == utc("2026-03-30 11:00")
