"""The secrets of feeds and pages never reach a log."""

import logging
from logging import StreamHandler

import pytest
from django.test import Client

from finishing.config.redact import SecretsFilter

SECRET = "k3yk3yk3yk3yk3yk3y-_AA"


def test_secret_in_an_argument_is_cut_out_of_the_finished_message() -> None:
    line = '"GET /feeds/%s/north-crew.ics HTTP/1.1" 200'
    record = logging.LogRecord("django.server", logging.INFO, "", 0, line, (SECRET,), None)
    SecretsFilter().filter(record)
    assert record.getMessage() == '"GET /feeds/[secret]/north-crew.ics HTTP/1.1" 200'


def test_every_configured_handler_of_the_server_log_cuts_secrets() -> None:
    for name in ("django", "django.server"):
        # The test runner adds handlers of its own kinds, which keep lines to themselves.
        handlers = [h for h in logging.getLogger(name).handlers if type(h) is StreamHandler]
        assert handlers
        for handler in handlers:
            assert any(isinstance(one, SecretsFilter) for one in handler.filters)


def test_refused_feed_leaves_no_secret(
    db: None, client: Client, capfd: pytest.CaptureFixture[str]
) -> None:
    assert client.get(f"/feeds/{SECRET}/north-crew.ics").status_code == 404
    shown = capfd.readouterr()
    assert SECRET not in shown.out + shown.err


@pytest.mark.parametrize("path", ["/crew/{}/air/", "/%63rew/{}/air/", "/Crew//{}/air/?noted=1"])
def test_secret_of_a_page_is_cut_out(path: str) -> None:
    secret = "x-_A" * 16
    record = logging.LogRecord("django", logging.INFO, "", 0, path.format(secret), (), None)
    SecretsFilter().filter(record)
    assert secret not in record.getMessage()


@pytest.mark.parametrize("path", ["/%66eeds/{}/a.ics", "/feeds//{}/a.ics", "/Feeds/{}/a.ics"])
def test_secret_is_cut_out_however_its_path_is_spelled(path: str) -> None:
    secret = "x-_A" * 10 + "abc"
    record = logging.LogRecord("django", logging.INFO, "", 0, path.format(secret), (), None)
    SecretsFilter().filter(record)
    assert secret not in record.getMessage()


@pytest.mark.parametrize("secret", ["apikey=hush", "token=hush", "api_key=hush", "me:hush@"])
def test_secret_of_an_address_asked_is_cut_out(secret: str) -> None:
    sign_in, query = (secret, "") if secret.endswith("@") else ("", f"&{secret}")
    url = f"https://{sign_in}forecast.example/v1?models=fine{query}"
    record = logging.LogRecord("httpx", logging.INFO, "", 0, 'GET %s "200 OK"', (url,), None)
    SecretsFilter().filter(record)
    shown = record.getMessage()
    assert "hush" not in shown
    assert "forecast.example/v1?models=fine" in shown
