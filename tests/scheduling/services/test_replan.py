"""A planning run from rows to a stored, verified plan, and again after something changed."""

from datetime import date, datetime, time, timedelta
from typing import Any

import pytest
from django.conf import LazySettings

from finishing.models import (
    AirDay,
    AirSource,
    Closure,
    Crew,
    CrewHours,
    CrewMember,
    DayOff,
    House,
    ReadinessLine,
    Surface,
)
from finishing.rules.vocabulary import Stage
from finishing.services.air import Reading, put_air_source, store_air
from scheduling.change_wording import freed_sentence
from scheduling.models import CompanyPlans, Pin, Plan, PlannedTask, PlanRun, Visit
from scheduling.queries.visits import plan_blocks
from scheduling.services.engine import EngineError, Solved, solve
from scheduling.services.publish import PublishError, publish_plan
from scheduling.services.replan import OvertakenError, request_run, run_replan
from scheduling.solver.outcome import Score
from tests.factories import local, make_crew
from tests.plans import plan_from, published_from, task_of
from tests.sites import MONDAY, make_site, utc

pytestmark = pytest.mark.django_db(transaction=True)

DRYING = "All-purpose drying"


def places(plan: Plan) -> dict[str, tuple[str, datetime, datetime]]:
    return {
        task.key: (task.crew.name, task.starts_at, task.ends_at)
        for task in plan.tasks.select_related("crew")
    }


def test_run_stores_a_working_plan_with_every_task() -> None:
    company, _ = make_site(rooms=("Hall", "Kitchen"))
    plan = plan_from(company)
    assert CompanyPlans.objects.get(company=company).working == plan
    assert plan.run is not None
    plan.run.refresh_from_db()
    assert (plan.run.status, plan.run.error) == ("done", "")
    assert plan.run.progress[0]["by"] == "construct"
    stages = [key.split(":")[1] for key in places(plan)]
    assert sorted(stages) == sorted(2 * ["tape", "second", "finish", "sand", "inspect"])


def test_visits_are_those_that_pages_show_and_not_what_a_score_adds_up() -> None:
    """A score counts a house with little work on a day twice, and one left over noon once."""
    plan = plan_from(make_site(rooms=("Hall", "Kitchen"))[0])
    assert plan.run is not None
    assert plan.visits == len(plan_blocks(plan))
    assert plan.visits != Score(*plan.run.progress[-1]["score"]).visits


def test_same_seed_and_work_budget_give_the_same_plan() -> None:
    company, _ = make_site(rooms=("Hall", "Kitchen", "Landing"))
    assert places(plan_from(company)) == places(plan_from(company))


def test_coats_of_a_stage_follow_room_by_room_in_the_same_order() -> None:
    company, _ = make_site(rooms=("A", "B", "C"), system=DRYING)
    tasks = plan_from(company).tasks.order_by("starts_at")
    for stage in (Stage.TAPE, Stage.SECOND, Stage.FINISH, Stage.SAND):
        rooms = [task.details["room"] for task in tasks if task.stage == stage]
        assert rooms == ["A", "B", "C"]
    first_room = {task.stage: task for task in tasks if task.details["room"] == "A"}
    tape_ends_everywhere = max(task.ends_at for task in tasks if task.stage == Stage.TAPE)
    # The next coat in the first room does not wait until 24 hours after the last room's tape.
    assert first_room["second"].starts_at < tape_ends_everywhere + timedelta(hours=24)
    assert first_room["second"].starts_at >= first_room["tape"].ends_at + timedelta(hours=24)


def test_run_is_claimed_once() -> None:
    company, _ = make_site()
    run = request_run(company=company, plan_from=MONDAY, work=1)
    assert run_replan(run_id=run.pk) is not None
    assert run_replan(run_id=run.pk) is None


def test_failed_run_says_so_and_leaves_the_working_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    company, _ = make_site()
    before = plan_from(company)

    def full_disk(*_: object, **__: object) -> None:
        raise OSError("no space left on device")

    monkeypatch.setattr(PlannedTask.objects, "bulk_create", full_disk)
    run = request_run(company=company, plan_from=MONDAY, work=1)
    with pytest.raises(OSError, match="no space"):
        run_replan(run_id=run.pk)
    run.refresh_from_db()
    assert (run.status, run.error) == ("failed", "OSError: no space left on device")
    assert CompanyPlans.objects.get(company=company).working == before
    assert Plan.objects.count() == 1


def test_solver_without_memory_leaves_the_first_plan_and_says_so(
    settings: LazySettings, started_child: None
) -> None:
    settings.SOLVER_MEMORY_MB = 20
    company, _ = make_site()
    plan = plan_from(company)
    assert plan.run is not None
    plan.run.refresh_from_db()
    assert plan.run.status == PlanRun.Status.DONE
    assert "ended early" in plan.run.error
    assert plan.tasks.count() == 5


def test_first_plan_does_not_replace_one_that_was_published_meanwhile(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    company, _ = make_site()
    told = plan_from(company)

    def published_meanwhile(*args: Any, **options: Any) -> Solved:
        publish_plan(company=company, now=MONDAY)
        return solve(*args, **options)

    monkeypatch.setattr("scheduling.services.replan.solve", published_meanwhile)
    run = request_run(company=company, plan_from=MONDAY, work=1)
    with pytest.raises(OvertakenError, match="published while"):
        run_replan(run_id=run.pk)
    assert CompanyPlans.objects.get(company=company).working == told
    assert Plan.objects.count() == 1


def test_plan_is_not_published_when_its_first_work_is_over_and_nobody_knew() -> None:
    company, _ = make_site(system=DRYING)
    plan_from(company)
    with pytest.raises(PublishError, match=r"Tape coat, Hall: planned for Mon .*no crew was told"):
        publish_plan(company=company, now=local("2026-03-03 06:00"))
    assert not Visit.objects.exists()


def test_coats_over_work_that_was_held_back_until_it_was_over_are_not_published() -> None:
    company, house = make_site(system=DRYING)
    line = ReadinessLine.objects.create(
        company=company, house=house, item="clear_floors", done=True
    )
    plan_from(company)
    line.done = False
    line.save()
    assert publish_plan(company=company, now=MONDAY).held_back
    line.done = True
    line.save()
    with pytest.raises(PublishError, match="no crew was told"):
        publish_plan(company=company, now=local("2026-03-03 06:00"))


def test_fixed_work_says_whether_it_has_begun_is_pinned_or_frozen() -> None:
    company, _ = make_site(system=DRYING)
    first = plan_from(company)
    publish_plan(company=company, now=MONDAY)
    rows = {row.stage: row for row in first.tasks.all()}
    sand, during = rows["sand"], rows["tape"].starts_at + timedelta(minutes=10)
    Pin.objects.create(
        company=company, key=sand.key, crew=sand.crew, starts_at=sand.starts_at, made_at=MONDAY
    )
    again = {
        row.stage: row.details["why"]["code"] for row in plan_from(company, during).tasks.all()
    }
    assert (again["tape"], again["second"], again["sand"]) == ("started", "frozen", "pinned")


def test_parts_that_crews_were_told_of_stay_though_a_new_plan_would_cut_them_otherwise() -> None:
    """A member leaves: seen from later on most days are one person's, and rooms are cut smaller."""
    company, house = make_site(system=DRYING)
    line = Surface.objects.get(room__area__house=house).joints.get(kind="tapered")
    line.metres = 700.0
    line.save()
    member = CrewMember.objects.earliest("pk")
    member.to_day = date(2026, 3, 27)
    member.save()
    first = plan_from(company)
    publish_plan(company=company, now=MONDAY)
    member.to_day = date(2026, 3, 20)
    member.save()
    again = plan_from(company)
    assert places(again) == places(first)
    assert again.change["moves"] == []


def test_engine_error_is_not_a_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    company, _ = make_site()
    broken = lambda problem, outcome: ["a rule"]  # noqa: ARG005, E731
    monkeypatch.setattr("scheduling.services.engine.broken_rules", broken)
    run = request_run(company=company, plan_from=MONDAY, work=1)
    with pytest.raises(EngineError):
        run_replan(run_id=run.pk)
    assert not Plan.objects.exists()


def test_past_visits_count_as_done_and_the_near_future_stays() -> None:
    company, _ = make_site(rooms=("A", "B"), system=DRYING)
    first = plan_from(company)
    publish_plan(company=company, now=MONDAY)
    tuesday_noon = local("2026-03-03 12:00")
    second = plan_from(company, tuesday_noon)
    was, now = places(first), places(second)
    done = {key for key, (_, _, end) in was.items() if end <= tuesday_noon}
    frozen = {
        key
        for key, (_, start, _) in was.items()
        if key not in done and start < local("2026-03-05 00:00")
    }
    assert done
    assert frozen
    assert not done & now.keys()
    assert all(now[key] == was[key] for key in frozen)
    assert now.keys() == was.keys() - done


def test_third_plan_still_knows_what_the_first_revision_did() -> None:
    company, _ = make_site(rooms=("A", "B"), system=DRYING)
    every = set(places(plan_from(company)))
    publish_plan(company=company, now=MONDAY)
    for day in ("2026-03-04 06:00", "2026-03-06 06:00"):
        plan = plan_from(company, local(day))
        publish_plan(company=company, now=local(day))
    left = set(places(plan))
    assert not {key for key in left if key.endswith((":tape", ":second"))}
    assert left < every


def test_frozen_visit_is_freed_when_its_crew_is_away() -> None:
    company, _ = make_site(system=DRYING)
    first = places(plan_from(company))
    publish_plan(company=company, now=MONDAY)
    crew = CrewMember.objects.earliest("pk").crew
    DayOff.objects.create(company=company, crew=crew, day=date(2026, 3, 3))
    second = plan_from(company, local("2026-03-02 12:00"))
    moved = {key for key, place in places(second).items() if place != first[key]}
    on_tuesday = {key for key, (_, start, _) in first.items() if start.day == 3}
    assert on_tuesday
    assert on_tuesday <= moved
    assert second.run is not None
    (freed,) = second.run.freed
    assert (freed["house"], freed["code"]) == ("Mill Cottage", "outside_window")
    assert set(freed["tasks"]) == on_tuesday
    assert freed_sentence(freed).startswith("Mill Cottage, North crew Tue 3 Mar")


def test_cold_house_is_held_with_a_day_for_the_heat_and_others_are_planned() -> None:
    company, cold = make_site(temperature_c=6.0, system=DRYING)
    warm = House.objects.get(pk=cold.pk)
    cold_plan = plan_from(company)
    assert not cold_plan.tasks.exists()
    (hold,) = cold_plan.holds
    assert hold["code"] == "too_cold"
    # Handover Friday 27 March; five stages, a working day each, back to Friday 20th; then the
    # 48 hours of warmth before the first coat (ASTM C840 section 4).
    assert hold["heat_on_by"] == "2026-03-18"
    warm.is_open, warm.heating, warm.setpoint_c = False, "heated", 18.0
    warm.save()
    assert plan_from(company).tasks.count() == 5


def test_tasks_say_what_their_wait_rests_on() -> None:
    company, _ = make_site(system=DRYING, humidity=0.9)
    tasks = {task.stage: task for task in plan_from(company).tasks.all()}
    assert tasks["tape"].details["leaves"] == {"governs": "air", "air": "record"}
    assert tasks["tape"].ready_at is not None
    assert tasks["second"].starts_at >= tasks["tape"].ready_at
    assert tasks["second"].details["why"]["code"] in {"wait", "window"}
    assert tasks["second"].details["waits_on"]["air"] == "record"


def test_a_wait_on_a_coat_that_is_on_says_what_all_of_its_air_rests_on() -> None:
    """Not of its last hour alone: a hole in the forecast for the day after the coat counts."""
    company, _ = make_site(system=DRYING, humidity=0.9)
    first = published_from(company, MONDAY)
    AirDay.objects.filter(day__gte=date(2026, 3, 2)).delete()
    forecast = put_air_source(company=company, name="Forecast", kind=AirSource.Kind.FORECAST)
    hours = [utc("2026-03-02 00:00") + timedelta(hours=step) for step in range(14 * 24)]
    store_air(source=forecast, readings=dict.fromkeys(hours, Reading(20.0, 0.9)))
    evening = task_of(first, Stage.TAPE).ends_at + timedelta(hours=2)

    def second_waits_in() -> str:
        return str(task_of(plan_from(company, evening), Stage.SECOND).details["waits_on"]["air"])

    assert second_waits_in() == "forecast"
    AirDay.objects.filter(source=forecast, day=date(2026, 3, 3)).delete()
    assert second_waits_in() == "assumed"


def test_plan_says_from_which_hour_the_air_is_assumed() -> None:
    company, house = make_site()
    plan = plan_from(company)
    # The station's record has 40 days from 10 February.
    assert plan.air_assumed_from == {str(house.public_id): "2026-03-22T00:00:00+00:00"}


def test_held_house_is_a_promise_on_hold_and_the_plan_is_partial() -> None:
    company, house = make_site()
    ReadinessLine.objects.create(company=company, house=house, item="heat", owed_by="Plumber")
    plan = plan_from(company)
    assert plan.status == "partial"
    assert [(row["state"], row["met_at"]) for row in plan.handovers] == [("held", None)]
    (hold,) = plan.holds
    assert hold["stages"] == ["tape", "second", "finish", "sand", "inspect"]


def test_late_promise_keeps_the_chain_of_its_reasons() -> None:
    company, house = make_site(system=DRYING, handover_on=date(2026, 3, 4))
    late, *_ = plan_from(company).handovers
    names = [link["task"].rpartition(":")[2] for link in late["chain"]]
    assert late["late_minutes"] > 0
    assert names == ["inspect", "sand", "finish", "second", "tape"]
    # A drying coat waits until the day after (common practice, no published source).
    second = late["chain"][3]
    assert {second["why"]["code"], second["behind"].get("code", "")} & {"wait"}
    assert second["house"] == house.name
    House.objects.filter(pk=house.pk).update(handover_on=date(2026, 4, 20))
    assert plan_from(company).handovers[0]["chain"] == []


def test_overdue_line_that_is_still_open_opens_the_house_when_work_may_be_published() -> None:
    company, house = make_site()
    ReadinessLine.objects.create(
        company=company, house=house, item="heat", expected_on=date(2026, 2, 20)
    )
    first = plan_from(company).tasks.earliest("starts_at")
    # Nothing is published for Monday, the day planned from, or for Tuesday.
    assert first.starts_at.date() == date(2026, 3, 4)


def test_too_hot_is_said_without_a_day_for_the_heat() -> None:
    company, _ = make_site(temperature_c=38.0, system=DRYING)
    (hold,) = plan_from(company).holds
    assert (hold["code"], hold["heat_on_by"]) == ("too_hot", None)


def test_closed_area_is_not_called_cold() -> None:
    company, house = make_site(system=DRYING)
    AirDay.objects.filter(day=date(2026, 2, 20)).update(temperature_c=[2.0] * 24)
    Closure.objects.create(
        company=company,
        area=house.areas.get(),
        first_day=date(2026, 3, 1),
        last_day=date(9999, 12, 31),
    )
    (hold,) = plan_from(company).holds
    assert hold["code"] == "no_open_time"
    assert hold["tasks"] == 5


def test_cornice_is_mixed_in_time_and_sets_before_the_lamp() -> None:
    company, house = make_site()
    surface = Surface.objects.get(room__area__house=house)
    surface.cornice_m = 60.0
    surface.save()
    tasks = {task.stage: task for task in plan_from(company).tasks.all()}
    cornice, lamp = tasks[Stage.CORNICE], tasks[Stage.INSPECT]
    [work] = cornice.details["work"]
    told = {name: work[name] for name in ("part", "kind", "quantity", "unit")}
    assert told == {"part": "walls", "kind": "cornice", "quantity": 60.0, "unit": "m"}
    assert lamp.starts_at >= cornice.ends_at + timedelta(hours=1)
    # Mixes of 45 minutes; none may begin later than that and the wash-up before 15:30.
    last_mix = cornice.starts_at
    while last_mix + timedelta(minutes=45) < cornice.ends_at:
        last_mix += timedelta(minutes=45)
    assert last_mix <= local(f"{cornice.starts_at:%Y-%m-%d} 14:30")


def test_helper_of_short_hours_does_not_cut_rooms_small() -> None:
    company, house = make_site()
    line = Surface.objects.get(room__area__house=house).joints.get(kind="tapered")
    line.metres = 700.0
    line.save()
    alone = plan_from(company).tasks.filter(stage=Stage.TAPE).count()
    helper = make_crew(company, "Evening helper", heads=1)
    CrewHours.objects.filter(crew=helper).update(start=time(16), end=time(17, 45))
    assert plan_from(company).tasks.filter(stage=Stage.TAPE).count() == alone


def test_retired_crew_gets_no_work() -> None:
    company, _ = make_site()
    make_crew(company, "South crew")
    Crew.objects.filter(name="North crew").update(is_active=False)
    crews = {task.crew.name for task in plan_from(company).tasks.select_related("crew")}
    assert crews == {"South crew"}
