"""Programs that ask by a token, and what they send."""

import json
from typing import Any, cast

from django.test import Client
from django.utils import timezone

from finishing.models import Company, User
from finishing.queries.rights import Right
from finishing.services.tokens import make_token
from tests.api.rest.answers import Answer


class Program:
    """Sends JSON with a token's Authorization, or with none."""

    def __init__(self, secret: str = "") -> None:
        self.secret = secret
        self.client = Client(headers={"authorization": f"Bearer {secret}"} if secret else {})

    def get(self, address: str, **headers: str) -> Answer:
        return cast(Answer, self.client.get(address, headers=headers))

    def send(self, method: str, address: str, body: Any = None, **headers: str) -> Answer:
        """Send a body; headers have underscores for dashes."""
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        answer = self.client.generic(
            method,
            address,
            "" if body is None else json_of(body),
            content_type="application/json",
            headers=named,
        )
        return cast(Answer, answer)

    def post(self, address: str, body: Any, **headers: str) -> Answer:
        return self.send("POST", address, body, **headers)

    def patch(self, address: str, body: Any, etag: str = "", **headers: str) -> Answer:
        return self.send("PATCH", address, body, **_match(etag), **headers)

    def delete(self, address: str, etag: str = "", **headers: str) -> Answer:
        return self.send("DELETE", address, **_match(etag), **headers)


def json_of(body: Any) -> str:
    return body if isinstance(body, str) else json.dumps(body)


def _match(etag: str) -> dict[str, str]:
    return {"if_match": etag} if etag else {}


def program(company: Company, *scopes: Right, person: User | None = None) -> Program:
    """A program with a token of a company, with every right unless some are named."""
    name = f"Program of {company} {', '.join(scopes)} {person or ''}"
    _, secret = make_token(
        company=company,
        name=name,
        scopes=scopes or tuple(Right),
        person=person,
        now=timezone.now(),
    )
    return Program(secret)


def pointers(answer: Answer) -> list[str]:
    """The places of all faults of an answer, sorted."""
    return sorted(error["pointer"] for error in answer.json()["errors"])
