"""Every id that a form of a page sends, put for one of another company's: refused, and nothing of
another company's changes or is shown."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any
from uuid import UUID

import pytest
from django import forms
from django.apps import apps
from django.db.models import Model
from django.test import Client
from django.urls import resolve
from django.utils import timezone

from finishing.models import Company, Role
from scheduling.models import Plan
from scheduling.services.publish import publish_plan
from tests.api.addresses import filled
from tests.api.conftest import SignIn
from tests.api.small_company import make_small_company
from tests.api.test_who_may import taken_back
from tests.api.web.page_forms import forms_in
from tests.api.who_may import PAGES, SECRET_PAGES

pytestmark = pytest.mark.django_db
AN_ID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[0-9a-f]{4}-[0-9a-f]{12}")


def rows_of(company: Company) -> Iterator[tuple[type[Model], dict[str, Any]]]:
    """Yield all that a company has, but who may sign in and the addresses of its crews."""
    for model in apps.get_models():
        names = {field.name for field in model._meta.get_fields()}
        if {"company", "public_id"} <= names:
            for row in model._default_manager.filter(company=company).values():
                yield model, row


class Kinds:
    """What each of a company's ids is of, as it is first asked for; rows are read anew for one
    that is not known yet."""

    def __init__(self, company: Company) -> None:
        self._company = company
        self._known: dict[UUID, type[Model] | None] = {}

    def of(self, public_id: str) -> type[Model] | None:
        """Return what an id is of; None where it is no row's."""
        one = UUID(public_id)
        if one not in self._known:
            self._known |= {row["public_id"]: model for model, row in rows_of(self._company)}
        return self._known.setdefault(one, None)


@dataclass(frozen=True)
class Sending:
    """What a form of a page sends. fields: untouched; offered: all that each could be."""

    page: str
    address: str
    fields: Mapping[str, list[str]]
    offered: Mapping[str, list[str]]


def sendings(client: Client, values: Mapping[str, object]) -> Iterator[Sending]:
    """Yield what every form of every page would send."""
    for route, may in {**PAGES, **SECRET_PAGES}.items():
        page = filled(route, {**values, "secret": values["page_secret"], **may.parts})
        answer = client.get(page)
        if answer.status_code == 200 and answer.headers["Content-Type"].startswith("text/html"):
            for action, fields, offered in forms_in(answer.text):
                yield Sending(page, action or page, fields, offered)


def test_another_companys_ids_are_refused_in_every_form(
    sign_in: SignIn, started: list[int]
) -> None:
    company, values = make_small_company("Ours")
    other, _ = make_small_company("Theirs")
    Plan.objects.update(run=None)
    for one in (company, other):
        publish_plan(company=one, now=timezone.now())
    client = sign_in(company, Role.OWNER)
    kinds, theirs = Kinds(company), [*rows_of(other)]
    tried, wrong = set(), []
    for form in sendings(client, values):
        for field, stranger in strangers(form, kinds, theirs):
            sent = {**form.fields, field: [stranger]}
            answer = taken_back(client, partial(client.post, form.address, sent, follow=True))
            if answer.status_code == 405:  # a form that only asks for the page in another way
                answer = client.get(form.address, sent)
            tried.add((resolve(form.address.partition("?")[0]).route, field.rpartition("-")[2]))
            if answer.status_code not in {400, 404, 409, 422} or "Theirs" in answer.text:
                wrong.append(f"{form.page} to {form.address}, {field}: {answer.status_code}")
    assert not wrong, "\n".join(wrong)
    assert {field for _, field in tried} >= {
        "area",
        "system",
        "compound",
        "crew",
        "member",
        "visit",
    }
    assert [*rows_of(other)] == theirs


def strangers(
    form: Sending, kinds: Kinds, theirs: list[tuple[type[Model], dict[str, Any]]]
) -> Iterator[tuple[str, str]]:
    """Yield each field that names a row, with the id of such a row of another company's."""
    for field, could_be in form.offered.items():
        ids = [one for one in could_be if AN_ID.fullmatch(one)]
        for kind in {kinds.of(one) for one in ids if not field.startswith("initial-")}:
            if kind is not None:
                yield field, next(str(row["public_id"]) for model, row in theirs if model is kind)


def test_what_names_a_row_in_a_form_can_only_be_offered_the_companys() -> None:
    """Every choice among rows is a RowField, whose ``offer`` asks whose rows they are."""
    seen, to_see = set(), [forms.Form]
    while to_see:
        kind = to_see.pop()
        seen.add(kind)
        to_see += kind.__subclasses__()
    ours = [kind for kind in seen if kind.__module__.startswith("api.")]
    assert len(ours) > 15
    for kind in ours:
        for name, field in kind.base_fields.items():
            assert not isinstance(field, forms.ModelChoiceField), f"{kind.__name__}.{name}"
