"""The README's calls of the API, made by Django's client as curl would make them."""

import re
import shlex
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from django.core.management import call_command
from django.test import Client

from finishing.models import AirDay, AirSource, Crew, DayOff
from tests.api.rest.answers import Answer
from tests.plans import plan_from
from tests.sites import make_heated_site, steady_air

pytestmark = pytest.mark.django_db(transaction=True)

README = (Path(__file__).resolve().parents[3] / "README.md").read_text(encoding="utf-8")
API = README.partition("## The API")[2].partition("\n##")[0]
CALLS = re.findall(r"^curl (.+)$", API, re.MULTILINE)
(MADE_BY,) = re.findall(r"^TOKEN=\$\(uv run manage.py (.+)\)$", API, re.MULTILINE)


def call(line: str, values: dict[str, str]) -> Answer:
    """Make one call; a name such as $HOUSE stands for its value."""
    for name, value in values.items():
        line = line.replace(f"${name}", value)
    headers: dict[str, str] = {}
    body, method, address = "", "", ""
    words = iter(shlex.split(line))
    for word in words:
        if word == "-H":
            name, _, value = next(words).partition(": ")
            headers[name] = value
        elif word == "-d":
            body = next(words)
        elif word == "-X":
            method = next(words)
        elif word != "-s":
            parts = urlsplit(word)
            address = f"{parts.path}?{parts.query}"
    content_type = headers.pop("Content-Type", "application/octet-stream")
    asked = method or ("POST" if body else "GET")
    return Client().generic(asked, address, body, content_type=content_type, headers=headers)


def test_every_call_in_the_readme_works(capsys: pytest.CaptureFixture[str]) -> None:
    company, house = make_heated_site()
    AirSource.objects.all().delete()
    source = steady_air(company, temperature_c=10.0, humidity=0.8, days=60)
    plan_from(company)
    call_command(*shlex.split(MADE_BY))
    values = {
        "TOKEN": capsys.readouterr().out.strip(),
        "HOUSE": str(house.public_id),
        "SOURCE": str(source.public_id),
        "CREW": str(Crew.objects.get().public_id),
    }
    values["ETAG"] = call(
        f'-s -H "Authorization: Bearer $TOKEN" http://x/api/v1/houses/{house.public_id}/', values
    )["ETag"].replace('"', r"\"")
    statuses = [call(line, values).status_code for line in CALLS]
    assert statuses == [200, 201, 200, 201, 200, 200, 201, 200, 200, 200, 200]
    house.refresh_from_db()
    assert str(house.opens_on) == "2026-03-09"
    assert DayOff.objects.count() == 4
    day = AirDay.objects.get(source=source, day="2026-03-01")
    assert day.temperature_c[:3] == [7.2, 7.0, 10.0]
    assert AirSource.objects.filter(house=house, kind="readings").count() == 1
