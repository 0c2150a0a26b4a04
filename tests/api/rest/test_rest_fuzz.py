"""The whole API asked at random from its own description, by who may do all and by others.

Nothing may end in a server error, or in a status, a header or a body that the description does
not have, nor be taken although the description forbids it. Rows of a company are asked for as
well as rows that there are not. The examples are the same in every run.
"""

from functools import cache
from typing import Any

import pytest
import schemathesis
from django.core.wsgi import get_wsgi_application
from drf_spectacular.generators import SchemaGenerator
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
    raw = SchemaGenerator().get_schema(request=None, public=True)  # type: ignore[no-untyped-call]
    schema = schemathesis.openapi.from_dict(raw)
    schema.app = get_wsgi_application()  # not config.wsgi's, which sends what is due meanwhile
    return schema


OPERATIONS = [(found.ok().method, found.ok().path) for found in description().get_all_operations()]


def ask(method: str, path: str, mode: GenerationMode, *, secret: str, ids: Ids | None) -> set[int]:
    """Ask an operation at random and return the statuses that came.

    secret: of a token, "" for nobody's. ids: rows that addresses and bodies are to name, in any
    version, so that what is sent comes to be read; None for whatever comes.
    """
    operation = description()[path][method]
    named = {"path_parameters": ids.of_path(path)} if ids else {}
    statuses = set()
    headers = {"Authorization": f"Bearer {secret}"} if secret else {}
    headers |= {"If-Match": "*"} if ids and method in {"patch", "put", "delete"} else {}
    checks = [*CHECKS, negative_data_rejection] if secret else CHECKS

    @examples(2, soak=100)
    @given(case=operation.as_strategy(generation_mode=mode, **named))
    def asked(case: Case) -> None:
        if ids:
            ids.name_in(case.body)
        response = case.call(headers=headers)
        case.validate_response(response, checks=checks)
        statuses.add(response.status_code)

    asked()
    return statuses


@pytest.mark.django_db
@pytest.mark.parametrize(("method", "path"), OPERATIONS)
def test_who_may_do_all_gets_only_answers_that_are_described(method: str, path: str) -> None:
    company, ids = whole_company()
    secret = program(company).secret
    for mode in MODES:
        for named in (ids, None):
            ask(method, path, mode, secret=secret, ids=named)


@pytest.mark.django_db
@pytest.mark.parametrize(("method", "path"), OPERATIONS)
def test_who_may_not_is_told_so_and_no_more(method: str, path: str) -> None:
    company, ids = whole_company()
    only_report = program(company, Right.REPORT).secret
    for secret, status in (("", 401), ("coatweave_none", 401), (only_report, 403)):
        statuses = ask(method, path, GenerationMode.POSITIVE, secret=secret, ids=ids)
        if secret == only_report and path.startswith(FOR_REPORTS):
            assert 403 not in statuses
        else:
            assert statuses == {status}
