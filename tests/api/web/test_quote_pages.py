"""The pages of quotes: for who plans alone, and printed."""

from datetime import date

import pytest
from django.utils import timezone

from finishing.models import House, Quote, Role
from scheduling.models import PlanRun
from scheduling.services.replan import run_replan
from tests.api.conftest import SignIn
from tests.factories import make_company, make_house
from tests.plans import first_plan
from tests.quotes import FOUND, FOUND_WITHOUT_A_PLACE, asked_for, quote_like
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db


def test_a_quote_is_made_shown_and_won(sign_in: SignIn) -> None:
    company = make_company(currency="EUR")
    client = sign_in(company, Role.PLANNER)
    rooms = "Hall; much\nKitchen; 32; 12\nAttic"
    bad = client.post("/quotes/", {"name": "Ash", "rooms": rooms, "margin_percent": "10"})
    assert bad.status_code == 422
    said = bad.content.decode()
    wrong = [f"Line {line} is not a name and two figures" in said for line in (1, 2, 3)]
    assert wrong == [True, False, True]
    typed = {"name": "Ash", "opens_on": "2026-03-02", "rooms": "Hall; 32; 12", "level": "4"}
    page = client.post("/quotes/", {**typed, "margin_percent": "10"})["Location"]
    assert "Nothing has been worked out yet." in client.get(page).content.decode()
    Quote.objects.update(found=FOUND, found_at=MONDAY)
    text = client.get(page).content.decode()
    for part in ("5,458.75\N{NO-BREAK SPACE}EUR", "74%", "person-hour on the way", "90"):
        assert part in text
    Quote.objects.update(found={**FOUND, "in_time": None, "holds_on": None})
    assert "not known: too little air is on record" in client.get(page).content.decode()
    Quote.objects.update(found={**FOUND, "cost": {}})
    assert "<strong>\N{EN DASH}</strong>" in client.get(page).content.decode()
    assert "\N{EN DASH}</span>" in client.get("/quotes/").content.decode(), "nor does the list"
    Quote.objects.update(found={**FOUND, "handover_on": None, "unpriced": []})
    assert "<strong>\N{EN DASH}</strong>" in (text := client.get(page).content.decode())
    assert "These figures are of some of its work only" in text
    Quote.objects.update(found={**FOUND, "handover_on": None, "from_takeoff": False})
    text = client.get(page).content.decode()
    assert ("of some of its work only" in text, "there is no work in it" in text) == (False, True)
    assert not House.objects.exists()
    won = client.post(f"{page}won/", {"version": 1, "handover_on": "2026-04-10"})
    assert won["Location"] == f"/houses/{House.objects.get().public_id}/"


def test_a_quote_too_cold_to_begin_shows_its_price_what_is_not_in_it_and_what_to_do(
    sign_in: SignIn,
) -> None:
    company = make_company(currency="EUR")
    client = sign_in(company, Role.PLANNER)
    typed = {"name": "Ash", "opens_on": "2026-03-02", "rooms": "Hall; 32; 12", "level": "4"}
    page = client.post("/quotes/", {**typed, "margin_percent": "10"})["Location"]
    Quote.objects.update(found=FOUND_WITHOUT_A_PLACE, found_at=MONDAY)
    text = client.get(page).content.decode()
    price = "5,458.75\N{NO-BREAK SPACE}EUR"
    for part in (
        f"<strong>{price}</strong> without ways to the house",
        "the air is too cold for it",
        "Not heated.",
        "If it will be heated, say so",
        "No handover can be promised",
        "Person-hours of work",
        "Cost: Hours of work",
        "Cost: On the way</th><td>\N{EN DASH}</td>",
    ):
        assert part in text
    assert f"{price}, no handover yet" in client.get("/quotes/").content.decode()
    Quote.objects.update(setpoint_c=18.0)
    text = client.get(page).content.decode()
    assert "If it will be heated, say so" not in text
    assert "Put right what keeps it" in text
    Quote.objects.update(found={**FOUND_WITHOUT_A_PLACE, "cost": {}})
    text = client.get(page).content.decode()
    assert "<strong>\N{EN DASH}</strong>" in text, "what is unknown is no 0.00"


def test_a_quote_says_how_its_house_will_be_heated(sign_in: SignIn) -> None:
    company = make_company()
    client = sign_in(company, Role.PLANNER)
    typed = {"name": "Ash", "opens_on": "2026-03-02", "rooms": "Hall; 32; 12", "level": "4"}
    typed |= {"margin_percent": "10", "heated_from": "2026-03-09"}
    refused = client.post("/quotes/", typed)
    assert refused.status_code == 422
    assert "Say how warm the house is held" in refused.content.decode()
    hot = client.post("/quotes/", {**typed, "setpoint_c": "41"}).content.decode()
    assert "Say how warm the house is held" not in hot, "it is said, and too much"
    page = client.post("/quotes/", {**typed, "setpoint_c": "18,5"})["Location"]
    assert "Held at 18.5 °C from Mon 9 Mar." in client.get(page).content.decode()
    form = client.get(f"{page}edit/").content.decode()
    assert 'value="18.5"' in form
    assert 'value="2026-03-09"' in form
    warm = {**typed, "version": 1, "setpoint_c": "17", "heated_from": ""}
    assert client.post(f"{page}edit/", warm).status_code == 302
    assert "Held at 17 °C from before its first day." in client.get(page).content.decode()


def test_the_list_starts_runs_again_that_were_lost(sign_in: SignIn, started: list[int]) -> None:
    company, house = make_site()
    run = asked_for(quote_like(house))
    died = {"status": "running", "claimed_at": MONDAY, "lease_until": MONDAY, "attempts": 1}
    PlanRun.all_kinds.filter(pk=run.pk).update(**died)
    sign_in(company, Role.PLANNER).get("/quotes/")
    assert PlanRun.all_kinds.get().status == "queued"


def test_a_quote_is_changed_and_removed_by_who_saw_it_as_it_is(sign_in: SignIn) -> None:
    company = make_company()
    client = sign_in(company, Role.PLANNER)
    rooms = [{"name": "Hall", "walls_m2": 32.5, "ceiling_m2": 12.0}]
    fields = {"name": "Ash", "opens_on": date(2026, 3, 2), "rooms": rooms, "level": "4"}
    quote = Quote.objects.create(company=company, **fields, found=FOUND, found_at=MONDAY)
    page = f"/quotes/{quote.public_id}/"
    assert "Hall; 32.5; 12<" in client.get(f"{page}edit/").content.decode()
    typed = {"name": "Ash", "opens_on": "2026-03-02", "rooms": "Hall; 32.5; 12", "level": "4"}
    wrong = client.post(f"{page}edit/", {**typed, "version": 1, "margin_percent": "much"})
    assert wrong.status_code == 422
    dearer = client.post(f"{page}edit/", {**typed, "version": 1, "margin_percent": "50"})
    assert dearer["Location"] == page
    assert "7,443.75" in client.get(page).content.decode()
    stale = client.post(f"{page}edit/", {**typed, "version": 1, "margin_percent": "0"})
    assert stale.status_code == 409
    assert 'value="50"' in stale.content.decode()
    more = {**typed, "rooms": "Hall; 40; 12", "margin_percent": "50"}
    assert client.post(f"{page}edit/", {**more, "version": 2}).status_code == 302
    assert "Nothing has been worked out yet." in client.get(page).content.decode()
    assert "does not come back" in client.get(f"{page}remove/").content.decode()
    assert client.post(f"{page}remove/", {"version": 2}).status_code == 409
    assert client.post(f"{page}remove/", {"version": 3})["Location"] == "/quotes/"
    assert not Quote.objects.exists()


@pytest.mark.usefixtures("unsearched")
def test_a_quote_is_worked_out_while_its_page_follows(sign_in: SignIn, started: list[int]) -> None:
    company, house = make_site()
    first_plan(company)
    quote = quote_like(house)
    client, page = sign_in(company, Role.PLANNER), f"/quotes/{quote.public_id}/"
    assert "Work it out<" in client.get(page).content.decode()
    assert client.post(f"{page}work-out/")["Location"] == page
    run = PlanRun.all_kinds.get(quote=quote)
    waits = client.get(page).content.decode()
    for part in ("Waiting to begin", f'hx-get="{page}"', '<meta http-equiv="refresh"', "Stop here"):
        assert part in waits
    assert "being worked out" in client.get("/quotes/").content.decode()
    searching = [{"code": "search", "at": 0.0, "seconds": 6.0}]
    PlanRun.all_kinds.update(status="running", claimed_at=timezone.now(), steps=searching)
    assert "s of searching left" in client.get(page).content.decode()
    PlanRun.all_kinds.update(status="queued")
    run_replan(run_id=run.pk)
    over = client.get(page).content.decode()
    for part in ("hx-get", "http-equiv", "Nothing has been worked out yet"):
        assert part not in over
    assert "Work it out again" in over
    assert "being worked out" not in client.get("/quotes/").content.decode()


def test_a_quote_that_is_worked_out_anew_shows_what_was_found_and_can_be_stopped(
    sign_in: SignIn, started: list[int]
) -> None:
    company, house = make_site()
    quote = quote_like(house)
    Quote.objects.update(found=FOUND, found_at=MONDAY)
    client, page = sign_in(company, Role.PLANNER), f"/quotes/{quote.public_id}/"
    client.post(f"{page}work-out/")
    text = client.get(page).content.decode()
    assert "Below is what was found before" in text
    assert "74%" in text
    assert client.post(f"{page}stop/")["Location"] == page
    run = PlanRun.all_kinds.get(quote=quote)
    assert run.stop_requested
    assert "It ends with the best plan so far." in client.get(page).content.decode()
    PlanRun.all_kinds.update(status="done", finished_at=MONDAY)
    assert "an earlier handover may be found" in client.get(page).content.decode()
    Quote.objects.update(found={}, found_at=None)  # it was changed meanwhile
    assert "an earlier handover may be found" not in client.get(page).content.decode()


def test_a_failed_run_says_why_and_what_to_do(sign_in: SignIn, started: list[int]) -> None:
    company, house = make_site()
    quote = quote_like(house)
    Quote.objects.update(found=FOUND, found_at=MONDAY)
    run = asked_for(quote)
    client, page = sign_in(company, Role.PLANNER), f"/quotes/{quote.public_id}/"
    for error, said in (
        ("NoHouseError: taken", "Change the quote, then work it out again."),
        ("QuoteChangedError: meanwhile", "Work it out again."),
        ("MemoryError: ", "tell whoever runs the server"),
    ):
        PlanRun.all_kinds.filter(pk=run.pk).update(status="failed", finished_at=MONDAY, error=error)
        text = client.get(page).content.decode()
        assert "It was not worked out, because" in text
        assert said in text
        assert "74%" in text, "what was found before stays"
    House.objects.update(name=quote.name)
    refused = client.post(f"{page}work-out/")
    assert refused.status_code == 422
    assert "give the quote another name" in refused.content.decode()


def test_nobody_else_sees_quotes(sign_in: SignIn) -> None:
    house = make_house(make_company())
    fields = {"name": "Ash", "like": house, "opens_on": date(2026, 3, 2)}
    quote = Quote.objects.create(company=house.company, **fields)
    for role in (Role.VIEWER, Role.CREW_LEAD):
        client = sign_in(house.company, role)
        for page in ("/quotes/", f"/quotes/{quote.public_id}/"):
            assert client.get(page).status_code == 403
