"""The whole API asked at random from its own description, by who may do all and by others.

Nothing may end in a server error, or in a status, a header or a body that the description does
not have, nor be taken although the description forbids it. Rows of a company are asked for as
well as rows that there are not. The examples are the same in every run.
"""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from typing import Any

import pytest
import schemathesis
from django.core.cache import cache as django_cache
from django.core.wsgi import get_wsgi_application
from django.db import transaction
from hypothesis import given
from schemathesis import Case, GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    negative_data_rejection,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from api.rest.schema import Generator
from finishing.models import Company
from finishing.queries.rights import Right
from tests.api.rest.api_clients import program
from tests.api.rest.whole_company import Ids, whole_company
from tests.examples import examples

CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
]
FOR_REPORTS = ("/api/v1/reports/", "/api/v1/visits/")
"""What a program may ask for that may only report."""
MODES = (GenerationMode.POSITIVE, GenerationMode.NEGATIVE)


@cache
def description() -> Any:
    raw = Generator().get_schema(request=None, public=True)  # type: ignore[no-untyped-call]
    schema = schemathesis.openapi.from_dict(raw)
    schema.app = get_wsgi_application()  # not config.wsgi's, which sends what is due meanwhile
    return schema


def operations() -> dict[str, list[tuple[str, str]]]:
    """Return methods and paths by resource: those of one are asked of one company in turn."""
    by_resource: defaultdict[str, list[tuple[str, str]]] = defaultdict(list)
    for found in description().get_all_operations():
        one = found.ok()
        by_resource[one.path.split("/")[3]].append((one.method, one.path))
    return dict(by_resource)


OPERATIONS = operations()


@contextmanager
def undone() -> Iterator[None]:
    """Take back what was asked, and what is kept of it: the next operation finds all its rows."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)
    django_cache.clear()


def ask(
    method: str, path: str, mode: GenerationMode, *, secrets: Sequence[str], ids: Ids | None
) -> list[set[int]]:
    """Ask an operation the same at random with each secret, and return the statuses that came.

    secrets: of tokens, "" for nobody's. ids: rows that addresses and bodies are to name, in any
    version, so that what is sent comes to be read; None for whatever comes.
    """
    operation = description()[path][method]
    named = {"path_parameters": ids.of_path(path)} if ids else {}
    statuses: list[set[int]] = [set() for _ in secrets]

    @examples(2, soak=100)
    @given(case=operation.as_strategy(generation_mode=mode, **named))
    def asked(case: Case) -> None:
        # What was to be refused for its id may name a row by now.
        is_as_drawn = not (ids and ids.name_in(case.body))
        refused = [negative_data_rejection] if is_as_drawn else []
        for secret, seen in zip(secrets, statuses, strict=True):
            headers = {"Authorization": f"Bearer {secret}"} if secret else {}
            headers |= {"If-Match": "*"} if ids and method in {"patch", "put", "delete"} else {}
            response = case.call(headers=headers)
            checks = [*CHECKS, *refused] if secret else CHECKS
            case.validate_response(response, checks=checks)
            seen.add(response.status_code)

    asked()
    return statuses


@pytest.fixture(scope="module")
def whole(django_db_setup: None, django_db_blocker: Any) -> Iterator[tuple[Company, Ids]]:
    """A company with rows of everything, made once: every operation is undone anyway."""
    for_all = transaction.atomic()
    for_all._from_testcase = True  # type: ignore[attr-defined]  # as a test's: publishing asks
    with django_db_blocker.unblock(), for_all:
        yield whole_company()
        transaction.set_rollback(True)


@pytest.mark.django_db
@pytest.mark.parametrize("resource", OPERATIONS)
def test_who_may_do_all_gets_only_answers_that_are_described(
    resource: str, whole: tuple[Company, Ids]
) -> None:
    company, ids = whole
    for method, path in OPERATIONS[resource]:
        with undone():
            secrets = [program(company).secret]
            for mode in MODES:
                for named in (ids, None):
                    ask(method, path, mode, secrets=secrets, ids=named)


@pytest.mark.django_db
@pytest.mark.parametrize("resource", OPERATIONS)
def test_who_may_not_is_told_so_and_no_more(resource: str, whole: tuple[Company, Ids]) -> None:
    company, ids = whole
    for method, path in OPERATIONS[resource]:
        with undone():
            only_report = program(company, Right.REPORT).secret
            secrets = ["", "coatweave_none", only_report]
            *nobodys, reporters = ask(method, path, MODES[0], secrets=secrets, ids=ids)
            assert nobodys == [{401}, {401}], (method, path)
            if path.startswith(FOR_REPORTS):
                assert 403 not in reporters, (method, path)
            else:
                assert reporters == {403}, (method, path)
