"""Every id in every body that the API's description has, put for one of another company's: refused
as if it were nobody's, and never used."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import pytest

from scheduling.models import Plan, Visit
from tests.api.rest.api_clients import program
from tests.api.rest.test_rest_companies import NOBODYS, body_with, pointer_to, stored
from tests.api.rest.whole_company import Ids, whole_company

pytestmark = pytest.mark.django_db
REFUSED = {404, 422}
OWN_NAMES = {"client_id"}
"""Ids that whoever asks makes: of no row yet."""
NOT_OF_ROWS: Mapping[str, Any] = {"plan": Plan, "visit": Visit}
"""What is named by a body that is not one of a row's."""


@dataclass(frozen=True)
class Place:
    """Where a body may name a row: of an inner object as "outer/inner"."""

    method: str
    path: str
    name: str


class Places:
    """The places of ids in the bodies of a description (OpenAPI 3)."""

    def __init__(self, described: Mapping[str, Any]) -> None:
        self._paths = described["paths"]
        self._schemas = described["components"]["schemas"]

    def __iter__(self) -> Iterator[Place]:
        for path, operations in self._paths.items():
            for method, operation in operations.items():
                for body in operation.get("requestBody", {}).get("content", {}).values():
                    for name in dict.fromkeys(self._in(body["schema"])):
                        yield Place(method.upper(), path, name)

    def _in(self, schema: Mapping[str, Any], before: str = "") -> Iterator[str]:
        if schema.get("readOnly"):
            return
        if reference := schema.get("$ref"):
            schema = self._schemas[reference.rpartition("/")[2]]
        if schema.get("format") == "uuid":
            yield before
        for name, inner in schema.get("properties", {}).items():
            yield from self._in(inner, f"{before}/{name}".lstrip("/"))
        for inner in (*schema.get("oneOf", ()), *schema.get("anyOf", ()), *schema.get("allOf", ())):
            yield from self._in(inner, before)
        if "items" in schema:
            yield from self._in(schema["items"], f"{before}/[]".lstrip("/"))


def test_another_companys_id_in_any_body_is_as_if_it_were_nobodys() -> None:
    _, theirs = whole_company()
    company, own = whole_company("Another firm")
    asker = program(company)
    described = Places(asker.get("/api/v1/schema/").json())
    before, places = stored(), [place for place in described if place.name not in OWN_NAMES]
    wrong = []
    for place in places:
        address = place.path.format_map(own.of_path(place.path))
        answers = [
            asker.send(place.method, address, body_with(place.name, stranger), if_match="*")
            for stranger in (str(_id_for(theirs, place)), NOBODYS)
        ]
        said = [(one.status_code, _faults_at(one.json(), place)) for one in answers]
        if said[0] != said[1] or said[0][0] not in REFUSED or not said[0][1]:
            wrong.append(f"{place}: {said}")
    assert not wrong, "\n".join(wrong)
    assert {place.name for place in places} >= {"house", "area", "crew", "member", "plan"}
    assert stored() == before


def _id_for(theirs: Ids, place: Place) -> Any:
    """Return the id of a row of the other company's of the kind that the place names."""
    if place.name in NOT_OF_ROWS:
        kind = NOT_OF_ROWS[place.name]
        return kind.objects.filter(company__name="Test Finishing").latest("pk").public_id
    return theirs.by_field[place.name]


def _faults_at(answer: Mapping[str, Any], place: Place) -> list[Any]:
    return [one for one in answer.get("errors", []) if one["pointer"] == pointer_to(place.name)]
