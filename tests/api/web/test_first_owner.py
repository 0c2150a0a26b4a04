"""The first page of an installation: for whoever can read the code, and for nobody else."""

import pytest
from django.test import Client

from finishing.models import Company, Deed, User
from finishing.services.first_owner import first_code
from tests.factories import make_company

pytestmark = pytest.mark.django_db


def typed(**changed: str) -> dict[str, str]:
    password = {"password1": "dust sheets and ladders", "password2": "dust sheets and ladders"}
    company = {"company": "Larch Finishing", "zone": "Europe/Dublin", "country": "ie"}
    who = {"code": str(first_code()), "email": "ann@example.com"}
    return {**who, **password, **company, **changed}


def test_the_first_page_leads_there_and_to_a_company(client: Client) -> None:
    seen = client.get("/", follow=True)
    assert seen.redirect_chain[-1][0] == "/first/"
    assert "manage.py first_code" in seen.content.decode()
    assert str(first_code()) not in seen.content.decode()
    begun = client.post("/first/", typed(), follow=True)
    assert begun.redirect_chain[-1][0] == "/"
    assert "Larch Finishing" in begun.content.decode()
    company = Company.objects.get()
    assert (company.zone, company.country) == ("Europe/Dublin", "IE")
    assert Deed.objects.get().code == Deed.Code.FIRST_OWNER
    assert "Became the first owner" in client.get("/company/people/trail/").content.decode()


@pytest.mark.parametrize("code", ["", "guess", "000000-000000-000000-000000"])
def test_a_passer_by_gets_nowhere(client: Client, code: str) -> None:
    first_code()
    refused = client.post("/first/", typed(code=code))
    assert refused.status_code == 422
    assert not User.objects.exists()
    assert not Company.objects.exists()


def test_all_faults_are_told_at_once(client: Client) -> None:
    form = typed(email="nobody", password2="other", company="", zone="Mars", country="zz")
    said = client.post("/first/", form).content.decode()
    assert said.count('class="errorlist"') == 5


def test_a_password_like_the_address_is_refused(client: Client) -> None:
    like = "ann.finisher@example.com"
    said = client.post("/first/", typed(email=like, password1=like, password2=like))
    assert "too similar" in said.content.decode()


def test_a_company_that_is_there_is_offered(client: Client) -> None:
    make_company("Larch Finishing")
    assert 'value="Larch Finishing"' in client.get("/first/").content.decode()


def test_once_there_is_anybody_it_is_closed(client: Client) -> None:
    form = typed()
    User.objects.create_user("bob@example.com", "long enough words", company=make_company())
    for answer in (client.get("/first/"), client.post("/first/", form)):
        assert answer.headers["Location"] == "/sign-in/"
    assert client.get("/sign-in/").status_code == 200
    assert User.objects.count() == 1
