"""From an empty company to a week with work in it, by the examples alone."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone

from finishing.services.companies import start_company
from tests.api.conftest import SignIn
from tests.api.web.test_import_page import hidden
from tests.factories import ZONE
from tests.plans import first_plan
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db(transaction=True)


def bring_in(client: Client, kind: str) -> None:
    content = client.get(f"/company/import/{kind}/example/").content
    tried = client.post(f"/company/import/{kind}/", {"file": SimpleUploadedFile("x.csv", content)})
    client.post(f"/company/import/{kind}/", hidden(tried.content.decode()))


def next_step(client: Client) -> str:
    text = " ".join(client.get("/").content.decode().split())
    return text.partition('aria-current="step"> <h3>')[2].partition("<")[0].strip()


def test_the_examples_lead_step_by_step_to_a_plan_that_holds_nothing_back(
    sign_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(timezone, "now", lambda: MONDAY)
    company = start_company(name="My company", zone=ZONE)
    client = sign_in(company)
    for kind, step in (("crews", "Add a crew"), ("houses", "Add a house"), ("air", "Give it air")):
        assert next_step(client) == step
        bring_in(client, kind)
    assert next_step(client) == "Plan"
    plan = first_plan(company)
    assert (plan.holds, plan.lateness_minutes) == ([], 0)
    assert next_step(client) == "Publish"
    assert "Example house" in client.get("/week/2026-03-02/").content.decode()
