"""Who told crews what, pinned, renewed and revoked: on a page for owners."""

from datetime import timedelta

import pytest
from django.core.management import call_command
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from finishing.models import Deed
from scheduling.models import FeedLink
from scheduling.queries.plans import working_plan
from scheduling.services.links import feed_address, make_link
from tests.api.conftest import SignIn
from tests.factories import make_company, make_crew, make_house, make_plan, task

pytestmark = pytest.mark.django_db
TRAIL = "/company/people/trail/"


def test_what_owners_ask_about_afterwards_is_there(sign_in: SignIn) -> None:
    company = make_company()
    crew, house = make_crew(company), make_house(company)
    make_plan(company, [task(crew, house, timezone.now() + timedelta(days=2))])
    office = sign_in(company)
    plan = working_plan(company)
    assert plan
    assert office.post(f"/plans/{plan.public_id}/publish/").status_code == 302
    assert office.post("/publishing/1/take-back/").status_code == 302
    link = FeedLink.objects.get(crew=crew)
    former = feed_address(link)
    for change in ("renew", "revoke"):
        generation = FeedLink.objects.get().generation
        address = f"/company/feeds/{link.public_id}/{change}/"
        assert office.post(address, {"generation": generation}).status_code == 302
    page = office.get(TRAIL).text
    for said in (
        "Published revision 1",
        "Took revision 1 back",
        "Gave a new secret address",
        "Revoked a secret address",
    ):
        assert said in page
    assert page.count("office0@example.com") == 4
    secrets = {former.split("/")[-2], feed_address(make_link(crew=crew)).split("/")[-2]} - {""}
    assert not any(secret in f"{page}{list(Deed.objects.values())}" for secret in secrets)


def test_publishing_what_is_published_already_is_no_deed(sign_in: SignIn) -> None:
    company = make_company()
    make_plan(company, [task(make_crew(company), make_house(company), timezone.now())])
    for _ in range(2):
        call_command("publish", company=company.name)
    assert [(deed.code, deed.by_email) for deed in Deed.objects.all()] == [("published", "")]
    assert "a command" in sign_in(company).get(TRAIL).text


def test_every_code_has_its_words(
    sign_in: SignIn, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    company = make_company()
    values = {
        "crew": "North",
        "starts_at": "2026-03-02T08:00:00+00:00",
        "before": "viewer",
        "after": "owner",
        "what": "webhook",
        "why": "gone",
    }
    for code in Deed.Code:
        Deed.objects.create(
            company=company, at=timezone.now(), code=code, about="Mill", values=values
        )
    client = sign_in(company)
    with django_assert_max_num_queries(8):
        page = client.get(TRAIL).text
    assert page.count("a command") == len(Deed.Code)
    assert "Made Mill owner instead of viewer" in page
    other = sign_in(make_company("Other Finishing"))
    assert "Mill" not in other.get(TRAIL).text
