"""Rows and rules become the right tasks, waits, windows and holds."""

from datetime import date, time, timedelta

import pytest
from pytest_django import DjangoAssertNumQueries

from finishing.models import (
    AirDay,
    AirSource,
    Area,
    Closure,
    CoatDone,
    Company,
    Compound,
    CrewHours,
    CrewMember,
    DayOff,
    Holiday,
    OddJob,
    ReadinessLine,
    Room,
    Surface,
    SystemStage,
)
from finishing.rules.drying import STAGE_THICKNESS_MM, drying_hours, thickness_amount
from finishing.rules.vocabulary import Stage
from scheduling.services.inputs import build_inputs
from scheduling.services.plan_inputs import PlanInputs
from scheduling.solver.problem import Task, Wait
from tests.factories import local, make_crew, make_house
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db

DRYING = "All-purpose drying"
HOUR = 12


def inputs_of(company: Company) -> PlanInputs:
    return build_inputs(company=company, now=MONDAY)


def task_of(inputs: PlanInputs, stage: Stage, part: int = 1) -> Task:
    suffix = f":{stage}" if part == 1 else f":{stage}:{part}"
    return next(task for task in inputs.problem.tasks if task.id.endswith(suffix))


def waits_of(inputs: PlanInputs, stage: Stage) -> list[Wait]:
    return [wait for wait in inputs.problem.waits if wait.after == task_of(inputs, stage).id]


def ready(inputs: PlanInputs, wait: Wait, end: int) -> int:
    return inputs.problem.curves[wait.curve].ready(end)


def test_level_4_room_has_the_stages_of_its_level_in_order() -> None:
    company, _ = make_site()
    stages = [task.id.split(":")[1] for task in inputs_of(company).problem.tasks]
    # GA-214 level 4: tape and two more coats on flat joints; then sanding and the lamp.
    assert stages == ["tape", "second", "finish", "sand", "inspect"]


def test_gaps_and_beads_are_filled_before_tape_with_a_setting_compound() -> None:
    company, _ = make_site(system=DRYING)
    company.gap_share = 0.1
    company.save()
    inputs = inputs_of(company)
    prefill = inputs.stages[task_of(inputs, Stage.PREFILL).id]
    assert prefill.compound is not None
    assert prefill.compound.hardening == "sets"
    assert [wait.before for wait in waits_of(inputs, Stage.TAPE)] == [
        task_of(inputs, Stage.PREFILL).id
    ]


def test_setting_coat_waits_for_its_set_time_or_the_practice_minimum() -> None:
    company, _ = make_site()
    inputs = inputs_of(company)
    (wait,) = waits_of(inputs, Stage.SECOND)
    base = Compound.objects.get(name="Setting base, 90 min working")
    # Common practice, no published source: at least an hour before the next coat.
    assert ready(inputs, wait, 5000) - 5000 == max(base.set_hours, 1.0) * HOUR
    assert wait.reason == "set"


def test_drying_coat_waits_for_the_rule_and_for_the_air() -> None:
    company, _ = make_site(system=DRYING, humidity=0.9)
    inputs = inputs_of(company)
    rule, air = sorted(waits_of(inputs, Stage.SECOND), key=lambda wait: wait.reason, reverse=True)
    assert (rule.reason, air.reason) == ("rule", "air")
    # Common practice, no published source: at least 24 hours between drying coats.
    assert ready(inputs, rule, 5000) - 5000 == 24 * HOUR
    hours = float(drying_hours(20.0, 0.9)) * thickness_amount(STAGE_THICKNESS_MM[Stage.TAPE])
    assert hours > 24
    assert ready(inputs, air, 5000) - 5000 == pytest.approx(hours * HOUR, abs=1)


def test_set_is_not_dry_so_sanding_waits_for_the_water_of_every_coat() -> None:
    company, _ = make_site(humidity=0.8)
    inputs = inputs_of(company)
    per_mm = float(drying_hours(20.0, 0.8)) * thickness_amount(1.0)
    tape, second, finish = (
        STAGE_THICKNESS_MM[stage] for stage in (Stage.TAPE, Stage.SECOND, Stage.FINISH)
    )
    air = {
        wait.before.split(":")[1]: ready(inputs, wait, 5000) - 5000
        for wait in waits_of(inputs, Stage.SAND)
        if wait.reason == "air"
    }
    assert air["finish"] == pytest.approx(per_mm * finish * HOUR, abs=1)
    assert air["second"] == pytest.approx(per_mm * (second + finish) * HOUR, abs=1)
    assert air["tape"] == pytest.approx(per_mm * (tape + second + finish) * HOUR, abs=1)


def test_next_day_rule_lets_a_coat_follow_from_midnight_on() -> None:
    company, _ = make_site(system=DRYING)
    company.drying_rule = Company.DryingRule.NEXT_DAY
    company.save()
    inputs = inputs_of(company)
    rule = next(wait for wait in waits_of(inputs, Stage.SECOND) if wait.reason == "rule")
    noon = inputs.timeline.tick_after(local("2026-03-03 12:00"))
    midnight = inputs.timeline.tick_after(local("2026-03-04 00:00"))
    assert ready(inputs, rule, noon) == midnight


def test_setting_coat_has_batches_as_long_as_its_working_time() -> None:
    company, _ = make_site()
    inputs = inputs_of(company)
    assert task_of(inputs, Stage.TAPE).batch_ticks * 5 == 90
    assert task_of(inputs, Stage.FINISH).batch_ticks == 0


def test_cold_closes_starts_and_a_warm_house_has_none_closed() -> None:
    company, house = make_site(system=DRYING, temperature_c=9.0)
    cold = inputs_of(company)
    # ASTM C840 section 4: 10 C or more for 48 hours before and until dry.
    assert task_of(cold, Stage.TAPE).starts == ()
    house.is_open, house.heating, house.setpoint_c = False, "heated", 18.0
    house.save()
    assert task_of(inputs_of(company), Stage.TAPE).starts is None


def test_long_room_is_done_in_parts_that_fit_a_day() -> None:
    company, house = make_site()
    line = Surface.objects.get(room__area__house=house).joints.get(kind="tapered")
    line.metres = 1500.0
    line.save()
    inputs = inputs_of(company)
    parts = [t for t in inputs.problem.tasks if ":tape" in t.id]
    crew = inputs.problem.crews[0]
    window = crew.windows[0]
    longest = (window.end - window.start) * 5 * window.heads
    assert len(parts) > 1
    assert all(part.person_minutes <= longest for part in parts)
    assert sum(part.person_minutes for part in parts) == inputs.stages[parts[0].id].person_minutes
    assert {part.run for part in parts} == {parts[0].run}
    (wait,) = waits_of(inputs, Stage.SECOND)
    assert wait.before == parts[-1].id


def test_part_finished_area_goes_on_from_where_it_stands() -> None:
    company, house = make_site(system=DRYING)
    ended = local("2026-03-01 15:00")
    CoatDone.objects.create(
        company=company, area=house.areas.get(), stage=Stage.TAPE, ended_at=ended
    )
    inputs = inputs_of(company)
    stages = [task.id.split(":")[1] for task in inputs.problem.tasks]
    assert stages[0] == "second"
    day_later = inputs.timeline.tick_after(ended + timedelta(hours=24))
    assert task_of(inputs, Stage.SECOND).release == day_later


def test_hard_coat_never_goes_over_the_soft_one_a_house_came_with() -> None:
    company, house = make_site()
    soft = Compound.objects.get(company=company, name="All-purpose, drying")
    CoatDone.objects.create(
        company=company,
        area=house.areas.get(),
        stage=Stage.TAPE,
        compound=soft,
        ended_at=local("2026-02-27 15:00"),
    )
    inputs = inputs_of(company)
    assert [hold.code for hold in inputs.holds] == ["hard_over_soft"]
    assert inputs.problem.tasks == ()


def test_system_that_may_not_be_used_is_a_hold_not_a_plan() -> None:
    company, _ = make_site()
    tape = SystemStage.objects.get(system__is_default=True, stage=Stage.TAPE)
    tape.compound = Compound.objects.get(company=company, name="Topping, drying")
    tape.save()
    codes = {hold.code for hold in inputs_of(company).holds}
    assert {"may_not_do_stage", "may_not_bed_tape"} <= codes


def test_expected_line_opens_the_house_on_the_next_morning() -> None:
    company, house = make_site()
    ReadinessLine.objects.create(
        company=company, house=house, item="closed_up", expected_on=date(2026, 3, 4)
    )
    inputs = inputs_of(company)
    thursday = inputs.timeline.tick_after(local("2026-03-05 00:00"))
    assert task_of(inputs, Stage.TAPE).release == thursday


def test_line_without_a_day_holds_the_house_and_says_who_owes_it() -> None:
    company, house = make_site()
    ReadinessLine.objects.create(company=company, house=house, item="power", owed_by="Electrician")
    inputs = inputs_of(company)
    assert inputs.problem.tasks == ()
    held = {hold.as_json()["items"][0]["owed_by"] for hold in inputs.holds}
    assert held == {"Electrician"}


def test_touch_up_after_primer_needs_a_day_from_the_painter() -> None:
    company, house = make_site()
    company.stages = [*Stage]
    company.save()
    held = {stage for hold in inputs_of(company).holds for stage in hold.stages}
    assert held == {Stage.PRIMER_TOUCH_UP, Stage.TRADES_TOUCH_UP}
    ReadinessLine.objects.create(
        company=company, house=house, item="primed", expected_on=date(2026, 4, 1)
    )
    inputs = inputs_of(company)
    assert task_of(inputs, Stage.PRIMER_TOUCH_UP).handover is None
    assert {stage for hold in inputs.holds for stage in hold.stages} == {Stage.TRADES_TOUCH_UP}


def test_closed_area_is_closed_from_its_first_midnight_to_its_last() -> None:
    company, house = make_site()
    Closure.objects.create(
        company=company,
        area=house.areas.get(),
        first_day=date(2026, 3, 10),
        last_day=date(2026, 3, 12),
    )
    inputs = inputs_of(company)
    spans = task_of(inputs, Stage.TAPE).open
    assert spans is not None
    assert spans[0].end == inputs.timeline.tick_after(local("2026-03-10 00:00"))
    assert spans[1].start == inputs.timeline.tick_after(local("2026-03-13 00:00"))


def test_windows_follow_local_hours_across_the_clock_change() -> None:
    company, _ = make_site()
    inputs = inputs_of(company)
    starts = {
        inputs.timeline.instant(window.start): window for window in inputs.problem.crews[0].windows
    }
    # Europe/Dublin went to summer time on Sunday 29 March 2026: 07:00 is an hour earlier in UTC.
    assert local("2026-03-27 07:00") in starts
    assert local("2026-03-30 07:00") in starts
    assert local("2026-03-30 07:00").hour == local("2026-03-27 07:00").hour - 1


def test_days_off_holidays_and_membership_change_heads_and_skills() -> None:
    company, _ = make_site()
    first, second = CrewMember.objects.order_by("pk")
    first.skills = ["coating", "skimming"]
    first.save()
    second.skills, second.to_day = ["coating"], date(2026, 3, 6)
    second.save()
    crew = first.crew
    DayOff.objects.create(company=company, crew=crew, member=first, day=date(2026, 3, 3))
    DayOff.objects.create(company=company, crew=crew, day=date(2026, 3, 4))
    Holiday.objects.create(company=company, day=date(2026, 3, 17), name="A public holiday")
    inputs = inputs_of(company)
    by_day = {
        inputs.timeline.instant(window.start).date(): window
        for window in inputs.problem.crews[0].windows
    }
    assert by_day[date(2026, 3, 2)].heads == 2
    assert by_day[date(2026, 3, 3)].heads == 1
    assert by_day[date(2026, 3, 3)].lacks == {"skimming"}
    assert date(2026, 3, 4) not in by_day
    assert by_day[date(2026, 3, 9)].heads == 1
    assert date(2026, 3, 17) not in by_day


def test_break_in_the_day_makes_two_windows_of_one_day() -> None:
    company, _ = make_site()
    CrewHours.objects.filter(weekday=0).delete()
    crew = CrewMember.objects.earliest("pk").crew
    for start, end in ((time(7), time(12)), (time(12, 30), time(15, 30))):
        CrewHours.objects.create(company=company, crew=crew, weekday=0, start=start, end=end)
    inputs = inputs_of(company)
    monday = [
        window
        for window in inputs.problem.crews[0].windows
        if inputs.timeline.instant(window.start).date() == date(2026, 3, 2)
    ]
    assert [window.end - window.start for window in monday] == [5 * HOUR, 3 * HOUR]
    assert monday[0].day == monday[1].day


def test_areas_with_days_of_their_own_are_handovers_of_their_own() -> None:
    company, house = make_site()
    upstairs = Area.objects.create(
        company=company, house=house, name="First floor", handover_on=date(2026, 4, 2)
    )
    room = Room.objects.create(company=company, area=upstairs, name="Landing")
    Surface.objects.create(
        company=company, room=room, part="walls", family="GA-214", level="3",
        takeoff="rough", area_m2=20, fasteners=50,
    )  # fmt: skip
    due = {row.id.rpartition(":")[2]: row.due for row in inputs_of(company).problem.handovers}
    timeline = inputs_of(company).timeline
    # Late counts from the midnight after the day, house time; summer time by then.
    assert due == {
        "2026-03-27": timeline.tick_after(local("2026-03-28 00:00")),
        "2026-04-02": timeline.tick_after(local("2026-04-03 00:00")),
    }


def test_areas_of_a_floor_share_its_air_and_others_have_their_own() -> None:
    company, house = make_site(rooms=("Hall", "Kitchen"))
    ground = house.areas.get()
    wing = Area.objects.create(company=company, house=house, name="Wing")
    Room.objects.filter(name="Kitchen").update(area=wing)
    assert len({task.air_space for task in inputs_of(company).problem.tasks}) == 2
    for area in (ground, wing):
        area.floor = "ground"
        area.save()
    assert len({task.air_space for task in inputs_of(company).problem.tasks}) == 1


def test_a_company_may_want_one_crew_to_keep_a_house() -> None:
    company, _ = make_site()
    assert inputs_of(company).problem.another_crew == 0
    company.another_crew_visits = 2
    company.save()
    assert inputs_of(company).problem.another_crew == 2


def test_odd_job_is_a_task_without_a_handover() -> None:
    company, house = make_site()
    job = OddJob.objects.create(
        company=company, house=house, name="Patch the garage", person_minutes=120
    )
    task = next(t for t in inputs_of(company).problem.tasks if t.id == f"{job.public_id}:odd_job")
    assert (task.person_minutes, task.handover) == (120, None)


def test_house_without_any_air_is_held() -> None:
    company, _ = make_site()
    AirSource.objects.filter(company=company).delete()
    inputs = inputs_of(company)
    assert [hold.code for hold in inputs.holds] == ["which_air"]


def test_source_without_hours_is_a_hold_of_its_own() -> None:
    company, _ = make_site()
    AirDay.objects.filter(company=company).delete()
    assert [hold.code for hold in inputs_of(company).holds] == ["no_air"]


def test_reading_all_rows_takes_a_fixed_number_of_queries(
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    company, _ = make_site(rooms=("Hall", "Kitchen", "Landing"))
    for number in range(4):
        make_house(company, f"House {number}", rooms=("A", "B"))
    make_crew(company, "South crew")
    with django_assert_max_num_queries(35):
        inputs_of(company)


def test_stairwell_is_done_alone_in_its_house() -> None:
    company, _ = make_site(rooms=("Hall", "Stairs"))
    Room.objects.filter(name="Stairs").update(kind="stairwell")
    inputs = inputs_of(company)
    alone = {inputs.stages[task.id].room.name for task in inputs.problem.tasks if task.alone}
    assert alone == {"Stairs"}
