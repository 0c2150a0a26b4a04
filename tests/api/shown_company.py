"""The demo company on a wet Monday, with something to see on every page."""

from datetime import datetime, timedelta
from io import BytesIO
from uuid import UUID, uuid4

from PIL import Image

from finishing.models import Company, Crew, House, Quote
from finishing.services.demo import load_demo
from finishing.services.staffing import mark_away
from scheduling.models import Outgoing, PlanRun, Visit, Webhook
from scheduling.queries.planned_visits import planned_visit
from scheduling.queries.plans import working_plan
from scheduling.services.for_the_office import Hindrance, say_cannot_work, say_extra_work
from scheduling.services.links import make_page, page_address
from scheduling.services.publish import publish_plan
from scheduling.services.replan import request_run, run_replan
from scheduling.services.scenario_changes import CrewLess, CrewMore
from scheduling.services.scenarios import make_scenario
from scheduling.services.sent_reports import Sent
from scheduling.services.visit_reports import say_started
from tests.api.every_page import Shown
from tests.quotes import FOUND
from tests.sites import MONDAY

LONG_NAME = "Thornwatermeadowbridgehollowfieldsidebarn Lodge, rear extension and attic"
NOON = MONDAY + timedelta(hours=12)


def make_shown_company() -> Shown:
    """Planned and published on Monday morning; at noon crews have said what is the matter, one is
    ill from Wednesday, and proposals wait for the office."""
    company = load_demo(today=MONDAY.date())
    first, _, *more = House.objects.filter(company=company).order_by("pk")
    House.objects.filter(pk__in=[house.pk for house in more]).delete()  # two are enough to see
    House.objects.filter(pk=first.pk).update(name=LONG_NAME)
    _planned(company, MONDAY)
    publish_plan(company=company, now=MONDAY)
    visit = Visit.objects.filter(company=company).order_by("starts_at", "pk")[0]
    _said(visit.crew, visit)
    ill = Crew.objects.filter(company=company).exclude(pk=visit.crew_id).order_by("pk")[0]
    days = [NOON.date() + timedelta(days=number) for number in (2, 3, 4)]
    mark_away(crew=ill, member=None, days=days, reason="ill")
    run = _planned(company, NOON)
    _sent_out(company)
    _what_if(company)
    secret = page_address(make_page(crew=visit.crew)).rstrip("/").rpartition("/")[2]
    _quoted(visit.house)
    return Shown(company, visit.house, visit.crew, run, _visit_to_come(company), secret)


def _quoted(house: House) -> None:
    """A quote that has been worked out."""
    Quote.objects.create(
        company=house.company,
        name="Ash Row 1",
        like=house,
        opens_on=MONDAY.date(),
        found_at=NOON,
        found=FOUND,
    )


def _what_if(company: Company) -> None:
    """A scenario that is planned, and one that is not."""
    crew = Crew.objects.filter(company=company).order_by("pk")[0]
    planned, _ = (
        make_scenario(company=company, now=NOON, name=name, changes=[change])
        for name, change in (
            (f"A crew more at {LONG_NAME}", CrewMore(crew.public_id)),
            ("Not planned yet", CrewLess(crew.public_id)),
        )
    )
    run = request_run(company=company, plan_from=NOON, work=2, scenario=planned)
    assert run_replan(run_id=run.pk)


def _sent_out(company: Company) -> None:
    """A webhook that was switched off, with a delivery that was given up and one that waits, and
    word to a crew that a mail server did not take."""
    hook = Webhook.objects.create(
        company=company,
        address="https://hooks.example/" + "long-" * 30,
        events=[*Webhook.Event],
        secret="sealed",
        made_at=MONDAY,
        off_at=NOON,
        off_why="failing",
    )
    common = {"company": company, "created_at": MONDAY, "due_at": NOON}
    for key, state in (("one", "given_up"), ("two", "waiting")):
        Outgoing.objects.create(
            **common,
            key=key,
            kind="webhook",
            webhook=hook,
            state=state,
            recipient="hooks.example",
            payload={"type": "plan.published"},
            attempts=3,
            ended_at=NOON,
            error="the answer was 503",
        )
    Outgoing.objects.create(
        **common,
        key="mail",
        kind="mail",
        crew=Crew.objects.filter(company=company)[0],
        recipient="a-rather-long-name-of-somebody@crews-of-the-river.example",
        attempts=2,
        error="the mail server cannot be reached (ConnectionRefusedError)",
    )


def _visit_to_come(company: Company) -> UUID:
    plan = working_plan(company)
    assert plan
    tomorrow = NOON + timedelta(hours=12)  # a visit of today is under way, and no more moved
    task = plan.tasks.filter(starts_at__gt=tomorrow).order_by("starts_at", "pk")[0]
    return planned_visit(company, task.public_id).public_id


def _planned(company: Company, moment: datetime) -> PlanRun:
    run = request_run(company=company, plan_from=moment, work=2)
    run_replan(run_id=run.pk)
    run.refresh_from_db()
    return run


def _said(crew: Crew, visit: Visit) -> None:
    def sent(hours: int) -> Sent:
        return Sent(uuid4(), crew, visit, MONDAY + timedelta(hours=hours), NOON)

    say_started(sent(8))
    say_extra_work(sent(9), what="Patched a hole behind the door", person_minutes=40)
    photo = BytesIO()
    Image.new("RGB", (640, 480), "grey").save(photo, "JPEG")
    say_cannot_work(sent(10), Hindrance("not_ready", item="heat", photo=photo.getvalue()))
