"""A form of each kind filled in wrongly, or such that it asks back, for the tests that look at the
page that then comes."""

from collections.abc import Mapping
from dataclasses import dataclass

from playwright.sync_api import Locator, Page, Response

TICK = "tick it"
OWN, ASKS = 422, 200
"""The answers to a fault, and to what is asked about first."""


@dataclass(frozen=True)
class FaultyForm:
    """page: the name of its address; typed: by how the names of fields end, or begin before a
    colon; status: of the answer; opens: what is unfolded first."""

    page: str
    button: str
    typed: Mapping[str, str]
    status: int = OWN
    opens: str = ""


FORMS: Mapping[str, FaultyForm] = {
    "area": FaultyForm("house_areas", "Save the areas", {"-name": ""}),
    "area-goes": FaultyForm("house_areas", "Save the areas", {"-remove": TICK}, ASKS),
    "builder-lines": FaultyForm(
        "builder_lines", "Save the lines", {"new-1-day": "2026-03-02", "new-1-hours": "long"}
    ),
    "closures": FaultyForm("site", "Save the closures", {"new-1-reason": "Painters"}),
    "coats": FaultyForm("done", "Save what is done", {"-ended_at": "2026-03-01T07:00"}),
    "compound": FaultyForm("compound", "Save", {"name": "", "density_kg_per_l": "heavy"}),
    "copy": FaultyForm("copy_house", "Make the houses", {"handover_on": ""}),
    "crew": FaultyForm("crews", "Add the crew", {"name": "", "zone": "Nowhere"}),
    "crew-facts": FaultyForm("crew", "Save the crew", {"name": ""}),
    "days-off": FaultyForm("crew", "Save the days off", {"new-1-reason": "ill"}),
    "extra-hours": FaultyForm("crew", "Save the extra hours", {"new-1-start": "07:00"}),
    "facts": FaultyForm("site", "Save the house", {"handover_on": "", "air_changes_per_h": "much"}),
    "holidays": FaultyForm("holidays", "Save the days", {"-day": ""}),
    "import": FaultyForm("import_kind", "Check the file", {}),
    "invitation": FaultyForm("people", "Send the invitation", {"email": "nobody"}),
    "jobs": FaultyForm(
        "done", "Save the jobs", {"new-1-name": "Patch", "new-1-person_minutes": ""}
    ),
    "loans": FaultyForm("crew", "Save the loans", {"new-1-first_day": "2026-03-04"}),
    "move": FaultyForm("move", "Check", {"day": "", "time": ""}),
    "new-calendar": FaultyForm(
        "new_calendar", "Add the calendar", {"address": "http://elsewhere.example"}
    ),
    "new-house": FaultyForm("new_house", "Make the house and go to its rooms", {"name": ""}),
    "note": FaultyForm("history", "Keep the note", {"text": ""}),
    "pay": FaultyForm(
        "pay", "Save the agreements", {"new-1-amount": "much"}, opens="Add an agreement"
    ),
    "password": FaultyForm(
        "change_password", "Change it", {"old_password": "guess", "new_password1": "short"}
    ),
    "people": FaultyForm("crew", "Save the people", {"-name": ""}),
    "placing": FaultyForm(
        "placing", "Save the rates", {"-litres_per_hour": "many"}, opens="L an hour"
    ),
    "prices": FaultyForm(
        "prices",
        "Save the prices",
        {"-amount": "much", "-since": "2126-03-02"},
        opens="Person-hour in extra hours",
    ),
    "quote": FaultyForm("quotes", "Make the quote", {"name": "", "rooms": "Hall; much"}),
    "quote-edited": FaultyForm(
        "edit_quote", "Save the quote", {"name": "", "margin_percent": "much"}
    ),
    "quote-won": FaultyForm("quote", "Won: make it a house", {"handover_on": ""}),
    "rates": FaultyForm(
        "rates",
        "Save the rates",
        {"-minutes": "long", "-dated": "2126-03-02"},
        opens="a metre",
    ),
    "readiness": FaultyForm("site", "Save the list", {"-expected_on": "2126-03-02"}),
    "room": FaultyForm("room", "Save the room", {"name": "", "length_m": "long", "openings": "?"}),
    "room-row": FaultyForm("area_rooms", "Save the rooms", {"-length_m": "long", "-openings": "?"}),
    "room-row-goes": FaultyForm("area_rooms", "Save the rooms", {"-remove": TICK}, ASKS),
    "scenario": FaultyForm("scenarios", "Make a scenario", {"name": ""}),
    "scenario-change": FaultyForm("add_change", "Add it", {"first": "", "last": ""}),
    "scenario-name": FaultyForm("scenario", "Keep this name", {"name": ""}),
    "second-step": FaultyForm("edit_second_step", "Turn it on", {"code": "abc"}),
    "settings": FaultyForm("settings", "Save the settings", {"name": "", "recheck_hours": "long"}),
    "stock": FaultyForm("stock", "Save the stock", {"new-1-packs": "many"}, opens="Add packs"),
    "supply": FaultyForm("supply", "Save", {"name": "", "packs": "big"}),
    "system": FaultyForm("system", "Save", {"name": ""}),
    "token": FaultyForm("tokens", "Make the token", {"name": "", "last_day": "2020-01-01"}),
    "webhook": FaultyForm(
        "new_endpoint", "Add the webhook", {"address": "http://elsewhere.example"}
    ),
    "week": FaultyForm("crew", "Save the hours", {"mon-hours": "early to late"}),
    "phone-air": FaultyForm("crew_air", "Send", {"temperature": "warm", "humidity": ""}),
    "phone-cannot-work": FaultyForm("crew_day", "Cannot work", {}, opens="Cannot work"),
    "phone-extra-work": FaultyForm(
        "crew_day", "Note extra work", {"hours": "long"}, opens="Extra work"
    ),
    "phone-finished": FaultyForm(
        "crew_day", "Finished", {"left": TICK, "hours": "many"}, opens="Finished"
    ),
}
"""By what is wrong on the page."""


def send(page: Page, form: FaultyForm) -> int:
    """Fill a form in wrongly on its page and send it; return the status of the answer."""
    if form.opens:
        page.locator("summary", has_text=form.opens).first.click()
    button = page.get_by_role("button", name=form.button, exact=True)
    filled = page.locator("form", has=button).first
    for ending, typed in form.typed.items():
        _type(_field(filled, ending), typed)
    with page.expect_response(_is_answer) as answer:
        filled.get_by_role("button", name=form.button, exact=True).click()
    page.locator("[role=alert], .not-taken, .errorlist").first.wait_for()
    return answer.value.status


def _is_answer(response: Response) -> bool:
    """Tell the answer to a form from what is worked out while it is filled in."""
    sent = response.request
    return sent.method == "POST" and "hx-request" not in sent.headers


def _field(form: Locator, ending: str) -> Locator:
    ends, begins = f"[name$='{ending}']", f"[name^='{ending}:']"
    return form.locator(f"{ends}:not([type=hidden]), {begins}").first


def _type(field: Locator, typed: str) -> None:
    if typed == TICK:
        field.check()
    else:
        field.fill(typed)
