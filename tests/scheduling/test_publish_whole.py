"""A published plan is never lost or half changed."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.db import DatabaseError, connection

from scheduling.models import CompanyPlans, FeedLink, Publication, Visit
from scheduling.services.publish import publish_plan
from tests.factories import local, make_company, make_crew, make_house, make_plan, task

NOW = datetime(2026, 3, 1, 18, tzinfo=UTC)
HOUR = timedelta(hours=1)


def publish_then_plan_again() -> Any:
    """Publish two visits; plan one moved, one gone, one new. Return the unpublished plan."""
    company = make_company()
    crew, house = make_crew(company), make_house(company, rooms=("Hall", "Kitchen", "Landing"))
    make_plan(
        company,
        [
            task(crew, house, "2026-03-02 08:00", room="Hall"),
            task(crew, house, "2026-03-03 08:00", room="Kitchen"),
        ],
    )
    publish_plan(company=company, now=NOW)
    return make_plan(
        company,
        [
            task(crew, house, "2026-03-04 08:00", room="Hall"),
            task(crew, house, "2026-03-05 08:00", room="Landing"),
        ],
    )


def failing_at(verb: str, word: str) -> AbstractContextManager[None]:
    """The database fails at every statement of this kind that names this table or column."""

    def execute(run: Callable[..., Any], sql: str, *arguments: Any) -> Any:
        if sql.startswith(verb) and f'"{word}"' in sql:
            raise DatabaseError("the disk is full")
        return run(sql, *arguments)

    return connection.execute_wrapper(execute)


def all_rows() -> list[Any]:
    models = (Publication, Visit, CompanyPlans, FeedLink)
    return [list(model.objects.order_by("pk").values()) for model in models]


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("verb", "table"),
    [
        ("INSERT", "scheduling_publication"),
        ("INSERT", "scheduling_visit"),
        ("UPDATE", "scheduling_visit"),
        ("UPDATE", "scheduling_companyplans"),
        ("UPDATE", "scheduling_feedlink"),
    ],
)
def test_a_failure_half_way_leaves_the_old_revision_whole(verb: str, table: str) -> None:
    plan = publish_then_plan_again()
    before = all_rows()
    with pytest.raises(DatabaseError, match="disk"), failing_at(verb, table):
        publish_plan(company=plan.company, now=NOW + HOUR)
    assert all_rows() == before
    result = publish_plan(company=plan.company, now=NOW + HOUR)
    assert (result.publication.plan, result.publication.revision) == (plan, 2)
    assert (len(result.new), len(result.moved), len(result.cancelled)) == (1, 1, 1)


@pytest.mark.django_db(transaction=True)
def test_a_feed_that_could_not_be_rendered_does_not_undo_the_revision(
    caplog: pytest.LogCaptureFixture,
) -> None:
    plan = publish_then_plan_again()
    with failing_at("UPDATE", "body"):
        publish_plan(company=plan.company, now=NOW + HOUR)
    assert [record.levelname for record in caplog.records] == ["ERROR"]
    assert Publication.objects.get(revision=2).plan == plan
    assert Visit.objects.filter(starts_at=local("2026-03-04 08:00")).exists()
    assert FeedLink.objects.get().rendered_on is None
