"""Proposals stored, shown, accepted or refused, once crews have been told where to be."""

from datetime import date, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.core.management import CommandError, call_command

from finishing.models import Company, CrewMember, DayOff, House
from finishing.services.companies import start_company
from scheduling.change_wording import refusal_sentence
from scheduling.models import CompanyPlans, Pin, Plan, Publication, Visit
from scheduling.queries.plans import proposals_of, proposals_of_run
from scheduling.services.outputs import make_working
from scheduling.services.proposals import ProposalError, accept_proposal
from scheduling.services.publish import PublishError, publish_plan
from scheduling.services.replan import request_run, run_replan
from tests.factories import ZONE, local, make_crew
from tests.plans import plan_from
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db(transaction=True)

DRYING = "All-purpose drying"
TUESDAY = local("2026-03-03 06:00")


def published_site() -> Company:
    """A company of two crews with one late house, planned and published on Monday."""
    company, _ = make_site(
        rooms=("A", "B", "C"), system=DRYING, handover_on=date(2026, 3, 6), weight=1
    )
    make_crew(company, "South crew", heads=1)
    plan_from(company, MONDAY, work=40)
    publish_plan(company=company, now=MONDAY)
    return company


def take_a_crew_away(company: Company, day: date) -> None:
    for crew in {member.crew for member in CrewMember.objects.filter(company=company)}:
        DayOff.objects.create(company=company, crew=crew, day=day)


def proposed(company: Company, **options: int) -> list[Plan]:
    run = request_run(company=company, plan_from=TUESDAY, work=options.get("work", 40))
    assert run_replan(run_id=run.pk) is not None
    return proposals_of(company)


def places(plan: Plan) -> set[tuple[object, ...]]:
    return set(plan.tasks.values_list("key", "crew_id", "starts_at", "ends_at"))


def test_proposals_leave_the_working_plan_until_one_is_accepted() -> None:
    company = published_site()
    before = CompanyPlans.objects.get(company=company).working
    take_a_crew_away(company, date(2026, 3, 5))
    found = proposed(company)
    assert found[0].kind == Plan.Kind.FEWEST_CHANGES
    assert {plan.base for plan in found} == {Publication.objects.get(company=company)}
    assert CompanyPlans.objects.get(company=company).working == before
    accept_proposal(company=company, plan=found[-1], now=TUESDAY)
    assert CompanyPlans.objects.get(company=company).working == found[-1]


def test_proposals_rise_in_change_and_fall_in_lateness() -> None:
    company = published_site()
    take_a_crew_away(company, date(2026, 3, 5))
    found = proposed(company)
    sizes = [
        (figures["visits_moved"], figures["total_shift_hours"])
        for figures in (plan.change["figures"] for plan in found)
    ]
    late = [plan.lateness_minutes for plan in found]
    assert sizes == sorted(sizes)
    assert late == sorted(set(late), reverse=True)
    assert sizes[0][0] > 0
    moved = [move for move in found[0].change["moves"] if move["other_day_or_crew"]]
    assert len(moved) == sizes[0][0]


def test_moves_say_where_each_visit_was_and_goes() -> None:
    company = published_site()
    thursday = local("2026-03-05 00:00"), local("2026-03-06 00:00")
    on_thursday = Visit.objects.filter(starts_at__range=thursday)
    assert on_thursday.exists()
    take_a_crew_away(company, date(2026, 3, 5))
    plan = proposed(company)[0]
    from_thursday = [
        move for move in plan.change["moves"] if move["from"]["starts_at"].startswith("2026-03-05")
    ]
    assert {move["from"]["crew"] for move in from_thursday} == {v.crew.name for v in on_thursday}
    starts = {task.starts_at.isoformat() for task in plan.tasks.all()}
    for move in from_thursday:
        assert move["other_day_or_crew"]
        assert {span["starts_at"] for span in move["to"]} <= starts


def test_unchanged_company_is_proposed_its_published_plan_first() -> None:
    company = published_site()
    published = CompanyPlans.objects.get(company=company).published
    assert published is not None
    first = proposed(company)[0]
    left = {row for row in places(published) if row[3] > TUESDAY}  # type: ignore[operator]
    assert places(first) == left
    assert first.change["figures"]["visits_moved"] == 0
    assert first.change["figures"]["total_shift_hours"] == 0
    assert first.change["moves"] == []
    assert first.change["least"]
    assert (first.change["new"], first.change["dropped"]) == (0, 0)
    accept_proposal(company=company, plan=first, now=TUESDAY + timedelta(days=20))


def refusal(company: Company, plan: Plan, **later: int) -> str:
    with pytest.raises(ProposalError) as refused:
        accept_proposal(company=company, plan=plan, now=TUESDAY + timedelta(**later))
    return refused.value.code


def test_stale_proposals_are_refused() -> None:
    company = published_site()
    take_a_crew_away(company, date(2026, 3, 5))
    old = proposed(company)[0]
    assert refusal(company, old, days=20) == "begun"
    new = proposed(company)[0]
    assert refusal(company, old) == "replanned"
    accept_proposal(company=company, plan=new, now=TUESDAY)
    publish_plan(company=company, now=TUESDAY)
    assert refusal(company, new) == "republished"


def test_proposal_that_no_longer_holds_is_refused_with_what_it_breaks() -> None:
    company = published_site()
    plan = proposed(company, work=2)[0]
    row = plan.tasks.filter(starts_at__gt=local("2026-03-05 00:00")).earliest("starts_at")
    DayOff.objects.create(company=company, crew=row.crew, day=row.starts_at.date())
    with pytest.raises(ProposalError) as refused:
        accept_proposal(company=company, plan=plan, now=TUESDAY)
    values = refused.value.values
    assert (refused.value.code, values["rule"]) == ("broken", "outside_window")
    said = refusal_sentence("broken", values, ZoneInfo(ZONE))
    assert "Mill Cottage" in said
    assert "does not fit the crew's working hours" in said
    DayOff.objects.all().delete()
    accept_proposal(company=company, plan=plan, now=TUESDAY)


def test_proposal_made_before_a_pin_is_refused() -> None:
    company = published_site()
    plan = proposed(company, work=2)[0]
    row = plan.tasks.latest("starts_at")
    later = row.starts_at + timedelta(days=7)
    Pin.objects.create(
        company=company, key=row.key, crew=row.crew, starts_at=later, made_at=TUESDAY
    )
    with pytest.raises(ProposalError) as refused:
        accept_proposal(company=company, plan=plan, now=TUESDAY)
    assert refused.value.values["rule"] == "pinned_elsewhere"


def test_house_that_has_no_work_any_more_is_neither_accepted_nor_published() -> None:
    company = published_site()
    plan = proposed(company, work=2)[0]
    House.objects.update(is_active=False)
    assert refusal(company, plan) == "broken"
    make_working(plan)
    with pytest.raises(PublishError, match="Mill Cottage gets no more work"):
        publish_plan(company=company, now=TUESDAY)
    assert Publication.objects.count() == 1
    assert not Visit.objects.exclude(cancelled_at=None).exists()


def test_accepted_too_long_ago_it_is_not_published() -> None:
    """What it moves should have begun: the crews were elsewhere, and nobody did it."""
    company = published_site()
    take_a_crew_away(company, date(2026, 3, 5))
    plan = proposed(company, work=2)[0]
    accept_proposal(company=company, plan=plan, now=TUESDAY)
    before = list(Visit.objects.values())
    with pytest.raises(PublishError, match="was to begin"):
        publish_plan(company=company, now=TUESDAY + timedelta(days=7))
    assert list(Visit.objects.values()) == before
    assert Publication.objects.count() == 1


def test_two_runs_at_once_leave_the_proposals_of_the_later_one() -> None:
    company = published_site()
    early, late = (request_run(company=company, plan_from=TUESDAY, work=2) for _ in range(2))
    theirs = run_replan(run_id=late.pk)
    mine = run_replan(run_id=early.pk)
    assert mine is not None
    assert theirs is not None
    assert proposals_of(company)[0] == theirs
    assert proposals_of_run(early)[0] == mine
    assert refusal(company, mine) == "replanned"


def test_only_a_companys_own_proposals_are_accepted() -> None:
    company = published_site()
    stranger = start_company(name="Other Finishing", zone=ZONE)
    assert refusal(stranger, proposed(company)[0]) == "not_a_proposal"
    working = CompanyPlans.objects.get(company=company).working
    assert working is not None
    assert refusal(company, working) == "not_a_proposal"
    assert not CompanyPlans.objects.filter(company=stranger).exists()


def test_commands_print_the_proposals_and_take_one(capsys: pytest.CaptureFixture[str]) -> None:
    company = published_site()
    take_a_crew_away(company, date(2026, 3, 5))
    at = ["--today", "2026-03-03"]
    call_command("replan", *at, "--work", "40", "--moves")
    printed = capsys.readouterr().out
    assert "against revision 1" in printed
    assert "1, fewest changes" in printed
    assert "visits to another day or crew" in printed
    proved = "proved: no plan of as much work changes less"
    unproved = "no plan found changes less; not every plan was looked at"
    assert (proved if proposals_of(company)[0].change["least"] else unproved) in printed
    assert "Mill Cottage" in printed
    assert "->" in printed
    assert "manage.py accept 1" in printed
    with pytest.raises(CommandError, match="no proposal 7"):
        call_command("accept", "7", *at)
    call_command("accept", "1", *at)
    assert CompanyPlans.objects.get(company=company).working == proposals_of(company)[0]
    call_command("publish", *at)
    assert Publication.objects.filter(company=company).count() == 2
    with pytest.raises(CommandError, match="revision 2 has been published"):
        call_command("accept", "1", *at)
