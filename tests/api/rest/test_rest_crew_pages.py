"""/api/v1/crew-pages/: the secret address of a crew's page, shown to who may and never kept."""

import pytest
from django.test import Client

from finishing.models import Deed, SentRequest
from finishing.queries.rights import Right
from scheduling.models import CrewPage
from tests.api.rest.api_clients import pointers, program
from tests.factories import make_company, make_crew

pytestmark = pytest.mark.django_db
PAGES = "/api/v1/crew-pages/"


def opened(address: str) -> int:
    return Client().get(address.removeprefix("http://127.0.0.1:8000")).status_code


def test_a_crews_page_is_made_shown_renewed_and_ended() -> None:
    company = make_company()
    crew, theirs = make_crew(company), make_crew(make_company("Another firm"))
    asker = program(company)
    body = {"crew": str(crew.public_id)}
    made = asker.post(PAGES, body, idempotency_key="p")
    page = made.json()
    assert (made.status_code, opened(page["address"])) == (201, 200)
    assert asker.post(PAGES, body, idempotency_key="p").json() == {**page, "address": ""}
    assert page["address"].split("/")[-2] not in str(list(SentRequest.objects.values()))
    for wrong in (body, {"crew": str(theirs.public_id)}, {}):
        refused = asker.post(PAGES, wrong)
        assert (refused.status_code, pointers(refused)) == (422, ["#/crew"])
    address = f"{PAGES}{page['id']}/"
    assert asker.get(address).json() == page
    renewed = asker.post(f"{address}renew/", {"generation": 1}).json()
    assert (opened(page["address"]), opened(renewed["address"])) == (410, 200)
    again = asker.post(f"{address}revoke/", {"generation": 1})
    assert (again.status_code, again.json()["reason"]) == (409, "renewed")
    ended = asker.post(f"{address}revoke/", {"generation": 2}).json()
    assert (ended["revoked_at"], ended["address"]) == ("2026-03-02T00:00:00Z", "")
    assert opened(renewed["address"]) == 410
    assert asker.get(f"{PAGES}?works=true").json()["results"] == []
    (listed,) = asker.get(f"{PAGES}?crew={crew.public_id}").json()["results"]
    assert listed == ended
    codes = [deed.code for deed in Deed.objects.order_by("pk")]
    assert codes == ["token_made", "link_renewed", "link_revoked"]


def test_addresses_are_for_planners_and_ended_by_owners() -> None:
    company = make_company()
    crew = make_crew(company)
    planner, reader = program(company, Right.PLAN, Right.REPORT), program(company, Right.READ)
    owner_alone = program(company, Right.OWN)
    page = planner.post(PAGES, {"crew": str(crew.public_id)}).json()
    address = f"{PAGES}{page['id']}/"
    assert planner.get(address).json()["address"]
    assert program(company, Right.PLAN).get(address).json()["address"] == "", "it could report"
    for asker in (reader, owner_alone):
        assert {asker.get(PAGES).status_code, asker.get(address).status_code} == {403}
    for asker in (planner, reader, owner_alone):
        for change in ("renew", "revoke"):
            assert asker.post(f"{address}{change}/", {"generation": 1}).status_code == 403
    assert CrewPage.objects.get().generation == 1
