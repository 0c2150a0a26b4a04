"""Answers that take a moment: found once, kept while rows stay, by workers if there are any."""

from collections.abc import Iterator
from contextlib import suppress
from datetime import datetime, timedelta
from itertools import count

import pytest
from django.core.cache import cache

from finishing.models import AirSource, Company
from scheduling.services import kept_answers
from scheduling.services.kept_answers import (
    NotYetError,
    answer_to_come,
    find_for_others,
    kept_answer,
)
from scheduling.services.odds import NothingPlannedError
from scheduling.services.source_histories import TooLittleAirError
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
    too_old = timedelta(seconds=kept_answers.AT_MOST_S)
    later = kept_answer(ask, company=company, now=MONDAY + too_old)
    assert len({first, second, later}) == 3


def test_no_answer_is_another_companys() -> None:
    one, other = make_company("One"), make_company("Other")
    assert kept_answer(ask, company=one, now=MONDAY) != kept_answer(ask, company=other, now=MONDAY)


def test_others_are_asked_once_and_what_they_find_is_there(known: None) -> None:
    company, asked = make_company(), []

    def look() -> int | None:
        try:
            return answer_to_come(
                ask, lambda *what: asked.append(what), company=company, now=MONDAY
            )
        except NotYetError:
            return None

    assert [look(), look()] == [None, None]
    assert asked == [(company.pk, "ask", (), False)]
    find_for_others(company_id=company.pk, name="ask", of=(), now=MONDAY)
    found = look()
    assert found == look() == kept_answer(ask, company=company, now=MONDAY)
    make_house(company)
    assert look() is None, "what was found is from before"
    assert len(asked) == 2


def test_what_others_could_not_find_is_left_to_whoever_asks(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def broken(*, company: Company, now: datetime) -> None:
        raise ZeroDivisionError

    def unseen(*_what: object) -> None:
        with suppress(ZeroDivisionError):
            find_for_others(company_id=company.pk, name="broken", of=(), now=MONDAY)

    monkeypatch.setattr(kept_answers, "QUESTIONS", {"broken": broken})
    company = make_company()
    with pytest.raises(ZeroDivisionError):
        answer_to_come(broken, unseen, company=company, now=MONDAY)


@pytest.mark.parametrize("kind", [NothingPlannedError, TooLittleAirError])
def test_why_there_is_no_answer_is_kept_as_well(kind: type[Exception]) -> None:
    company, asked = make_company(), []
    source = AirSource.objects.create(company=company, name="Yard", kind="station")
    why = kind(source, 3) if kind is TooLittleAirError else kind()

    def nothing(*, company: Company, now: datetime) -> None:
        asked.append(company)
        raise why

    for _ in range(2):
        with pytest.raises(kind) as told:
            kept_answer(nothing, company=company, now=MONDAY)
        assert str(told.value) == str(why)
    assert len(asked) == 1
