"""Fetches of calendars: gathered in memory, written together."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import OperationalError

from scheduling.models import FeedLink
from scheduling.services import fetches
from scheduling.services.fetches import Fetch, GatheredFetches
from scheduling.services.links import make_link
from tests.factories import make_company, make_crew

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 2, 8, tzinfo=UTC)
LATER = NOW + timedelta(seconds=30)


@pytest.fixture
def link() -> FeedLink:
    return make_link(crew=make_crew(make_company()))


def stored(link: FeedLink) -> tuple[datetime | None, str, int]:
    link.refresh_from_db()
    return link.fetched_at, link.fetched_by, link.fetched_revision


def test_the_newest_is_written_and_once(link: FeedLink) -> None:
    gathered = GatheredFetches()
    gathered.note(link.pk, Fetch(NOW, "one", 1))
    gathered.note(link.pk, Fetch(LATER, "two", 2))
    gathered.write()
    assert stored(link) == (LATER, "two", 2)
    FeedLink.objects.update(fetched_at=None)
    gathered.write()
    assert stored(link)[0] is None


def test_a_later_fetch_that_another_process_wrote_stays(link: FeedLink) -> None:
    FeedLink.objects.update(fetched_at=LATER, fetched_by="there", fetched_revision=2)
    gathered = GatheredFetches()
    gathered.note(link.pk, Fetch(NOW, "here", 1))
    gathered.write()
    assert stored(link) == (LATER, "there", 2)


def test_what_cannot_be_written_is_kept_behind_what_has_come_since(
    link: FeedLink, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = make_link(crew=make_crew(link.company, "Other crew"))
    gathered = GatheredFetches()
    gathered.note(link.pk, Fetch(NOW, "one", 1))
    gathered.note(other.pk, Fetch(NOW, "other", 1))

    def away(_taken: object) -> None:
        gathered.note(link.pk, Fetch(LATER, "meanwhile", 1))
        raise OperationalError

    with monkeypatch.context() as patched:
        patched.setattr(fetches, "_store", away)
        with pytest.raises(OperationalError):
            gathered.write()
    gathered.write()
    assert stored(link)[1] == "meanwhile"
    assert stored(other)[1] == "other"


def test_a_feed_that_is_gone_keeps_no_other_from_its_time(link: FeedLink) -> None:
    gathered = GatheredFetches()
    gathered.note(link.pk + 1000, Fetch(NOW, "gone", 1))
    gathered.note(link.pk, Fetch(NOW, "here", 1))
    gathered.write()
    assert stored(link)[1] == "here"
