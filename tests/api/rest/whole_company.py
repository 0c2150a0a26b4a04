"""A company with a row of every kind that the API has, for tests that walk through all of it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, time, timedelta
from typing import Any
from uuid import UUID, uuid4

from rest_framework.serializers import ListField, ListSerializer, Serializer

from api.rest.fields import OwnRelated
from api.rest.urls import rows
from finishing.models import (
    Area,
    BuilderLine,
    Change,
    Closure,
    CoatDone,
    Company,
    Crew,
    CrewMember,
    DayOff,
    Deed,
    Dryer,
    ExtraHours,
    Holiday,
    House,
    Invitation,
    LabourRate,
    Loan,
    Note,
    OddJob,
    PayTerm,
    PlacingRate,
    Price,
    Quote,
    ReadinessLine,
    StockLine,
    Supply,
    User,
)
from finishing.queries.rights import Right
from finishing.services.sealed import seal
from finishing.services.tokens import make_token
from scheduling.models import (
    CalendarPush,
    ExtraWork,
    FeedLink,
    Obstacle,
    Pin,
    PlannedTask,
    Scenario,
    SentReport,
    Visit,
    Webhook,
)
from scheduling.services.publish import publish_plan
from tests.factories import make_crew
from tests.plans import first_plan, quick_proposal
from tests.scheduling.outgoing.waiting import make_waiting
from tests.sites import MONDAY, make_site


@dataclass(frozen=True)
class Ids:
    """Public ids of a company's rows: by collection (the address's part before an id), and by
    the field of a body that may name them (of an inner object as "outer/inner")."""

    by_collection: Mapping[str, UUID]
    by_field: Mapping[str, UUID]

    def of_path(self, path: str) -> dict[str, str]:
        """Return what an address's id is to be; nothing for an address without one."""
        before, _, has_id = path.removeprefix("/api/v1/").partition("/{public_id}")
        return {"public_id": str(self.by_collection[before])} if has_id else {}

    def name_in(self, body: Any, before: str = "") -> bool:
        """Put ids of the company's rows in a body's places of ids; return whether it has any."""
        named = False
        for name, value in body.items() if isinstance(body, dict) else ():
            place = f"{before}{name}"
            if place in self.by_field and isinstance(value, str):
                body[name] = str(self.by_field[place])
                named = True
            else:
                named |= self.name_in(value, f"{place}/")
        return named


def whole_company(name: str = "Test Finishing") -> tuple[Company, Ids]:
    """Return a company with at least one row of every collection, and their ids."""
    company, house = make_site(name=name)
    add_to_site(house)
    add_parts(company)
    crew = Crew.objects.get(company=company)
    member = CrewMember.objects.filter(crew=crew)[0]
    day: dict[str, Any] = {"company": company, "day": date(2026, 3, 5)}
    DayOff.objects.create(crew=crew, member=member, **day)
    ExtraHours.objects.create(crew=crew, start=time(16), end=time(17), **day)
    helped = make_crew(company, "South crew")
    Loan.objects.create(member=member, crew=helped, **day)
    first_plan(company)
    publish_plan(company=company, now=MONDAY)
    add_words_about(company, crew)
    add_webhook_told(company)
    add_who_may_ask(company)
    Scenario.objects.create(company=company, name="What if", created_at=MONDAY)
    quick_proposal(company)
    return company, ids_of(company)


def add_words_about(company: Company, crew: Crew) -> None:
    """Add what was said of published work: by the crew, and by the office."""
    visit = Visit.objects.filter(company=company).order_by("pk")[0]
    SentReport.objects.create(
        company=company,
        sent_as=uuid4(),
        crew=crew,
        visit=visit,
        action="started",
        at=visit.starts_at,
        said_at=visit.starts_at,
    )
    said: dict[str, Any] = {"crew": crew, "house": visit.house, "visit": visit}
    ExtraWork.objects.create(company=company, at=MONDAY, what="Patched", person_minutes=40, **said)
    task = PlannedTask.objects.filter(company=company).order_by("pk")[0]
    Pin.objects.create(
        company=company, key=task.key, crew=crew, starts_at=task.starts_at, made_at=MONDAY
    )


def add_webhook_told(company: Company) -> None:
    """Add a webhook, what was sent to it, and a calendar on another server."""
    webhook = Webhook.objects.create(
        company=company,
        address="https://hooks.example/",
        events=[*Webhook.Event],
        secret=seal("whsec_AAAA"),
        made_at=MONDAY,
    )
    payload = {"type": Webhook.Event.PUBLISHED}
    link = FeedLink.objects.filter(company=company)[0]
    CalendarPush.objects.create(
        company=company, link=link, address="https://dav.example/", made_at=MONDAY
    )
    sent = {"kind": "webhook", "state": "sent", "payload": payload, "webhook": webhook}
    make_waiting(company, "told", **sent)


def add_who_may_ask(company: Company) -> None:
    """Add somebody who signs in, somebody invited, and a program."""
    place = company.name.lower().replace(" ", "-")
    User.objects.create(email=f"viewer@{place}.example", company=company)
    Invitation.objects.create(
        company=company,
        email="new@example.com",
        role="viewer",
        expires_at=MONDAY + timedelta(days=7),
    )
    make_token(company=company, name="Yard program", scopes=[Right.READ], now=MONDAY)


def add_parts(company: Company) -> None:
    """Add what a company plans with besides its houses and crews."""
    day = date(2026, 3, 5)
    Holiday.objects.create(company=company, day=day, name="Yard day", is_own=True)
    PayTerm.objects.create(company=company, person="North crew 1", amount=2000, since=day)
    Price.objects.create(company=company, kind="hour", amount=4500, since=day)
    tape = Supply.objects.create(company=company, kind="paper_tape", name="Tape", packs=[75])
    StockLine.objects.create(company=company, supply=tape, pack_size=75, packs=2, arrives_on=day)
    PlacingRate.objects.create(
        company=company, stage="tape", litres_per_hour=4, source="Our book", dated=day
    )
    LabourRate.objects.create(
        company=company, stage="tape", kind="butt", minutes=2, source="Our book", dated=day
    )


def add_to_site(house: House) -> None:
    """Add what is known of a house besides its rooms, and a dryer in it."""
    company, area = house.company, house.areas.all()[0]
    of_house: dict[str, Any] = {"company": company, "house": house}
    of_area: dict[str, Any] = {"company": company, "area": area}
    ReadinessLine.objects.create(**of_house, item="heat", done=True)
    BuilderLine.objects.create(
        **of_house, day=MONDAY.date(), text="Patched", person_minutes=60, rate=5000
    )
    OddJob.objects.create(**of_house, name="Patch the porch", person_minutes=60)
    Note.objects.create(**of_house, area=area, text="Dog", at=MONDAY)
    Closure.objects.create(**of_area, first_day=date(2026, 5, 4), last_day=date(2026, 5, 5))
    other = Area.objects.create(**of_house, name="Attic", position=1)
    CoatDone.objects.create(
        company=company, area=other, stage="tape", ended_at=MONDAY - timedelta(days=3)
    )
    Dryer.objects.create(**of_house, name="Site dryer", litres_per_day=40)
    Change.objects.create(**of_house, at=MONDAY, kind="made", what="note")
    crew = Crew.objects.filter(company=company)[0]
    Obstacle.objects.create(**of_house, crew=crew, at=MONDAY, reason="damage")
    Deed.objects.create(company=company, at=MONDAY, code="published", about="1")
    Quote.objects.create(company=company, name="Ash Row 1", like=house, opens_on=MONDAY.date())


def ids_of(company: Company) -> Ids:
    """Return the first row of each collection and of each kind that a body may name."""
    by_collection, by_field = {}, {}
    registered: list[tuple[str, Any, str]] = rows.registry
    for collection, resource, _basename in registered:
        by_collection[collection] = first_of(resource.model, company)
        for place, field in related_fields(resource.serializer_class()):
            by_field[place] = first_of(field.model, company)
    task = first_of(PlannedTask, company)
    return Ids({**by_collection, "planned-visits": task}, {**by_field, "planned_visit": task})


def related_fields(serializer: Any, before: str = "") -> Iterator[tuple[str, OwnRelated[Any]]]:
    """Yield the fields of bodies that name another row, with their places."""
    for name, field in serializer.fields.items():
        if isinstance(field, OwnRelated):
            yield f"{before}{name}", field
        elif isinstance(field, Serializer):
            yield from related_fields(field, f"{before}{name}/")
        elif isinstance(field, ListSerializer):
            yield from related_fields(field.child, f"{before}{name}/[]/")
        elif isinstance(field, ListField) and isinstance(field.child, OwnRelated):
            yield f"{before}{name}/[]", field.child


def first_of(model: Any, company: Company) -> UUID:
    found: UUID = model.objects.filter(company=company).order_by("pk")[0].public_id
    return found
