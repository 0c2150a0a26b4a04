"""Who may see pages: people who signed in, and only their own company's."""

import pytest
from django.test import Client
from django.urls import reverse

from finishing.models import User
from tests.api.conftest import SignIn
from tests.factories import make_company, make_crew, make_house, make_plan, task

pytestmark = pytest.mark.django_db
NOBODYS = "00000000-0000-7000-8000-000000000000"
PAGES = [
    "/",
    "/odds/",
    "/runs/",
    "/publishing/",
    "/week/",
    "/week/2026-03-02/",
    "/houses/",
    "/air/",
]


@pytest.mark.parametrize("page", PAGES)
def test_pages_ask_strangers_to_sign_in(client: Client, page: str) -> None:
    response = client.get(page)
    assert response.status_code == 302
    assert response.headers["Location"] == f"{reverse('web:sign_in')}?next={page}"


@pytest.mark.parametrize("page", PAGES)
def test_an_account_without_a_company_sees_nothing(sign_in: SignIn, page: str) -> None:
    make_company()
    response = sign_in(None).get(page)
    assert response.status_code == 404
    assert "Nothing is here" in response.content.decode()


def test_signing_in_by_address_leads_to_today_and_out_again(client: Client) -> None:
    User.objects.create_user("ann@example.com", "long enough words", company=make_company())
    form = {"username": "ann@example.com", "password": "long enough words"}
    assert client.post("/sign-in/", form).headers["Location"] == reverse("web:today")
    assert client.get("/week/").status_code == 200
    assert client.get("/sign-out/").status_code == 405, "a link must not sign anyone out"
    assert client.post("/sign-out/").headers["Location"] == reverse("web:sign_in")
    assert client.get("/week/").status_code == 302


def test_a_wrong_password_is_told_in_the_form(client: Client) -> None:
    User.objects.create_user("ann@example.com", "long enough words", company=make_company())
    response = client.post("/sign-in/", {"username": "ann@example.com", "password": "other"})
    assert response.status_code == 200
    assert "errorlist" in response.content.decode()


@pytest.mark.parametrize(
    "elsewhere",
    [
        "https://elsewhere.example/",
        "//elsewhere.example",
        "/\\elsewhere.example",
        "https:elsewhere.example",
        "javascript:alert(1)",
        " //elsewhere.example",
    ],
)
def test_signing_in_never_leads_to_another_site(client: Client, elsewhere: str) -> None:
    User.objects.create_user("ann@example.com", "long enough words", company=make_company())
    form = {"username": "ann@example.com", "password": "long enough words", "next": elsewhere}
    assert client.post("/sign-in/", form).headers["Location"] == reverse("web:today")
    signed_in_already = client.get("/sign-in/", {"next": elsewhere})
    assert signed_in_already.headers["Location"] == reverse("web:today")


def test_another_companys_rows_are_nowhere(sign_in: SignIn) -> None:
    theirs = make_company("Other Finishing")
    crew, house = make_crew(theirs, "Their crew"), make_house(theirs, "Their House")
    make_plan(theirs, [task(crew, house, "2026-03-02 08:00")])
    client = sign_in(make_company())
    for page in ("/week/2026-03-02/", "/houses/"):
        text = client.get(page).content.decode()
        assert "Their" not in text
    assert client.get(f"/houses/{house.public_id}/").status_code == 404
    assert sign_in(theirs).get(f"/houses/{house.public_id}/").status_code == 200


@pytest.mark.parametrize("page", ["/sign-in/", "/houses/"])
def test_pages_run_no_script_and_no_inline_style(sign_in: SignIn, page: str) -> None:
    company = make_company()
    make_crew(company)
    client = Client() if page == "/sign-in/" else sign_in(company)
    response = client.get(page)
    text = response.content.decode()
    assert response.headers["Content-Security-Policy"].startswith("default-src 'self'")
    assert "<script" not in text
    assert "style=" not in text
    assert "<style" not in text


@pytest.mark.parametrize("page", PAGES)
def test_pages_only_answer_reading(sign_in: SignIn, page: str) -> None:
    assert sign_in(make_company()).post(page).status_code == 405


def test_a_page_that_outlives_its_sign_in_loads_itself_again(client: Client) -> None:
    """What htmx fetches for a part of a page is no sign-in page, which has no such part."""
    for address in (f"/runs/{NOBODYS}/", f"/houses/{NOBODYS}/air/"):
        answer = client.get(address, headers={"HX-Request": "true"})
        assert (answer.status_code, answer.content) == (200, b"")
        assert answer.headers["HX-Refresh"] == "true"


@pytest.mark.parametrize(
    ("sent_from", "leads_to"),
    [
        ("http://testserver/air/", "http://testserver/air/"),
        ("https://elsewhere.example/air/", "/"),
        (None, "/"),
    ],
)
def test_what_is_sent_after_the_sign_in_has_ended_leads_back_to_its_page(
    client: Client, sent_from: str | None, leads_to: str
) -> None:
    """Not to the form's own address, which shows nothing."""
    User.objects.create_user("ann@example.com", "long enough words", company=make_company())
    headers = {"referer": sent_from} if sent_from else {}
    asked = client.post(reverse("web:plan_again"), headers=headers).headers["Location"]
    form = {"username": "ann@example.com", "password": "long enough words"}
    assert client.post(asked, form).headers["Location"] == leads_to


def test_a_form_from_before_another_sign_in_is_refused_in_plain_words(sign_in: SignIn) -> None:
    client = sign_in(make_company())
    client.handler.enforce_csrf_checks = True
    refused = client.post(reverse("web:plan_again"))
    assert refused.status_code == 403
    assert "load it again, and send it once more" in refused.text
