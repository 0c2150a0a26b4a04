"""A company with one row of everything that an address or a form may name."""

from collections.abc import Mapping
from datetime import time, timedelta
from typing import Any
from uuid import uuid4

from django.utils import timezone

from finishing.models import (
    AirSource,
    BuilderLine,
    Change,
    Closure,
    CoatDone,
    Company,
    Compound,
    CrewMember,
    DayOff,
    Deed,
    Dryer,
    ExtraHours,
    Holiday,
    Invitation,
    JointingSystem,
    LabourRate,
    Loan,
    Note,
    OddJob,
    PayTerm,
    PlacingRate,
    Price,
    Quote,
    ReadinessLine,
    Role,
    StockLine,
    Supply,
    User,
    UserSession,
)
from finishing.queries.rights import Right
from finishing.services.companies import start_company
from finishing.services.tokens import make_token
from scheduling.models import (
    CalendarPush,
    ExtraWork,
    Obstacle,
    Pin,
    PlanRun,
    Publication,
    Scenario,
    SentReport,
    Visit,
    Webhook,
)
from scheduling.services.links import feed_address, make_link, make_page, page_address
from tests.factories import make_crew, make_house, make_plan, task
from tests.scheduling.outgoing.waiting import make_waiting

A_WEEK = timedelta(days=7)


def make_small_company(name: str) -> tuple[Company, Mapping[str, object]]:
    """Return it with what is filled in where an address has a place, by the kind of the place."""
    company = start_company(name=name, zone="Europe/Dublin")
    crew = make_crew(company, f"Crew of {name}")
    helped = make_crew(company, f"Another crew of {name}")
    house = make_house(company, f"House of {name}")
    ready = ReadinessLine.objects.create(company=company, house=house, item="heat")
    now = timezone.now()
    run = PlanRun.objects.create(company=company, requested_at=now, plan_from=now, status="done")
    plan = make_plan(company, [task(crew, house, now + timedelta(days=2))], run=run)
    planned = plan.tasks.get()
    scenario = Scenario.objects.create(company=company, name="What if", created_at=now)
    pin = Pin.objects.create(
        company=company, key=planned.key, crew=crew, starts_at=planned.starts_at, made_at=now
    )
    said = {"company": company, "crew": crew, "house": house, "at": now}
    extra = ExtraWork.objects.create(**said, what="Patched a hole", person_minutes=30)
    link, page = make_link(crew=crew), make_page(crew=crew)
    reader = User.objects.create(
        email=f"reader@{name.lower()}.example", company=company, role=Role.VIEWER
    )
    rows: dict[str, Any] = {
        "air_source": AirSource.objects.create(company=company, name="Yard", kind="station"),
        "area": house.areas.get(),
        "compound": Compound.objects.filter(company=company)[0],
        "calendar_push": CalendarPush.objects.create(
            company=company, link=link, address="https://dav.example/", made_at=now
        ),
        "crew": crew,
        "crew_page": page,
        "extra_work": extra,
        "feed": link,
        "endpoint": Webhook.objects.create(
            company=company,
            address="https://hooks.example/",
            events=[*Webhook.Event],
            secret="sealed",
            made_at=now,
        ),
        "house": house,
        "invitation": Invitation.objects.create(
            company=company, email="new@example.com", role=Role.VIEWER, expires_at=now + A_WEEK
        ),
        "note": Note.objects.create(company=company, house=house, text="Dog", at=now),
        "obstacle": Obstacle.objects.create(**said, reason="damage"),
        "outgoing": make_waiting(company, crew=crew, state="given_up"),
        "pin": pin,
        "plan": plan,
        "planned_task": planned,
        "publication": Publication.objects.create(
            company=company, revision=1, published_at=now - timedelta(days=99)
        ),
        "room": house.areas.get().rooms.get(),
        "run": run,
        "said": extra,
        "token": make_token(company=company, name="Gateway", scopes=[Right.READ], now=now)[0],
        "system": JointingSystem.objects.filter(company=company)[0],
        "user": reader,
        "user_session": UserSession.objects.create(
            company=company, user=reader, session_key=name, began_at=now
        ),
        "visit": Visit.objects.create(
            company=company,
            crew=crew,
            house=house,
            uid=uuid4(),
            starts_at=now - timedelta(days=90),
            ends_at=now - timedelta(days=90),
            created_at=now - timedelta(days=99),
            modified_at=now - timedelta(days=99),
            content={
                "house": {"name": house.name, "address": "", "latitude": None, "longitude": None},
                "tasks": [],
                "setup_minutes": 0,
                "washup_minutes": 0,
            },
        ),
        "closure": Closure.objects.create(
            company=company, area=house.areas.get(), first_day=now.date(), last_day=now.date()
        ),
        "coat_done": CoatDone.objects.create(
            company=company, area=house.areas.get(), stage="tape", ended_at=now
        ),
        "deed": Deed.objects.create(company=company, at=now, code="published", about="1"),
        "dryer": Dryer.objects.create(company=company, name="Site dryer", litres_per_day=40),
        "edit": Change.objects.create(
            company=company, house=house, at=now, kind="made", what="note"
        ),
        "odd_job": OddJob.objects.create(
            company=company, house=house, name="Patch", person_minutes=60
        ),
        "readiness_line": ready,
        "holiday": Holiday.objects.create(company=company, day=now.date(), name="Yard day"),
        "quote": Quote.objects.create(
            company=company, name="Ash Row 1", like=house, opens_on=now.date()
        ),
        "builder_line": BuilderLine.objects.create(
            company=company, house=house, day=now.date(), text="x", person_minutes=60, rate=5000
        ),
        "pay_term": PayTerm.objects.create(
            company=company, crew=crew, amount=2000, since=now.date()
        ),
        "price": Price.objects.create(company=company, kind="hour", amount=4500, since=now.date()),
        "labour_rate": LabourRate.objects.create(
            company=company,
            stage="tape",
            kind="butt",
            minutes=2,
            source="Our book",
            dated=now.date(),
        ),
        "placing_rate": PlacingRate.objects.create(
            company=company,
            stage="tape",
            litres_per_hour=4,
            source="Our book",
            dated=now.date(),
        ),
        "supply": (
            tape := Supply.objects.create(
                company=company, kind="paper_tape", name="Tape", packs=[75]
            )
        ),
        "stock_line": StockLine.objects.create(
            company=company, supply=tape, pack_size=75, packs=2, arrives_on=now.date()
        ),
        "day_off": DayOff.objects.create(company=company, crew=crew, day=now.date()),
        "extra_hours": ExtraHours.objects.create(
            company=company, crew=crew, day=now.date(), start=time(16), end=time(17)
        ),
        "loan": Loan.objects.create(
            company=company, member=crew.members.all()[0], crew=helped, day=now.date()
        ),
        "member": CrewMember.objects.filter(crew=crew)[0],
    }
    rows["report"] = SentReport.objects.create(
        company=company,
        sent_as=uuid4(),
        crew=crew,
        visit=rows["visit"],
        action="started",
        at=now,
        said_at=now,
    )
    ids: dict[str, object] = {kind: row.public_id for kind, row in rows.items()}
    return company, ids | {
        "scenario": scenario.public_id,
        "day": planned.starts_at.date(),
        "page_secret": page_address(page).rstrip("/").rpartition("/")[2],
        "feed_secret": feed_address(link).rstrip("/").split("/")[-2],
    }
