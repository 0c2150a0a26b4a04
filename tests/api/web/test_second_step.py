"""A code besides the password. Codes are worked out by the test itself, after RFC 6238 and 4226."""

import base64
import hmac
import re
import struct
from datetime import timedelta
from importlib import import_module

import pytest
from django.apps import apps
from django.test import Client
from django.utils import timezone
from django_otp.plugins.otp_static.models import StaticDevice
from django_otp.plugins.otp_totp.models import TOTPDevice
from pytest_django import Settings

from finishing.models import Company, PhoneKey, Role, User, WrittenCode
from finishing.services.people import remove_person
from finishing.services.second_step import passes
from finishing.services.sign_in_limits import MOST_TRIES
from tests.factories import make_company

pytestmark = pytest.mark.django_db
ANN, WORDS = "ann@example.com", "dust sheets and ladders"
WRONG = "This code is wrong"


@pytest.fixture(autouse=True)
def _ann() -> None:
    User.objects.create_user(ANN, WORDS, company=make_company(), role=Role.VIEWER)


def code_of(key: str, at: float) -> str:
    """RFC 6238 with its usual values: SHA-1, 30 seconds, six digits (RFC 4226, 5.3)."""
    secret = base64.b32decode(key + "=" * (-len(key) % 8))
    digest = hmac.digest(secret, struct.pack(">Q", int(at // 30)), "sha1")
    start = digest[-1] & 0xF
    (number,) = struct.unpack(">I", digest[start : start + 4])
    return f"{(number & 0x7FFFFFFF) % 1_000_000:06}"


def test_the_codes_of_this_test_are_those_of_the_standard() -> None:
    """RFC 6238, appendix B, SHA-1, of which six digits are the last of the eight."""
    key = base64.b32encode(b"12345678901234567890").decode()
    assert [code_of(key, at) for at in (59, 1111111109, 20000000000)] == [
        "287082",
        "081804",
        "353130",
    ]


def password(client: Client, after: str = "") -> str:
    form = {"username": ANN, "password": WORDS, "next": after}
    return client.post("/sign-in/", form).headers["Location"]


def turned_on() -> tuple[str, list[str]]:
    """Return the key and the codes written down."""
    client = Client()
    password(client)
    page = client.get("/account/second-step/").text
    assert "<svg" in page
    key = re.search(r'<span class="secret">([A-Z2-7]+)</span>', page)
    assert key
    assert WRONG in client.post("/account/second-step/", {"code": "abc"}).text
    now = timezone.now().timestamp()
    answer = client.post("/account/second-step/", {"code": code_of(key[1], now - 30)})
    codes = re.findall(r"<li>([0-9a-f ]{19})</li>", answer.text)
    assert len(codes) == 10
    assert key[1] not in client.get("/account/second-step/").text, "never shown again"
    return key[1], codes


def test_a_password_alone_signs_nobody_in_any_more() -> None:
    key, _codes = turned_on()
    client = Client()
    assert password(client, after="/air/") == "/sign-in/code/"
    assert client.get("/week/").status_code == 302
    assert client.get("/api/schema/").status_code in {401, 403, 404}
    code = code_of(key, timezone.now().timestamp())
    assert client.post("/sign-in/code/", {"code": code}).headers["Location"] == "/air/"
    assert client.get("/week/").status_code == 200
    again = Client()
    password(again)
    assert WRONG in again.post("/sign-in/code/", {"code": code}).text, "a code is good once"


def test_a_code_written_down_is_good_once() -> None:
    _key, codes = turned_on()
    for expected in (302, 422):
        client = Client()
        password(client)
        answer = client.post("/sign-in/code/", {"code": codes[0].upper()})
        assert answer.status_code == expected


def test_the_database_alone_makes_no_code(settings: Settings) -> None:
    """Neither the phone's key nor a code that was written down lies in it as it is; with the key
    of the seals lost, what was written down still lets its owner in."""
    key, codes = turned_on()
    stored = str([*PhoneKey.objects.values(), *WrittenCode.objects.values()])
    for secret in (key, base64.b32decode(key).hex(), *("".join(code.split()) for code in codes)):
        assert secret not in stored
    ann = User.objects.get(email=ANN)
    settings.SEAL_KEY = "another key"
    assert not passes(ann, code=code_of(key, timezone.now().timestamp()))
    assert passes(ann, code="".join(codes[0].split()))


def test_a_former_key_of_the_seals_still_opens_the_phones(settings: Settings) -> None:
    key, _codes = turned_on()
    settings.FORMER_SEAL_KEYS, settings.SEAL_KEY = [settings.SEAL_KEY], "another key"
    code = code_of(key, timezone.now().timestamp())
    assert passes(User.objects.get(email=ANN), code=code)


def test_codes_are_not_guessed() -> None:
    _key, codes = turned_on()
    client = Client()
    password(client)
    for _ in range(MOST_TRIES):
        client.post("/sign-in/code/", {"code": "000000"})
    refused = client.post("/sign-in/code/", {"code": codes[0]})
    assert "Too many tries" in refused.text
    assert client.get("/week/").status_code == 302


def test_the_code_follows_the_password_soon_and_leads_to_no_other_site(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    _key, codes = turned_on()
    client = Client()
    password(client, after="//elsewhere.example")
    answer = client.post("/sign-in/code/", {"code": codes[0]})
    assert answer.headers["Location"] == "/"
    late = Client()
    password(late)
    now = timezone.now()
    monkeypatch.setattr(timezone, "now", lambda: now + timedelta(minutes=11))
    answer = late.post("/sign-in/code/", {"code": codes[1]})
    assert answer.headers["Location"] == "/sign-in/"
    assert Client().get("/sign-in/code/").headers["Location"] == "/sign-in/"


def test_it_is_turned_off_with_the_password_alone() -> None:
    _key, codes = turned_on()
    client = Client()
    password(client)
    client.post("/sign-in/code/", {"code": codes[0]})
    wrong = client.post("/account/second-step/", {"password": "guess"})
    assert "The password is wrong." in wrong.text
    assert client.post("/account/second-step/", {"password": WORDS}).status_code == 302
    assert password(Client()) == "/"


def test_who_is_removed_has_none_when_invited_again() -> None:
    turned_on()
    ann = User.objects.get(email=ANN)
    owner = User.objects.create_user(
        "owner@example.com", WORDS, company=Company.objects.get(), role=Role.OWNER
    )
    remove_person(person=ann, version=ann.version, by=owner, now=timezone.now())
    User.objects.filter(pk=ann.pk).update(is_active=True)
    assert password(Client()) == "/"


def test_what_lay_in_the_database_as_it_is_was_sealed_and_still_signs_in() -> None:
    ann = User.objects.get(email=ANN)
    key = TOTPDevice.objects.create(user=ann, confirmed=True, name="phone").key
    written = StaticDevice.objects.create(user=ann, name="written down")
    written.token_set.create(token="0123456789")
    migration = import_module("finishing.migrations.0028_seal_second_steps")
    migration.seal_keys(apps, None)
    migration.hash_codes(apps, None)
    assert not TOTPDevice.objects.exists()
    assert not StaticDevice.objects.exists()
    phone = base64.b32encode(bytes.fromhex(key)).decode()
    assert passes(ann, code=code_of(phone, timezone.now().timestamp()))
    assert passes(ann, code="0123456789")
    assert not passes(ann, code="0123456789")
