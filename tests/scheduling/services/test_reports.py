"""What crews report, and what the next plan makes of it."""

from datetime import datetime, timedelta

import pytest

from finishing.models import Company, Crew, House, Surface
from finishing.rules.vocabulary import Stage
from finishing.services.errors import InputFaults
from finishing.services.staffing import mark_away
from scheduling.models import Plan, Report
from scheduling.services.done_work import published_tasks
from scheduling.services.inputs import build_inputs
from scheduling.services.named_work import WorkName, find_work
from scheduling.services.reports import Statement, report_work
from tests.factories import local, make_company, make_crew
from tests.plans import freed, plan_from, published_from, task_of
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db(transaction=True)

DRYING = "All-purpose drying"
Kind = Report.Kind


def say(
    company: Company,
    kind: str,
    at: datetime,
    stage: str = "tape",
    *,
    rooms: tuple[str, ...] = (),
    crew: str = "North crew",
    now: datetime | None = None,
    **more: object,
) -> list[Report]:
    house = House.objects.get(company=company)
    return report_work(
        company=company,
        crew=Crew.objects.get(company=company, name=crew),
        work=find_work(company=company, name=WorkName(house.name, stage, rooms=rooms)),
        said=Statement(kind, at, **more),  # type: ignore[arg-type]  # a test's shorthand
        now=now or at,
    )


def site_at_work(rooms: tuple[str, ...] = ("Hall",)) -> tuple[Company, Plan]:
    """A house in drying compound whose plan of Monday is published; taping begins at 7:00."""
    company, _ = make_site(rooms=rooms, system=DRYING)
    company.freeze_days = 0
    company.save()
    plan = published_from(company, MONDAY)
    return company, plan


def test_coat_done_early_lets_the_next_follow_earlier() -> None:
    company, first = site_at_work()
    tape = task_of(first, Stage.TAPE)
    done = tape.ends_at - timedelta(minutes=40)
    say(company, Kind.DONE, done)
    now, second = local("2026-03-02 16:00"), task_of(first, Stage.SECOND)
    inputs = build_inputs(company=company, now=now)
    release = next(task.release for task in inputs.problem.tasks if task.id == second.key)
    # Common practice, no published source: 24 hours after a drying coat.
    assert inputs.timeline.instant(release) == done + timedelta(hours=24)
    assert inputs.timeline.instant(release) < second.starts_at
    # The crew has been told of the later hour, and nothing is late: it is left in peace.
    assert task_of(plan_from(company, now), Stage.SECOND).starts_at == second.starts_at


def test_coat_done_late_holds_back_the_next() -> None:
    company, _ = site_at_work()
    done = local("2026-03-02 15:05")
    say(company, Kind.DONE, done)
    second = task_of(plan_from(company, local("2026-03-02 16:00")), Stage.SECOND)
    # 24 hours later is 15:05; the wash-up (15 min) and the work do not fit before 15:30.
    assert second.starts_at == local("2026-03-04 07:15")


def test_past_work_without_a_report_counts_as_done_as_planned_and_is_counted() -> None:
    company, first = site_at_work(("Hall", "Kitchen"))
    say(company, Kind.DONE, task_of(first, Stage.TAPE).ends_at, rooms=("Hall",))
    plan = plan_from(company, local("2026-03-02 16:00"))
    assert not plan.tasks.filter(stage=Stage.TAPE).exists()
    assert plan.run is not None
    assert plan.run.unreported == 1


def test_work_left_undone_is_planned_again_and_what_follows_waits_for_it() -> None:
    company, first = site_at_work()
    say(company, Kind.NOT_DONE, task_of(first, Stage.TAPE).ends_at)
    plan = plan_from(company, local("2026-03-02 16:00"))
    tape, second = task_of(plan, Stage.TAPE), task_of(plan, Stage.SECOND)
    assert tape.starts_at == local("2026-03-03 07:15")
    assert second.starts_at >= tape.ends_at + timedelta(hours=24)


def test_work_left_undone_and_given_again_counts_as_done_the_second_time() -> None:
    company, first = site_at_work()
    say(company, Kind.NOT_DONE, task_of(first, Stage.TAPE).ends_at)
    published_from(company, local("2026-03-02 16:00"))
    plan = plan_from(company, local("2026-03-03 16:00"))
    assert not plan.tasks.filter(stage=Stage.TAPE).exists()
    assert task_of(plan, Stage.SECOND).starts_at >= local("2026-03-04 07:15")


def test_part_left_undone_is_only_the_rest() -> None:
    company, first = site_at_work()
    tape = task_of(first, Stage.TAPE)
    planned = (tape.ends_at - tape.starts_at) / timedelta(minutes=1)
    left = 30
    say(company, Kind.NOT_DONE, tape.starts_at + timedelta(minutes=20), minutes_left=left)
    rest = task_of(plan_from(company, local("2026-03-02 16:00")), Stage.TAPE, part=2)
    share = left / planned * tape.details["person_minutes"]
    assert rest.details["person_minutes"] == pytest.approx(share, abs=1)


def test_minutes_left_move_the_end_of_work_in_progress_and_what_follows_it() -> None:
    company, first = site_at_work(("Hall", "Kitchen"))
    tape = task_of(first, Stage.TAPE, "Hall")
    at = tape.starts_at + timedelta(minutes=20)
    say(company, Kind.LEFT, at, rooms=("Hall",), minutes_left=100)
    plan = plan_from(company, at)
    hall, kitchen = task_of(plan, Stage.TAPE, "Hall"), task_of(plan, Stage.TAPE, "Kitchen")
    assert (hall.starts_at, hall.ends_at) == (tape.starts_at, at + timedelta(minutes=100))
    assert kitchen.starts_at == hall.ends_at
    assert task_of(plan, Stage.SECOND, "Hall").starts_at >= hall.ends_at + timedelta(hours=24)


def test_nothing_left_is_a_report_of_work_done() -> None:
    company, first = site_at_work()
    at = task_of(first, Stage.TAPE).starts_at + timedelta(minutes=20)
    say(company, Kind.LEFT, at, minutes_left=0)
    plan = plan_from(company, at)
    assert not plan.tasks.filter(stage=Stage.TAPE).exists()
    assert plan.run is not None
    assert plan.run.unreported == 0


def test_minutes_left_go_on_the_next_day_where_the_crew_goes_home() -> None:
    company, _ = site_at_work()
    say(company, Kind.STARTED, local("2026-03-02 14:00"))
    at = local("2026-03-02 15:00")
    say(company, Kind.LEFT, at, minutes_left=90)
    tape = task_of(plan_from(company, local("2026-03-02 16:00")), Stage.TAPE)
    # The day ends at 15:30: half an hour then, an hour from 7:00 on Tuesday.
    assert tape.starts_at == local("2026-03-02 14:00")
    assert tape.ends_at == local("2026-03-03 08:00")


def test_work_begun_late_ends_as_much_later() -> None:
    company, first = site_at_work()
    tape = task_of(first, Stage.TAPE)
    begun = tape.starts_at + timedelta(minutes=35)
    say(company, Kind.STARTED, begun)
    now = task_of(plan_from(company, begun + timedelta(minutes=5)), Stage.TAPE)
    assert (now.starts_at, now.ends_at) == (begun, tape.ends_at + timedelta(minutes=35))


def test_work_of_a_later_day_done_early_is_not_planned_again() -> None:
    company, first = site_at_work()
    assert task_of(first, Stage.INSPECT).starts_at > local("2026-03-05 00:00")
    moment = local("2026-03-05 15:00")
    for stage in (Stage.SAND, Stage.INSPECT):
        say(company, Kind.DONE, moment, stage)
    plan = plan_from(company, moment)
    assert not plan.tasks.exists()
    assert [row["state"] for row in plan.handovers] == ["done"]


def test_early_work_stays_done_when_its_visit_is_called_off() -> None:
    company, first = site_at_work()
    moment = task_of(first, Stage.SECOND).starts_at - timedelta(hours=2)
    say(company, Kind.DONE, moment, "second")
    key = task_of(first, Stage.SECOND).key
    published_from(company, moment)
    assert key not in published_tasks(company)
    plan = plan_from(company, moment + timedelta(hours=1))
    assert not plan.tasks.filter(stage__in=[Stage.TAPE, Stage.SECOND]).exists()
    assert task_of(plan, Stage.FINISH).starts_at >= moment + timedelta(hours=24)


def test_coat_found_wet_waits_for_another_look_after_four_hours() -> None:
    company, first = site_at_work()
    second = task_of(first, Stage.SECOND)
    say(company, Kind.NOT_DRY, second.starts_at)
    plan = plan_from(company, second.starts_at + timedelta(minutes=10))
    # Common practice, no published source: look again after some hours, here four.
    assert task_of(plan, Stage.SECOND).starts_at == second.starts_at + timedelta(hours=4)
    assert task_of(plan, Stage.SECOND).details["waits_on"]["reason"] == "recheck"


def test_crew_may_say_when_to_look_again() -> None:
    company, first = site_at_work()
    second = task_of(first, Stage.SECOND)
    again = local("2026-03-05 12:00")
    say(company, Kind.NOT_DRY, second.starts_at, again_at=again)
    plan = plan_from(company, second.ends_at)
    assert task_of(plan, Stage.SECOND).starts_at == again


def test_work_that_lay_behind_a_wet_coat_is_not_taken_as_done() -> None:
    """The crew looks at the tape coat in the evening: the second coat cannot have gone over it."""
    company, first = site_at_work()
    second = task_of(first, Stage.SECOND)
    evening = local(f"{second.starts_at:%Y-%m-%d} 16:30")
    say(company, Kind.NOT_DRY, evening)
    plan = plan_from(company, evening)
    assert task_of(plan, Stage.SECOND).starts_at >= evening + timedelta(hours=4)


def test_visit_that_the_wet_coat_calls_off_counts_as_moved_and_is_named() -> None:
    company, first = site_at_work()
    company.freeze_days = 2
    company.save()
    second = task_of(first, Stage.SECOND)
    say(company, Kind.NOT_DRY, second.starts_at - timedelta(minutes=15))
    plan = plan_from(company, second.starts_at - timedelta(minutes=10))
    assert freed(plan)[second.key] == "release"
    assert ["second"] in [move["stages"] for move in plan.change["moves"]]
    assert plan.change["new"] == 0


def site_in_two_parts() -> tuple[Company, Plan]:
    """A room too long for a day: its tape coat is half of Monday and half of Tuesday."""
    company, house = make_site(system=DRYING)
    company.freeze_days = 0
    company.save()
    line = Surface.objects.get(room__area__house=house).joints.get(kind="tapered")
    line.metres = 700.0
    line.save()
    plan = published_from(company, MONDAY)
    assert plan.tasks.filter(stage=Stage.TAPE).count() == 2
    return company, plan


def test_last_part_done_first_leaves_the_first_as_it_was() -> None:
    company, first = site_in_two_parts()
    part = task_of(first, Stage.TAPE)
    at = part.starts_at + timedelta(hours=1)
    say(company, Kind.DONE, at, part=2)
    again = plan_from(company, at).tasks.get(stage=Stage.TAPE)
    assert (again.key, again.ends_at) == (part.key, part.ends_at)


def test_first_part_left_undone_is_planned_though_the_last_is_over() -> None:
    company, first = site_in_two_parts()
    one, two = (task_of(first, Stage.TAPE, part=part) for part in (1, 2))
    say(company, Kind.NOT_DONE, one.ends_at, part=1)
    plan = plan_from(company, two.ends_at + timedelta(hours=1))
    again = plan.tasks.get(stage=Stage.TAPE)
    assert again.key == one.key
    assert again.details["person_minutes"] == one.details["person_minutes"]
    coats = plan.tasks.filter(stage=Stage.SECOND)
    assert coats.earliest("starts_at").starts_at >= again.ends_at + timedelta(hours=24)


def test_rest_of_a_part_is_planned_though_the_last_part_is_over() -> None:
    company, first = site_in_two_parts()
    one, two = (task_of(first, Stage.TAPE, part=part) for part in (1, 2))
    planned = (one.ends_at - one.starts_at) / timedelta(minutes=1)
    say(company, Kind.NOT_DONE, one.ends_at, part=1, minutes_left=60)
    plan = published_from(company, two.ends_at + timedelta(hours=1))
    rest = task_of(plan, Stage.TAPE, part=3)
    share = 60 / planned * one.details["person_minutes"]
    assert rest.details["person_minutes"] == pytest.approx(share, abs=1)
    # Once the rest is over too, nothing of the stage is left.
    again = plan_from(company, rest.ends_at + timedelta(hours=1))
    assert not again.tasks.filter(stage=Stage.TAPE).exists()


def test_work_begun_by_a_crew_that_then_goes_home_ill_is_not_done() -> None:
    company, first = site_at_work()
    begun = task_of(first, Stage.TAPE).starts_at
    say(company, Kind.STARTED, begun)
    mark_away(crew=Crew.objects.get(), member=None, days=[begun.date()], reason="ill")
    tape = task_of(plan_from(company, begun + timedelta(minutes=10)), Stage.TAPE)
    # It goes on when the crew is back: on Tuesday from 7:00.
    assert tape.starts_at == begun
    assert tape.ends_at > local("2026-03-03 07:00")


def test_work_under_way_stays_with_a_crew_that_gets_no_new_work() -> None:
    company, first = site_at_work()
    south = make_crew(company, "South crew")
    Crew.objects.filter(name="North crew").update(is_active=False)
    plan = plan_from(company, task_of(first, Stage.TAPE).starts_at + timedelta(minutes=10))
    crews = {task.stage: task.crew for task in plan.tasks.select_related("crew")}
    assert crews.pop(Stage.TAPE).name == "North crew"
    assert set(crews.values()) == {south}


def test_reports_about_a_later_moment_do_not_change_a_plan_from_before() -> None:
    company, first = site_at_work()
    say(company, Kind.NOT_DONE, local("2026-03-02 16:00"))
    tape = task_of(first, Stage.TAPE)
    plan = plan_from(company, tape.ends_at)
    assert not plan.tasks.filter(stage=Stage.TAPE).exists()


def test_the_later_report_of_a_kind_counts() -> None:
    company, first = site_at_work()
    tape = task_of(first, Stage.TAPE)
    evening = local("2026-03-02 15:30")
    say(company, Kind.DONE, evening)
    say(company, Kind.DONE, tape.ends_at, now=evening)
    plan = plan_from(company, evening)
    assert task_of(plan, Stage.SECOND).starts_at == task_of(first, Stage.SECOND).starts_at


def test_what_cannot_be_so_is_refused_with_every_reason() -> None:
    company, first = site_at_work(("Hall", "Kitchen"))
    evening = local("2026-03-02 16:00")
    with pytest.raises(InputFaults) as refused:
        say(company, Kind.DONE, evening, "finish")
    assert len(refused.value.faults) == 2
    assert "comes after Second coat, which is not done" in str(refused.value)
    with pytest.raises(InputFaults, match="was not done by then"):
        say(company, Kind.NOT_DRY, task_of(first, Stage.TAPE).starts_at, now=evening)
    with pytest.raises(InputFaults, match="still to come"):
        say(company, Kind.DONE, evening, now=evening - timedelta(hours=1))
    with pytest.raises(InputFaults, match="leaves nothing that has to dry"):
        say(company, Kind.NOT_DRY, evening, "sand")
    with pytest.raises(InputFaults, match="was not to begin before then"):
        say(company, Kind.NOT_DONE, evening, "second")
    with pytest.raises(InputFaults, match="how many minutes are left"):
        say(company, Kind.LEFT, evening)
    with pytest.raises(InputFaults, match="must be after"):
        say(company, Kind.NOT_DRY, evening, again_at=evening)
    assert not Report.objects.exists()


def test_a_crew_of_another_company_cannot_report() -> None:
    company, first = site_at_work()
    stranger = make_crew(make_company("Other Finishing"), "Strangers")
    work = find_work(company=company, name=WorkName("Mill Cottage", "tape"))
    said = Statement(Kind.DONE, task_of(first, Stage.TAPE).ends_at)
    with pytest.raises(InputFaults, match="another company"):
        report_work(company=company, crew=stranger, work=work, said=said, now=said.at)
