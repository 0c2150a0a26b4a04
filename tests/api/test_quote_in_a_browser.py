"""A quote's page in a browser, while the quote is worked out."""

from datetime import timedelta

import pytest
from django.utils import timezone
from pytest_django.live_server_helper import LiveServer

from finishing.models import AirSource, Quote, User
from scheduling.models import PlanRun
from scheduling.services.replan import run_replan
from tests.browsers import new_page, open_browser
from tests.plans import first_plan
from tests.quotes import FOUND, quote_like
from tests.sites import make_site, steady_air

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
EMAIL, PASSWORD = "office@example.com", "long enough words"


def test_its_page_follows_until_the_new_finding_stands_in_the_place_of_the_old(
    live_server: LiveServer, started: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "1")  # rows are made while the page is open
    company, house = make_site()
    today = timezone.now()
    AirSource.objects.all().delete()  # of the Monday that sites are made for
    steady_air(company, temperature_c=18, humidity=0.6, first=today.date() - timedelta(days=14))
    first_plan(company, today)
    quote = quote_like(house, opens_on=today.date())
    Quote.objects.update(found=FOUND, found_at=today - timedelta(days=3))
    User.objects.create_user(EMAIL, PASSWORD, company=company, role="planner")
    complaints: list[str] = []
    with open_browser() as browser, new_page(browser, 360) as page:
        page.on("console", lambda message: complaints.append(message.text))
        page.goto(f"{live_server.url}/sign-in/")
        page.get_by_label("Email").fill(EMAIL)
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Sign in").click()
        page.wait_for_url(f"{live_server.url}/")
        page.goto(f"{live_server.url}/quotes/{quote.public_id}/")
        page.get_by_role("button", name="Work it out again").click()
        page.get_by_text("Waiting to begin").wait_for()
        before = page.locator("#quote-sheet").inner_text()
        page.get_by_label("Handover").fill("2027-04-01")  # typed while it goes on
        (run_id,) = started
        PlanRun.all_kinds.filter(pk=run_id).update(work=2, seconds=600)
        run_replan(run_id=run_id)
        page.get_by_role("button", name="Work it out again").wait_for()
        after = page.locator("#quote-sheet").inner_text()
        assert page.locator("#quote-sheet").count() == 1
        assert page.get_by_label("Handover").input_value() == "2027-04-01"
    assert "74%" in before
    assert after != before
    assert Quote.objects.get().found != FOUND
    assert complaints == []
