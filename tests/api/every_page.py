"""Every address of the pages, for the tests that look at all of them. A new page is a line here."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.urls import reverse
from django.utils import timezone

from finishing.models import (
    ApiToken,
    Area,
    Company,
    Compound,
    Crew,
    House,
    JointingSystem,
    Quote,
    Room,
    Supply,
    User,
)
from finishing.queries.rights import Right
from finishing.services.tokens import make_token
from scheduling.models import CrewPage, FeedLink, PlanRun, Scenario, Webhook
from scheduling.services.scenario_changes import CrewMore, Saturdays
from scheduling.services.scenarios import make_scenario

type Arguments = Callable[["Shown"], dict[str, Any]]


@dataclass(frozen=True)
class Shown:
    """The rows that pages are looked at with; secret: of the crew's page; visit: of the working
    plan, still to come."""

    company: Company
    house: House
    crew: Crew
    run: PlanRun
    visit: UUID
    secret: str


def of_the_company(_: Shown) -> dict[str, Any]:
    return {}


def of_a_house(shown: Shown) -> dict[str, Any]:
    return {"public_id": shown.house.public_id}


def of_an_area(shown: Shown) -> dict[str, Any]:
    area = Area.objects.filter(house=shown.house).order_by("pk")[0]
    return {**of_a_house(shown), "area_id": area.public_id}


def of_a_room(shown: Shown) -> dict[str, Any]:
    room = Room.objects.filter(area__house=shown.house).order_by("pk")[0]
    return {**of_a_house(shown), "room_id": room.public_id}


def of_a_compound(shown: Shown) -> dict[str, Any]:
    return {"public_id": Compound.objects.filter(company=shown.company)[0].public_id}


def of_a_supply(shown: Shown) -> dict[str, Any]:
    row, _ = Supply.objects.get_or_create(
        company=shown.company, kind="paper_tape", defaults={"name": "Tape", "packs": [75]}
    )
    return {"public_id": row.public_id}


def of_a_system(shown: Shown) -> dict[str, Any]:
    return {"public_id": JointingSystem.objects.filter(company=shown.company)[0].public_id}


def of_a_quote(shown: Shown) -> dict[str, Any]:
    row, _ = Quote.objects.get_or_create(
        company=shown.company,
        name="Ash Row 1",
        defaults={"like": shown.house, "opens_on": shown.run.plan_from.date()},
    )
    return {"public_id": row.public_id}


def of_a_feed(shown: Shown) -> dict[str, Any]:
    return {"public_id": FeedLink.objects.filter(crew=shown.crew)[0].public_id}


def of_a_new_address(shown: Shown) -> dict[str, Any]:
    return {**of_a_feed(shown), "change": "renew"}


def of_a_crews_new_page(shown: Shown) -> dict[str, Any]:
    return {"public_id": CrewPage.objects.get(crew=shown.crew).public_id, "change": "renew"}


def of_a_token(shown: Shown) -> dict[str, Any]:
    token = ApiToken.objects.filter(company=shown.company).first()
    if token is None:
        told: dict[str, Any] = {"name": "Gateway", "scopes": [Right.READ], "now": timezone.now()}
        token, _ = make_token(company=shown.company, **told)
    return {"public_id": token.public_id}


def of_an_endpoint(shown: Shown) -> dict[str, Any]:
    return {"public_id": Webhook.objects.filter(company=shown.company)[0].public_id}


def of_a_scenario(shown: Shown) -> dict[str, Any]:
    row = Scenario.objects.filter(company=shown.company).first()
    if row is None:
        row = make_scenario(
            company=shown.company,
            name="Saturdays and a crew more",
            now=shown.run.plan_from,
            changes=[
                Saturdays((shown.crew.public_id,), date(2026, 3, 2), date(2026, 3, 30)),
                CrewMore(shown.crew.public_id),
            ],
        )
    return {"public_id": row.public_id}


def of_a_run(shown: Shown) -> dict[str, Any]:
    return {"public_id": shown.run.public_id}


def of_a_crew(shown: Shown) -> dict[str, Any]:
    return {"public_id": shown.crew.public_id}


def of_a_crews_week(shown: Shown) -> dict[str, Any]:
    return {"day": shown.run.plan_from.date(), "public_id": shown.crew.public_id}


def of_a_visit(shown: Shown) -> dict[str, Any]:
    return {"public_id": shown.visit}


def of_somebody(shown: Shown) -> dict[str, Any]:
    person, _ = User.objects.get_or_create(email="viewer@example.com", company=shown.company)
    return {"public_id": person.public_id}


def by_secret(shown: Shown) -> dict[str, Any]:
    return {"secret": shown.secret}


PAGES: Mapping[str, Arguments] = {
    "account": of_the_company,
    "add_change": lambda shown: {**of_a_scenario(shown), "kind": "saturdays"},
    "air_now": of_the_company,
    "area_rooms": of_an_area,
    "change_crew_page": of_a_crews_new_page,
    "change_feed": of_a_new_address,
    "change_password": of_the_company,
    "changed": of_the_company,
    "company": of_the_company,
    "company_air": of_the_company,
    "company_history": of_the_company,
    "compound": of_a_compound,
    "compounds": of_the_company,
    "copy_house": of_a_house,
    "crew": of_a_crew,
    "crew_air": by_secret,
    "crew_day": by_secret,
    "crew_sheet": of_a_crews_week,
    "crews": of_the_company,
    "discard_scenario": of_a_scenario,
    "done": of_a_house,
    "edit_second_step": of_the_company,
    "feed": of_a_feed,
    "endpoint": of_an_endpoint,
    "feeds": of_the_company,
    "history": of_a_house,
    "holidays": of_the_company,
    "house": of_a_house,
    "house_air": of_a_house,
    "house_areas": of_a_house,
    "house_sheet": of_a_house,
    "house_weeks": of_the_company,
    "houses": of_the_company,
    "import_kind": lambda _: {"kind": "air"},
    "imports": of_the_company,
    "material": of_the_company,
    "messages": of_the_company,
    "move": of_a_visit,
    "new_compound": of_the_company,
    "new_endpoint": lambda _: {"kind": "webhook"},
    "new_house": of_the_company,
    "new_supply": of_the_company,
    "new_system": of_the_company,
    "people": of_the_company,
    "revoke_token": of_a_token,
    "tokens": of_the_company,
    "pins": of_the_company,
    "placing": of_the_company,
    "planning": of_the_company,
    "publishing": of_the_company,
    "quotes": of_the_company,
    "quote": of_a_quote,
    "edit_quote": of_a_quote,
    "remove_quote": of_a_quote,
    "costs": of_the_company,
    "house_costs": of_a_house,
    "prices": of_the_company,
    "rates": of_the_company,
    "looking_back": of_the_company,
    "builder_lines": of_a_house,
    "builder_sheet": of_a_house,
    "pay": of_the_company,
    "pay_sheet": of_a_crew,
    "forecasts": of_the_company,
    "remove_house": of_a_house,
    "remove_person": of_somebody,
    "room": of_a_room,
    "run": of_a_run,
    "scenario": of_a_scenario,
    "scenarios": of_the_company,
    "sending": of_the_company,
    "settings": of_the_company,
    "site": of_a_house,
    "stock": of_the_company,
    "supply": of_a_supply,
    "system": of_a_system,
    "today": of_the_company,
    "trail": of_the_company,
    "late_material": of_the_company,
    "today_fit": of_the_company,
    "today_odds": of_the_company,
    "week": of_the_company,
}
"""What every address (by name) is about that shows a page to who has signed in, or to a crew."""

MORE_PAGES: Mapping[str, tuple[str, Arguments]] = {
    "new_calendar": ("new_endpoint", lambda _: {"kind": "calendar"}),
}
"""Pages that are another one by what their address is about: its name, and that."""


def address_of(page: str, shown: Shown) -> str:
    """Return where one of ``PAGES`` or ``MORE_PAGES`` is."""
    name, of = MORE_PAGES.get(page) or (page, PAGES[page])
    return reverse(f"web:{name}", kwargs=of(shown))


FORM = "takes a form, and shows no page to who only looks"
SIGNED_OUT = "a page, but for who has not signed in: looked at by itself"
NO_PAGES: Mapping[str, str] = {
    "work_out_quote": FORM,
    "stop_quote": FORM,
    "win_quote": FORM,
    "answer_rate_offer": FORM,
    "looking_back_file": "a table as a file",
    "pay_sheet_file": "a table as a file",
    "accept": FORM,
    "adopt_scenario": FORM,
    "change_endpoint": FORM,
    "area_work": FORM,
    "copy_scenario": FORM,
    "crew_speech": FORM,
    "crew_worker": "a script that a crew's browser runs",
    "end_other_sessions": FORM,
    "end_pin": FORM,
    "end_session": FORM,
    "first_owner": SIGNED_OUT,
    "forgotten": SIGNED_OUT,
    "import_example": "a file to download",
    "fetch_holidays": FORM,
    "make_crew_page": FORM,
    "leave_out": FORM,
    "new_feed": "named by what follows a question mark; the same page as feed",
    "join": SIGNED_OUT,
    "new_password": SIGNED_OUT,
    "orders": "a file to download",
    "password_sent": SIGNED_OUT,
    "photo": "a picture",
    "plan_again": FORM,
    "plan_scenario": FORM,
    "plan_scenarios": FORM,
    "publish": FORM,
    "room_work": FORM,
    "save_crew": FORM,
    "save_done": FORM,
    "save_site": FORM,
    "send_again": FORM,
    "set_house_active": FORM,
    "set_role": FORM,
    "second_step": SIGNED_OUT,
    "settle_word": FORM,
    "sign_in": SIGNED_OUT,
    "sign_out": FORM,
    "stop": FORM,
    "stop_scenario": FORM,
    "strike_note": FORM,
    "take_back": FORM,
    "tick_readiness": FORM,
    "visit": "leads elsewhere, or tells how to get in",
    "withdraw_invitation": FORM,
}
"""Why every other address is not looked at."""
