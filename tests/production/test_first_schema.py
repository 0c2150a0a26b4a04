"""A site that has worked since the first landed schema: its rows survive every migration since."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, time
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.db.models import NOT_PROVIDED, Field, ForeignKey, Model
from pytest_django import DjangoDbBlocker, Settings

from scheduling.queries.links import link_by_secret
from tests.production.conftest import connected_to
from tests.production.stack import Stack

pytestmark = pytest.mark.services

FIRST = (("finishing", "0001_initial"), ("scheduling", "0001_initial"))
SECRET = "a-secret-that-a-crew-has-subscribed-to"
MOMENT = datetime(2026, 3, 2, 8, tzinfo=UTC)
VALUES: dict[str, Any] = {
    "temperature_c": [20.0] * 24,
    "humidity": [0.5] * 24,
    "secret_sha256": sha256(SECRET.encode()).hexdigest(),
    "zone": "Europe/Dublin",
    "end": time(15, 30),
    "freed": {},
}
OF_A_KIND: dict[str, Any] = {
    "BooleanField": True,
    "CharField": "1",
    "DateField": date(2026, 3, 2),
    "DateTimeField": MOMENT,
    "EmailField": "planner@site.invalid",
    "FloatField": 1.0,
    "JSONField": {},
    "TimeField": time(7),
    "UUIDField": "018f0000-0000-7000-8000-000000000001",
}
CHANGED = {"scheduling.planrun": {"freed"}, "scheduling.feedlink": {"rendered_on"}}
"""What later migrations have given another form, or set back so that calendars are made anew."""


@pytest.fixture
def first_schema(
    migrated: Stack, tmp_path: Path, settings: Settings, django_db_blocker: DjangoDbBlocker
) -> Iterator[Stack]:
    """A database as the first landed migrations leave it."""
    settings.MIGRATION_MODULES = {}
    stack = replace(migrated, folder=tmp_path, database="first_schema")
    stack.postgres.make_database(stack.database)
    for app, migration in FIRST:
        stack.manage("migrate", app, migration, "--verbosity", "0")
    with django_db_blocker.unblock(), connected_to(stack.postgres, stack.database):
        yield stack


def test_rows_of_the_first_schema_are_as_they_were(first_schema: Stack) -> None:
    before = filled()
    first_schema.manage("migrate", "--verbosity", "0")
    for label, values in before.items():
        row = apps.get_model(label).objects.filter(pk=values["id"]).values().get()
        kept = values.keys() & row.keys() - CHANGED.get(label, set())
        assert {"id", "company_id", "public_id"} & values.keys() <= kept
        assert {name: row[name] for name in kept} == {name: values[name] for name in kept}, label
    assert link_by_secret(SECRET) is not None, "the address still opens"


def filled() -> dict[str, dict[str, Any]]:
    """Store one row of each model of the first schema; return by model what it holds."""
    old = MigrationLoader(connection).project_state(list(FIRST)).apps
    rows: dict[str, Model] = {}
    for model in old.get_models():
        if model._meta.app_label in ("finishing", "scheduling"):
            _row_of(model, rows)
    return {
        label: type(row)._default_manager.filter(pk=row.pk).values().get()
        for label, row in rows.items()
    }


def _row_of(model: type[Model], rows: dict[str, Model]) -> Model:
    """Return the row of a model, made the first time with those that it points to."""
    label = model._meta.label_lower
    if label not in rows:
        values = {
            field.name: _value(field, rows)
            for field in model._meta.fields
            if not field.primary_key and (isinstance(field, ForeignKey) or _has_no_default(field))
        }
        rows[label] = model._default_manager.create(**values)
    return rows[label]


def _has_no_default(field: "Field[Any, Any]") -> bool:
    return field.name in VALUES or field.default is NOT_PROVIDED or field.name == "body"


def _value(field: "Field[Any, Any]", rows: dict[str, Model]) -> Any:
    if isinstance(field, ForeignKey):
        return _row_of(field.related_model, rows)
    if field.name in VALUES:
        return VALUES[field.name]
    if field.choices:
        return next(value for value, _ in field.flatchoices if value)
    kind = field.get_internal_type()
    return b"1" if kind == "BinaryField" else OF_A_KIND.get(kind, 1)
