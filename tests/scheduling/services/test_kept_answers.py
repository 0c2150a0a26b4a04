"""Answers that take a moment: found once, kept while rows stay, by workers if there are any."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import count

import pytest
from django.core.cache import cache

from finishing.models import Company
from scheduling import jobs
from scheduling.services import kept_answers
from scheduling.services.kept_answers import AT_MOST_S, find_for_others, is_to_come, kept_answer
from scheduling.services.odds import NothingPlannedError
from scheduling.services.today import fit_today
from tests.factories import make_company, make_house
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db(transaction=True)

_numbers = count(1)


def ask(*, company: Company, now: datetime) -> int:
    return next(_numbers)


@pytest.fixture(autouse=True)
def empty_cache() -> Iterator[None]:
    cache.clear()
    yield
    cache.clear()


@pytest.fixture
def known(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept_answers, "QUESTIONS", {"ask": ask})


def test_an_answer_is_found_once_until_a_row_changes_or_time_has_passed() -> None:
    company = make_company()
    house = make_house(company)
    first = kept_answer(ask, company=company, now=MONDAY)
    assert kept_answer(ask, company=company, now=MONDAY) == first
    house.version += 1
    house.save()
    second = kept_answer(ask, company=company, now=MONDAY)
    later = kept_answer(ask, company=company, now=MONDAY + timedelta(seconds=AT_MOST_S))
    assert len({first, second, later}) == 3


def test_no_answer_is_another_companys() -> None:
    one, other = make_company("One"), make_company("Other")
    assert kept_answer(ask, company=one, now=MONDAY) != kept_answer(ask, company=other, now=MONDAY)


def test_others_are_asked_once_and_what_they_find_is_there(known: None) -> None:
    company, asked = make_company(), []

    def wait() -> bool:
        return is_to_come(ask, lambda *what: asked.append(what), company=company, now=MONDAY)

    assert [wait(), wait()] == [True, True]
    assert asked == [(company.pk, "ask")]
    find_for_others(company_id=company.pk, name="ask", now=MONDAY)
    assert not wait()
    make_house(company)
    assert wait(), "what was found is from before"
    assert len(asked) == 2


def test_what_others_could_not_find_is_left_to_whoever_asks(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def nothing(*, company: Company, now: datetime) -> None:
        raise NothingPlannedError

    monkeypatch.setattr(kept_answers, "QUESTIONS", {"nothing": nothing})
    company = make_company()
    assert is_to_come(nothing, lambda *_: None, company=company, now=MONDAY)
    find_for_others(company_id=company.pk, name="nothing", now=MONDAY)
    assert not is_to_come(nothing, lambda *_: None, company=company, now=MONDAY)


def test_without_a_worker_the_process_finds_it_itself() -> None:
    assert not jobs.request_answer(fit_today, company=make_company(), now=MONDAY)
