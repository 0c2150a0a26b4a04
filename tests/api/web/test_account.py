"""Signing in: not too often, listed and ended by browser; a forgotten password."""

import re
from datetime import timedelta
from typing import Any

import pytest
from django.core import mail
from django.test import Client
from django.utils import timezone

from finishing.models import Company, FailedSignIns, User, UserSession
from finishing.services.sign_in_limits import LOCKED_FOR, MOST_TRIES
from tests.factories import make_company

pytestmark = pytest.mark.django_db
ANN, WORDS, OTHER = "ann@example.com", "dust sheets and ladders", "buckets and trowels"
WRONG, LOCKED = "The address or the password is wrong.", "Too many tries. Wait 15 minutes"
ON_A_PHONE = "Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Gecko/20100101 Firefox/140.0"


@pytest.fixture(autouse=True)
def _ann() -> None:
    User.objects.create_user(ANN, WORDS, company=make_company())


def try_it(client: Client, password: str, email: str = ANN, address: str = "192.0.2.1") -> Any:
    form = {"username": email, "password": password}
    return client.post("/sign-in/", form, REMOTE_ADDR=address, headers={"user-agent": ON_A_PHONE})


def browser(password: str = WORDS) -> Client:
    client = Client()
    assert try_it(client, password).status_code == 302
    return client


class TestTries:
    def test_after_so_many_wrong_ones_the_right_one_is_not_looked_at(self) -> None:
        for _ in range(MOST_TRIES):
            assert WRONG in try_it(Client(), "guess").text
        refused = try_it(Client(), WORDS)
        assert refused.status_code == 200
        assert LOCKED in refused.text
        assert not UserSession.objects.exists()

    def test_an_account_that_there_is_not_answers_alike(self) -> None:
        """Word for word, at every try: nothing tells who signs in here."""
        for number in range(MOST_TRIES + 1):
            said = LOCKED if number == MOST_TRIES else WRONG
            answers = [try_it(Client(), "guess", email) for email in (ANN, "bob@example.com")]
            texts = [page_words(answer) for answer in answers]
            assert said in texts[0]
            assert texts[0] == texts[1].replace("bob@", "ann@")

    def test_somebody_removed_answers_alike(self) -> None:
        User.objects.update(is_active=False)
        assert WRONG in try_it(Client(), WORDS).text

    def test_nobody_is_locked_out_from_elsewhere(self) -> None:
        for _ in range(MOST_TRIES + 1):
            try_it(Client(), "guess")
        assert try_it(Client(), WORDS, address="192.0.2.2").status_code == 302

    def test_another_spelling_of_the_address_is_the_same_account(self) -> None:
        for email in (ANN, "ANN@example.com", " ann@example.com ", "Ann@Example.com", ANN):
            try_it(Client(), "guess", email)
        assert LOCKED in try_it(Client(), WORDS).text

    def test_the_lock_ends_by_itself(self, monkeypatch: pytest.MonkeyPatch) -> None:
        now = timezone.now()
        for minutes in range(MOST_TRIES + 3):
            at = now + timedelta(minutes=minutes)
            monkeypatch.setattr(timezone, "now", lambda at=at: at)
            try_it(Client(), "guess")
        last = now + timedelta(minutes=MOST_TRIES - 1)
        monkeypatch.setattr(timezone, "now", lambda: last + LOCKED_FOR - timedelta(seconds=1))
        assert LOCKED in try_it(Client(), WORDS).text
        monkeypatch.setattr(timezone, "now", lambda: last + LOCKED_FOR)
        assert try_it(Client(), WORDS).status_code == 302

    def test_signing_in_starts_the_count_anew_and_nothing_typed_is_kept(self) -> None:
        for _ in range(MOST_TRIES - 1):
            try_it(Client(), "guess")
        assert "ann" not in str(FailedSignIns.objects.values())
        browser()
        assert not FailedSignIns.objects.exists()

    def test_the_admin_is_no_way_around(self) -> None:
        answer = Client().get("/admin/login/?next=/admin/")
        assert answer.headers["Location"] == "/sign-in/?next=/admin/"
        answer = Client().post("/admin/login/", {"username": ANN, "password": WORDS})
        assert answer.headers["Location"] == "/sign-in/"


def page_words(answer: Any) -> str:
    return re.sub(r'name="csrfmiddlewaretoken" value="\w+"', "", answer.text)


class TestSessions:
    def test_every_browser_is_listed_and_ended_alone(self) -> None:
        here, there = browser(), browser()
        page = here.get("/account/").text
        assert page.count("Firefox · Linux") == 3, "the other also for who only hears its button"
        assert "192.0.2.1" in page
        other = UserSession.objects.get(session_key=there.session.session_key)
        assert here.post(f"/account/sessions/{other.public_id}/end/").status_code == 302
        assert there.get("/week/").status_code == 302
        assert here.get("/week/").status_code == 200
        assert here.get("/account/").text.count("Firefox · Linux") == 1

    def test_all_others_are_ended_at_once(self) -> None:
        here, *others = browser(), browser(), browser()
        here.post("/account/sessions/end/")
        assert here.get("/week/").status_code == 200
        assert [other.get("/week/").status_code for other in others] == [302, 302]

    def test_nobody_ends_the_session_of_somebody_else(self) -> None:
        mine = browser()
        bob = User.objects.create_user("bob@example.com", OTHER, company=Company.objects.get())
        his = Client()
        assert try_it(his, OTHER, bob.email).status_code == 302
        row = UserSession.objects.get(user=bob)
        assert mine.post(f"/account/sessions/{row.public_id}/end/").status_code == 404
        assert his.get("/week/").status_code == 200

    def test_another_password_ends_all_but_this_browser(self) -> None:
        here, there = browser(), browser()
        form = {"old_password": WORDS, "new_password1": OTHER, "new_password2": OTHER}
        assert here.post("/account/password/", {**form, "old_password": "no"}).status_code == 422
        assert here.post("/account/password/", form).status_code == 302
        assert here.get("/account/").status_code == 200
        assert there.get("/week/").status_code == 302
        assert UserSession.objects.count() == 1


class TestForgotten:
    def ask(self, email: str = ANN, host: str = "testserver") -> Any:
        return Client().post(
            "/password/forgotten/", {"email": email}, REMOTE_ADDR="192.0.2.1", HTTP_HOST=host
        )

    def link(self) -> str:
        found = re.search(r"http://127\.0\.0\.1:8000(/password/new/\S+)", str(mail.outbox[-1].body))
        assert found, "the address of the site, whatever host was asked"
        return found[1]

    def test_the_link_lets_one_choose_another_password_once(self) -> None:
        old = browser()
        assert self.ask().headers["Location"] == "/password/forgotten/sent/"
        client, link = Client(), self.link()
        form_at = client.get(link).headers["Location"]
        page = client.get(form_at)
        assert page.headers["Referrer-Policy"] == "strict-origin"
        sent = {"new_password1": OTHER, "new_password2": OTHER}
        assert client.post(form_at, sent).headers["Location"] == "/sign-in/"
        assert old.get("/week/").status_code == 302
        assert not UserSession.objects.exists()
        browser(OTHER)
        assert "not good any more" in Client().get(link, follow=True).text

    def test_it_is_good_for_an_hour(self, monkeypatch: pytest.MonkeyPatch) -> None:
        from django.contrib.auth.tokens import default_token_generator as made

        self.ask()
        now = made._now()
        monkeypatch.setattr(made, "_now", lambda: now + timedelta(minutes=61))
        assert "not good any more" in Client().get(self.link(), follow=True).text

    def test_the_answer_does_not_tell_who_signs_in_here(self) -> None:
        known, unknown = self.ask(), self.ask("bob@example.com")
        assert (known.status_code, known.headers["Location"]) == (
            unknown.status_code,
            unknown.headers["Location"],
        )
        assert [message.to for message in mail.outbox] == [[ANN]]

    def test_nobody_is_flooded_with_mail(self) -> None:
        answers = {self.ask().headers["Location"] for _ in range(MOST_TRIES + 3)}
        assert answers == {"/password/forgotten/sent/"}
        assert len(mail.outbox) == MOST_TRIES
