"""Parts of pages that a worker or a thread works out: the page's script comes again for them, or a
page without scripts by itself."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone
from kombu.exceptions import OperationalError
from pytest_django import DjangoAssertNumQueries, Settings

from finishing.models import Company
from finishing.services.shared_cache import SharedCache
from scheduling import jobs, tasks
from scheduling.services import kept_answers
from scheduling.services.kept_answers import Of
from tests.api.conftest import SignIn
from tests.factories import make_house
from tests.plans import published_from
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db(transaction=True)
PARTS = ("/fit/", "/odds/", "/runs/changed/", "/air/now/", "/material/", "/costs/")
NOBODY_THERE = {
    "BACKEND": "finishing.services.shared_cache.SharedCache",
    "LOCATION": "redis://127.0.0.1:1/1",
}


def test_a_page_comes_again_for_what_a_worker_finds(
    sign_in: SignIn, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = published_site(sign_in)
    settings.ANSWERS_BY_WORKERS = True
    sent: list[tuple[int, str, Of]] = []
    monkeypatch.setattr(tasks.find_answer, "delay", lambda *what: sent.append(what))
    monkeypatch.setattr(timezone, "now", lambda: MONDAY + timedelta(hours=1))
    by_script = {"HX-Request": "true"}
    for address in PARTS:
        waiting = client.get(address, headers=by_script)
        assert (waiting.status_code, waiting.content) == (204, b""), address
        tasks.find_answer(*sent[-1])
        assert client.get(address, headers=by_script).status_code == 200, address
    assert len(sent) == len(PARTS)


def test_a_browser_without_scripts_comes_again_by_itself(
    sign_in: SignIn,
    monkeypatch: pytest.MonkeyPatch,
    asked: list[tuple[int, str, Of]],
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    """Each answer takes few queries, those included that say why there is nothing to tell."""
    client = published_site(sign_in)
    monkeypatch.setattr(timezone, "now", lambda: MONDAY + timedelta(hours=1))
    for address in PARTS:
        for _ in range(2):
            with django_assert_max_num_queries(15):
                waiting = client.get(address)
            assert (waiting.status_code, waiting.headers["Refresh"]) == (200, "1"), address
            assert "The page looks again by itself" in waiting.content.decode()
        jobs.find_answer(asked[-1])
        with django_assert_max_num_queries(15):
            shown = client.get(address)
        assert (shown.status_code, "Refresh" in shown.headers) == (200, False), address
    assert len(asked) == len(PARTS)


@pytest.mark.parametrize("away", ["cache", "broker"])
def test_without_redis_a_thread_finds_what_workers_would(
    away: str,
    sign_in: SignIn,
    settings: Settings,
    monkeypatch: pytest.MonkeyPatch,
    asked: list[tuple[int, str, Of]],
) -> None:
    client = published_site(sign_in)
    settings.ANSWERS_BY_WORKERS = True
    told: list[str] = []

    def tell(_company: int, question: str, _of: Of) -> None:
        told.append(question)
        raise OperationalError("Connection refused")

    monkeypatch.setattr(tasks.find_answer, "delay", tell)
    monkeypatch.setattr(timezone, "now", lambda: MONDAY + timedelta(hours=1))
    if away == "cache":
        settings.CACHES = {"default": NOBODY_THERE}
        monkeypatch.setattr(SharedCache, "_away_until", 0.0)
    for address in PARTS:
        assert client.get(address, headers={"HX-Request": "true"}).status_code == 204, address
        jobs.find_answer(asked[-1])
        assert client.get(address, headers={"HX-Request": "true"}).status_code == 200, address
    assert client.get("/api/v1/houses/").status_code == 200
    assert (len(asked), len(told)) == (len(PARTS), 0 if away == "cache" else len(PARTS))


def test_a_thread_finds_what_no_worker_has_found_in_a_while(
    sign_in: SignIn,
    settings: Settings,
    monkeypatch: pytest.MonkeyPatch,
    asked: list[tuple[int, str, Of]],
) -> None:
    client = published_site(sign_in)
    settings.ANSWERS_BY_WORKERS = True
    monkeypatch.setattr(kept_answers, "ASKED_AGAIN_AFTER_S", 0)  # a while is over at once
    told: list[tuple[int, str, Of]] = []
    monkeypatch.setattr(tasks.find_answer, "delay", lambda *what: told.append(what))
    by_script = {"HX-Request": "true"}
    for looks in (1, 2):
        assert client.get("/material/", headers=by_script).status_code == 204
        assert (len(told), len(asked)) == (looks, looks - 1)
        assert client.get("/material/", headers=by_script).status_code == 204
        assert (len(told), len(asked)) == (looks, looks)
        jobs.find_answer(asked[-1])
        assert client.get("/material/", headers=by_script).status_code == 200
        make_house(Company.objects.get(), f"Ash Row {looks}")  # the next look asks anew


def published_site(sign_in: SignIn) -> Client:
    company, _ = make_site()
    published_from(company, MONDAY)
    return sign_in(company)
