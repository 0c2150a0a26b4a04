"""Who may sign in: invited by e-mail, made another role, removed; the last owner stays."""

import re
from datetime import timedelta

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from finishing.models import ApiToken, Company, Deed, Invitation, Role, User
from finishing.services.invitations import GOOD_FOR, PAUSE, invitation_link
from tests.api.conftest import SignIn
from tests.factories import make_company, make_crew

pytestmark = pytest.mark.django_db
PEOPLE = "/company/people/"
WORDS = "dust sheets and ladders"


@pytest.fixture
def company() -> Company:
    return make_company()


@pytest.fixture
def office(sign_in: SignIn, company: Company) -> Client:
    return sign_in(company)


def link_in_the_mail() -> str:
    (message,) = mail.outbox
    found = re.search(r"http://127\.0\.0\.1:8000(/invited/\S+)", str(message.body))
    assert found
    return found[1]


def choose(link: str, password: str = WORDS, again: str = "") -> tuple[Client, int]:
    browser = Client()
    answer = browser.post(link, {"password1": password, "password2": again or password})
    return browser, answer.status_code


def test_who_is_invited_chooses_a_password_and_is_in(company: Company, office: Client) -> None:
    crew = make_crew(company)
    sent = {"email": "lead@example.com", "role": "crew_lead", "crew": str(crew.public_id)}
    assert office.post(PEOPLE, sent).status_code == 302
    assert mail.outbox[0].to == ["lead@example.com"]
    link = link_in_the_mail()
    page = Client().get(link)
    assert "has invited you as crew lead" in page.text
    assert page.headers["Referrer-Policy"] == "strict-origin"
    browser, status = choose(link)
    assert status == 302
    assert browser.get("/week/").status_code == 200
    person = User.objects.get(email="lead@example.com")
    assert (person.company, person.role, person.crew) == (company, Role.CREW_LEAD, crew)
    assert person.check_password(WORDS)
    codes = list(Deed.objects.values_list("code", "by_email", "about"))
    assert codes == [
        ("joined", "lead@example.com", "lead@example.com"),
        ("invited", "office0@example.com", "lead@example.com"),
    ]


def test_a_link_is_good_once(office: Client) -> None:
    office.post(PEOPLE, {"email": "new@example.com", "role": "viewer"})
    link = link_in_the_mail()
    assert choose(link)[1] == 302
    assert choose(link, "another password")[1] == 410
    assert User.objects.get(email="new@example.com").check_password(WORDS)


@pytest.mark.parametrize("end", ["too_old", "withdrawn", "renewed", "forged", "cut"])
def test_a_link_that_has_ended_makes_nobody(
    office: Client, end: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    office.post(PEOPLE, {"email": "new@example.com", "role": "owner"})
    link, row = link_in_the_mail(), Invitation.objects.get()
    if end == "too_old":
        later = timezone.now() + GOOD_FOR + timedelta(minutes=1)
        monkeypatch.setattr(timezone, "now", lambda: later)
    elif end == "withdrawn":
        office.post(f"{PEOPLE}invitations/{row.public_id}/withdraw/")
    elif end == "renewed":
        Invitation.objects.update(mailed_at=timezone.now() - PAUSE)
        office.post(PEOPLE, {"email": "new@example.com", "role": "viewer"})
    elif end == "forged":
        link = f"/invited/{row.public_id}:{'A' * 43}/"
    else:
        link = link[:-3] + "/"
    assert Client().get(link).status_code == 410
    assert choose(link)[1] == 410
    assert not User.objects.filter(email="new@example.com").exists()


def test_nobody_is_written_to_twice_in_a_minute(office: Client) -> None:
    office.post(PEOPLE, {"email": "new@example.com", "role": "viewer"})
    again = office.post(PEOPLE, {"email": "New@example.com", "role": "viewer"})
    assert (again.status_code, len(mail.outbox)) == (422, 1)
    assert "less than a minute ago" in again.content.decode()
    assert Invitation.objects.get().withdrawn_at is None


def test_a_weak_password_is_refused_with_all_that_is_wrong(office: Client) -> None:
    office.post(PEOPLE, {"email": "new@example.com", "role": "viewer"})
    link = link_in_the_mail()
    answer = Client().post(link, {"password1": "1234", "password2": "1234"})
    assert answer.status_code == 422
    for said in ("too short", "too common", "entirely numeric"):
        assert said in answer.text
    assert choose(link, WORDS, "something else")[1] == 422
    assert choose(link)[1] == 302


def test_faults_of_an_invitation_are_said_at_once_and_nothing_is_sent(
    company: Company, office: Client
) -> None:
    answer = office.post(PEOPLE, {"email": "nobody", "role": "crew_lead"})
    assert answer.status_code == 422
    assert "Enter a valid email address." in answer.text
    assert "Choose the crew that they lead." in answer.text
    again = office.post(PEOPLE, {"email": "OFFICE0@example.com", "role": "viewer"})
    assert "can sign in here already" in again.text
    assert not mail.outbox
    assert not Invitation.objects.exists()


def test_somebody_of_another_company_is_not_taken_from_it(office: Client) -> None:
    other = make_company("Other Finishing")
    theirs = User.objects.create_user("her@example.com", "her own words", company=other)
    office.post(PEOPLE, {"email": "her@example.com", "role": "owner"})
    assert choose(link_in_the_mail())[1] == 422
    theirs.refresh_from_db()
    assert theirs.company == other
    assert theirs.check_password("her own words")


def test_a_role_changes_at_once(company: Company, office: Client) -> None:
    person = User.objects.create_user("p@example.com", WORDS, company=company, role=Role.PLANNER)
    browser = Client()
    browser.force_login(person)
    assert browser.get("/messages/").status_code == 200
    address = f"{PEOPLE}{person.public_id}/role/"
    assert office.post(address, {"version": 1, "role": "viewer"}).status_code == 302
    assert browser.get("/messages/").status_code == 403
    deed = Deed.objects.get()
    assert (deed.code, deed.about) == ("role_changed", "p@example.com")
    assert (deed.values["before"], deed.values["after"]) == ("planner", "viewer")
    stale = office.post(address, {"version": 1, "role": "owner"})
    assert stale.status_code == 409
    assert "Somebody else changed this" in stale.text
    person.refresh_from_db()
    assert person.role == Role.VIEWER


def test_who_is_removed_is_out_at_once_and_may_be_invited_again(
    company: Company, office: Client
) -> None:
    person = User.objects.create_user("p@example.com", WORDS, company=company)
    browser = Client()
    assert browser.login(username="p@example.com", password=WORDS)
    address = f"{PEOPLE}{person.public_id}/remove/"
    assert "Remove p@example.com?" in office.get(address).text
    assert office.post(address, {"version": 1}).status_code == 302
    assert browser.get("/week/").status_code == 302
    assert not Client().login(username="p@example.com", password=WORDS)
    assert "p@example.com" not in office.get(PEOPLE).text
    office.post(PEOPLE, {"email": "p@example.com", "role": "planner"})
    assert choose(link_in_the_mail(), "some other words")[1] == 302
    person.refresh_from_db()
    assert (person.is_active, person.role) == (True, Role.PLANNER)


@pytest.mark.parametrize(
    ("step", "sent"), [("remove", {"version": 1}), ("role", {"role": "planner", "version": 1})]
)
def test_what_somebody_gave_out_ends_when_they_may_invite_nobody_any_more(
    company: Company, office: Client, step: str, sent: dict[str, object]
) -> None:
    other = User.objects.create_user("o@example.com", WORDS, company=company, role=Role.OWNER)
    theirs = Client()
    theirs.force_login(other)
    theirs.post(PEOPLE, {"email": "back@example.com", "role": "owner"})
    for name, scope in (("Lets in", "own"), ("Reads", "read")):
        theirs.post("/company/tokens/", {"name": name, "scopes": ["plan", scope]})
    office.post(PEOPLE, {"email": "ours@example.com", "role": "planner"})
    assert office.post(f"{PEOPLE}{other.public_id}/{step}/", sent).status_code == 302
    link = invitation_link(Invitation.objects.get(email="back@example.com"))
    assert choose(link)[1] == 410
    assert ApiToken.objects.get(revoked_at=None).name == "Reads"
    deed = Deed.objects.get(code=Deed.Code.INVITATION_WITHDRAWN)
    assert deed.about == "back@example.com"
    assert Invitation.objects.get(email="ours@example.com").withdrawn_at is None


def test_the_last_owner_can_neither_leave_nor_become_less(company: Company, office: Client) -> None:
    me = User.objects.get()
    role, gone = f"{PEOPLE}{me.public_id}/role/", f"{PEOPLE}{me.public_id}/remove/"
    for address, sent in ((role, {"role": "planner", "version": 1}), (gone, {"version": 1})):
        refused = office.post(address, sent)
        assert refused.status_code == 409
        assert "This is the only owner" in refused.text
    me.refresh_from_db()
    assert (me.role, me.is_active) == (Role.OWNER, True)
    User.objects.create_user("second@example.com", WORDS, company=company, role=Role.OWNER)
    assert office.post(role, {"role": "planner", "version": 1}).status_code == 302


def test_the_page_takes_few_queries(
    company: Company, office: Client, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    make_crew(company)
    for number in range(5):
        User.objects.create(email=f"p{number}@example.com", company=company)
        office.post(PEOPLE, {"email": f"new{number}@example.com", "role": "viewer"})
    with django_assert_max_num_queries(15):
        assert office.get(reverse("web:people")).status_code == 200
