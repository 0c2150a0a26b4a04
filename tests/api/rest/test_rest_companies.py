"""Companies are separate: no address and no id in a body reaches another company's row."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.apps import apps

from api.rest.urls import rows, urlpatterns
from finishing.models.owned import Owned
from finishing.services.companies import start_company
from tests.api.addresses import PLACE, row_ids_in
from tests.api.rest.api_clients import program
from tests.api.rest.whole_company import related_fields, whole_company

pytestmark = pytest.mark.django_db
METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE")
NOBODYS = "00000000-0000-7000-8000-000000000000"
REGISTERED: list[tuple[str, Any, str]] = rows.registry


def addresses() -> Iterator[str]:
    """Yield every address of the API that names a row, with {} for its id."""
    for pattern in urlpatterns:
        said = str(pattern.pattern)
        if row_ids_in(said):
            yield "/api/v1/" + PLACE.sub("{}", said)


def stored() -> dict[str, list[Any]]:
    """Every row of every company, as it is."""
    models = [model for model in apps.get_models() if issubclass(model, Owned)]
    quiet = {"ApiToken", "SentRequest"}
    return {
        model.__name__: list(model._default_manager.order_by("pk").values())
        for model in models
        if model.__name__ not in quiet
    }


def test_every_address_of_another_companys_row_is_as_if_there_were_none() -> None:
    _, ids = whole_company()
    asker = program(start_company(name="Another firm", zone="UTC"))
    before, found = stored(), list(addresses())
    assert len(found) > 5
    for address in found:
        theirs = ids.by_collection[address.removeprefix("/api/v1/").partition("/{}")[0]]
        for method in METHODS:
            asked = [
                asker.send(method, address.format(public_id), {}, if_match="*")
                for public_id in (theirs, NOBODYS)
            ]
            statuses = {answer.status_code for answer in asked}
            assert statuses in ({404}, {405}), f"{method} {address}"
            if method != "HEAD":
                assert asked[0].json() == asked[1].json()
    assert stored() == before


def related() -> Iterator[tuple[str, str, str]]:
    """Yield every collection with a method that it takes and a field of its bodies that names
    another row."""
    for collection, resource, _basename in REGISTERED:
        for place, field in related_fields(resource.serializer_class()):
            for method, handler in (("POST", "create"), ("PATCH", "partial_update")):
                if hasattr(resource, handler) and not field.read_only:
                    yield collection, method, place


def body_with(place: str, value: Any) -> Any:
    """Return an object with a value at a place such as "outer/[]/inner", [] being a list of one."""
    for name in reversed(place.split("/")):
        value = [value] if name == "[]" else {name: value}
    return value


def pointer_to(place: str) -> str:
    """Return the JSON pointer to the value that ``body_with`` puts at a place."""
    return f"#/{place.replace('[]', '0')}"


def test_an_id_of_another_company_in_a_body_is_as_if_there_were_none() -> None:
    _, ids = whole_company()
    other, own = whole_company("Another firm")
    asker, before, places = program(other), stored(), list(related())
    wrong = []
    for collection, method, field in places:
        row = "" if method == "POST" else f"{own.by_collection[collection]}/"
        theirs = ids.by_field[field]
        assert own.by_field[field] != theirs
        faults = []
        for public_id in (str(theirs), NOBODYS):
            address, body = f"/api/v1/{collection}/{row}", body_with(field, public_id)
            answer = asker.send(method, address, body, if_match="*")
            errors = answer.json().get("errors", [])
            faults.append([error for error in errors if error["pointer"] == pointer_to(field)])
        if faults[0] != faults[1] or len(faults[0]) != 1:
            wrong.append(f"{method} {collection} {field}: {faults}")
    assert not wrong, "\n".join(wrong)
    assert len(places) > 30
    assert stored() == before
