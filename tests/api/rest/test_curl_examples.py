"""The README's calls of the API, made by Django's client as curl would make them."""

import re
import shlex
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from django.test import Client

from finishing.models import AirDay, AirSource, Role, User
from tests.api.rest.answers import Answer
from tests.plans import plan_from
from tests.sites import make_heated_site, steady_air

pytestmark = pytest.mark.django_db(transaction=True)

README = (Path(__file__).resolve().parents[3] / "README.md").read_text(encoding="utf-8")
API = README.partition("## The API")[2].partition("\n## ")[0]
CALLS = re.findall(r"^curl (.+)$", API, re.MULTILINE)
WITH_VALUE = {"-c", "-b", "-o", "-e"}


def call(client: Client, line: str, values: dict[str, str]) -> Answer:
    """Make one call; a name such as $HOUSE stands for its value."""
    for name, value in values.items():
        line = line.replace(f"${name}", value)
    headers, form, body, address = {}, {}, "", ""
    words = iter(shlex.split(line))
    for word in words:
        if word == "-H":
            name, _, value = next(words).partition(": ")
            headers[name] = value
        elif word == "--data-urlencode":
            name, _, value = next(words).partition("=")
            form[name] = value
        elif word == "-d":
            body = next(words)
        elif word in WITH_VALUE:
            next(words)
        elif word != "-s":
            parts = urlsplit(word)
            address = f"{parts.path}?{parts.query}"
    if form:
        return client.post(address, form, headers=headers)
    if body:
        content_type = headers.pop("Content-Type")
        return client.post(address, body, content_type=content_type, headers=headers)
    return client.get(address)


def test_every_call_in_the_readme_works() -> None:
    company, house = make_heated_site()
    AirSource.objects.all().delete()
    source = steady_air(company, temperature_c=10.0, humidity=0.8, days=60)
    User.objects.create_user(
        email="you@example.com", password="dust-sheet-7", company=company, role=Role.OWNER
    )
    plan_from(company)
    values = {
        "EMAIL": "you@example.com",
        "PASSWORD": "dust-sheet-7",
        "HOUSE": str(house.public_id),
        "SOURCE": str(source.public_id),
    }
    client = Client(enforce_csrf_checks=True)
    statuses = []
    for line in CALLS:
        cookie = client.cookies.get("csrftoken")
        response = call(client, line, {**values, "TOKEN": cookie.value if cookie else ""})
        statuses.append(response.status_code)
    assert statuses == [200, 302, 200, 200, 201, 200, 200, 200, 200]
    day = AirDay.objects.get(source=source, day="2026-03-01")
    assert day.temperature_c[:3] == [7.2, 7.0, 10.0]
    assert AirSource.objects.filter(house=house, kind="readings").count() == 1
