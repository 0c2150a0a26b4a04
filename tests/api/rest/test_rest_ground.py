"""What every resource of the API has: rights, pages, tags, keys, a rate, a description."""

from collections.abc import Iterator

import pytest
from django.core.cache import cache
from django.urls import URLPattern, URLResolver, get_resolver
from pytest_django import Settings

from api.rest.description import Nothing
from api.rest.resource import CompanyResource
from finishing.models import ApiToken, Change, House, Role, User
from finishing.queries.rights import Right
from finishing.services.house_facts import edit_house_facts
from tests.api.rest.api_clients import Program, program
from tests.factories import make_company, make_house
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db
HOUSES = "/api/v1/houses/"
NEW = {"name": "New house", "zone": "UTC", "handover_on": "2026-04-01"}


def code(answer: object) -> str:
    kind: str = answer.json()["type"]  # type: ignore[attr-defined]
    return kind.removeprefix("/api/v1/problems/").rstrip("/")


SEEN_BY_REPORTERS = {"visits": 200, "reports": 200, "houses": 403, "plans": 403, "members": 403}


def address_of(house: House) -> str:
    return f"{HOUSES}{house.public_id}/"


def test_a_token_may_do_what_its_scopes_and_its_persons_role_say() -> None:
    company = make_company()
    viewer = User.objects.create(email="v@example.com", company=company, role=Role.VIEWER)
    for asker, statuses in (
        (program(company), (200, 201)),
        (program(company, Right.READ), (200, 403)),
        (program(company, Right.REPORT), (403, 403)),
        (program(company, Right.OWN), (200, 403)),
        (program(company, person=viewer), (200, 403)),
        (Program(), (401, 401)),
        (Program("coatweave_guessed"), (401, 401)),
    ):
        answers = (asker.get(HOUSES), asker.post(HOUSES, NEW))
        assert tuple(answer.status_code for answer in answers) == statuses
    assert House.objects.count() == 1


def test_a_program_that_reports_sees_the_visits_and_what_was_said_of_them_alone() -> None:
    company = make_company()
    asker = program(company, Right.REPORT)
    answers = {name: asker.get(f"/api/v1/{name}/").status_code for name in SEEN_BY_REPORTERS}
    assert answers == SEEN_BY_REPORTERS
    assert asker.post("/api/v1/reports/", {}).status_code == 422, "it may, but says nothing"
    assert program(company, Right.READ).post("/api/v1/reports/", {}).status_code == 403


def test_what_a_program_does_stands_under_its_name() -> None:
    company = make_company()
    house = make_house(company)
    owner = User.objects.create(email="o@example.com", company=company, role=Role.OWNER)
    for asker, name in ((program(company), "First"), (program(company, person=owner), "Second")):
        seen = asker.get(address_of(house))
        assert asker.patch(address_of(house), {"name": name}, seen["ETag"]).status_code == 200
    told = [(str(row.by or ""), row.program) for row in Change.objects.order_by("pk")]
    names = list(ApiToken.objects.order_by("pk").values_list("name", flat=True))
    assert told == [("", names[0]), (str(owner), names[1])]


def test_a_list_comes_in_pages_in_the_order_of_making() -> None:
    company = make_company()
    ids = sorted(str(make_house(company, f"House {n}").public_id) for n in range(5))
    asker, found, address = program(company), [], f"{HOUSES}?limit=2"
    while address:
        page = asker.get(address).json()
        assert len(page["results"]) <= 2
        found += [row["id"] for row in page["results"]]
        address = page["next"]
    assert found == ids


def test_a_row_that_goes_between_two_pages_hides_no_other() -> None:
    company = make_company()
    made = [make_house(company, f"House {n}") for n in range(4)]
    houses = sorted(made, key=lambda house: house.public_id)
    asker = program(company)
    first = asker.get(f"{HOUSES}?limit=2").json()
    houses[0].delete()
    rest = asker.get(first["next"]).json()["results"]
    assert [row["id"] for row in rest] == [str(house.public_id) for house in houses[2:]]


@pytest.mark.parametrize(
    ("query", "at_fault"),
    [
        ("limit=0", ["limit"]),
        ("limit=501&is_active=yes&wher=x", ["is_active", "limit", "wher"]),
        ("limit=1&limit=2", ["limit"]),
        ("cursor=x", ["cursor"]),
        ("cursor=cD1ub3QtYW4taWQ=", ["cursor"]),
        ("format=html", ["format"]),
    ],
)
def test_a_query_that_is_no_good_is_refused_with_all_its_faults(
    query: str, at_fault: list[str]
) -> None:
    answer = program(make_company()).get(f"{HOUSES}?{query}")
    assert answer.status_code == 422
    assert sorted({error["parameter"] for error in answer.json()["errors"]}) == at_fault


def test_a_list_is_filtered() -> None:
    company = make_company()
    make_house(company, "A", handover_on="2026-03-01")
    make_house(company, "B", handover_on="2026-05-01", is_active=False)
    asker = program(company)
    for query, names in (
        ("", ["A", "B"]),
        ("is_active=false", ["B"]),
        ("handover_to=2026-04-01", ["A"]),
        ("name=B&is_active=true", []),
    ):
        rows = asker.get(f"{HOUSES}?{query}").json()["results"]
        assert [row["name"] for row in rows] == names


def test_a_list_takes_the_same_queries_however_long_it_is(
    django_assert_max_num_queries: object,
) -> None:
    company = make_company()
    asker = program(company)
    asker.get(HOUSES)
    for number in range(20):
        make_house(company, f"House {number}")
    with django_assert_max_num_queries(2):  # type: ignore[operator]
        assert len(asker.get(HOUSES).json()["results"]) == 20


def test_what_has_not_changed_is_not_sent_again() -> None:
    company = make_company()
    house = make_house(company)
    asker = program(company)
    etag = asker.get(address_of(house))["ETag"]
    for tag in (etag, f"W/{etag}", f'"x", {etag}', "*"):
        same = asker.get(address_of(house), **{"If-None-Match": tag})
        assert (same.status_code, same["ETag"]) == (304, etag)
    assert asker.get(address_of(house), **{"If-None-Match": '"x"'}).status_code == 200


def test_nobody_overwrites_what_they_have_not_seen() -> None:
    company = make_company()
    house = make_house(company)
    asker, address = program(company), address_of(house)
    seen = asker.get(address)["ETag"]
    for answer in (asker.patch(address, {"name": "Mine"}), asker.delete(address)):
        assert (answer.status_code, code(answer)) == (428, "no-if-match")
    facts = {"address": "2 Mill Lane", "heat_kw": 9.0}
    edit_house_facts(house=house, version=1, facts=facts, by=None, now=MONDAY)
    for tag in (seen, f"W/{asker.get(address)['ETag']}", '"1"', "1", '"x.y"'):
        answer = asker.patch(address, {"name": "Mine"}, tag)
        assert (answer.status_code, code(answer)) == (412, "stale")
    said = asker.patch(address, {"name": "Mine"}, seen).json()
    assert said["changes"] == [
        {"pointer": "#/address", "now": "2 Mill Lane", "then": ""},
        {"pointer": "#/heat_kw", "now": 9.0, "then": None},
    ]
    assert asker.patch(address, {"name": "Mine"}, said["etag"]).status_code == 200


def test_who_is_too_late_is_told_what_was_then_and_what_is_now() -> None:
    company = make_company()
    house = make_house(company, "Mill Cottage", handover_on="2026-03-27", opens_on="2026-03-02")
    asker, address = program(company), address_of(house)
    seen = asker.get(address)["ETag"]
    for change in ({"name": "Old Mill", "heat_kw": 4.5}, {"name": "New Mill", "opens_on": None}):
        assert asker.patch(address, change, "*").status_code == 200
    answer = asker.delete(address, seen)
    assert answer.json()["changes"] == [
        {"pointer": "#/name", "now": "New Mill", "then": "Mill Cottage"},
        {"pointer": "#/opens_on", "now": None, "then": "2026-03-02"},
        {"pointer": "#/heat_kw", "now": 4.5, "then": None},
    ]


def test_a_key_makes_a_write_happen_once() -> None:
    company = make_company()
    asker = program(company)
    first = asker.post(HOUSES, NEW, idempotency_key="k-1")
    again = asker.post(HOUSES, dict(reversed(NEW.items())), idempotency_key='"k-1"')
    assert (first.status_code, again.status_code) == (201, 201)
    assert again.json() == first.json()
    assert (again["Location"], again["ETag"]) == (first["Location"], first["ETag"])
    other = asker.post(HOUSES, {**NEW, "name": "Other"}, idempotency_key="k-1")
    assert (other.status_code, code(other)) == (422, "key-reused")
    elsewhere = program(make_company("Another firm"))
    assert elsewhere.post(HOUSES, NEW, idempotency_key="k-1").status_code == 201
    assert House.objects.filter(company=company).count() == 1


def test_a_key_of_a_refused_write_is_free_again() -> None:
    asker = program(make_company())
    assert asker.post(HOUSES, {**NEW, "zone": "x"}, idempotency_key="k").status_code == 422
    assert asker.post(HOUSES, NEW, idempotency_key="k").status_code == 201


@pytest.mark.parametrize("key", ["", "a b", "x" * 256, 'a"b', "é"])
def test_a_key_that_is_none_is_refused(key: str) -> None:
    answer = program(make_company()).post(HOUSES, NEW, idempotency_key=key)
    assert (answer.status_code, code(answer)) == (400, "unreadable")
    assert not House.objects.exists()


def test_a_removal_is_answered_the_same_again() -> None:
    company = make_company()
    asker = program(company)
    made = asker.post(HOUSES, NEW)
    for _ in range(2):
        gone = asker.delete(made["Location"], made["ETag"], idempotency_key="k")
        assert gone.status_code == 204
    assert asker.delete(made["Location"], made["ETag"]).status_code == 404


def test_who_asks_too_often_is_told_when_to_ask_again(settings: Settings) -> None:
    cache.clear()
    settings.API_PER_MINUTE = 3
    company = make_company()
    asker, other = program(company), program(company, Right.READ)
    answers = [asker.get(HOUSES) for _ in range(6)]
    refused = answers[-1]
    assert answers[0].status_code == 200
    assert (refused.status_code, code(refused)) == (429, "too-many")
    assert 1 <= int(refused["Retry-After"]) <= 60
    assert other.get(HOUSES).status_code == 200


def test_what_there_is_not_is_a_problem_document_too() -> None:
    asker = program(make_company())
    for address in ("nothing/", "houses", "houses/not-an-id/", "houses/%0a/", f"{'x' * 3000}/"):
        answer = asker.get(f"/api/v1/{address}")
        assert (answer.status_code, code(answer)) == (404, "not-there")


def test_every_kind_of_problem_says_what_it_is() -> None:
    asker = program(make_company())
    kind = asker.get("/api/v1/nothing/").json()["type"]
    assert Program().get(kind).json()["code"] == "not-there"
    assert Program().get("/api/v1/problems/none/").status_code == 404


def resources(patterns: list[URLPattern | URLResolver]) -> Iterator[type]:
    for pattern in patterns:
        if isinstance(pattern, URLResolver):
            yield from resources(pattern.url_patterns)
        elif view := getattr(pattern.callback, "cls", None):
            yield view


def test_every_resource_asks_who_asks() -> None:
    found = set(resources(get_resolver("api.rest.urls").url_patterns)) - {Nothing}
    assert len(found) > 5
    assert all(issubclass(view, CompanyResource) for view in found)
