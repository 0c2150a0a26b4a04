"""How mail is sent, by what the environment says."""

import pytest

from finishing.config.mail import mailers
from finishing.config.reader import Reader


def test_without_a_host_mail_is_written_to_the_console() -> None:
    backend = mailers(Reader({}))["default"]["BACKEND"]
    assert backend == "django.core.mail.backends.console.EmailBackend"


@pytest.mark.parametrize(
    ("way", "starttls", "tls"), [("", True, False), ("tls", False, True), ("plain", False, False)]
)
def test_a_host_is_reached_the_way_that_is_named(way: str, starttls: bool, tls: bool) -> None:
    environment = {
        "COATWEAVE_MAIL_HOST": "mail.example",
        "COATWEAVE_MAIL_SECURITY": way,
        "COATWEAVE_MAIL_PORT": "2525",
    }
    options = mailers(Reader(environment))["default"]["OPTIONS"]
    assert (options["use_tls"], options["use_ssl"]) == (starttls, tls)
    assert (options["host"], options["port"], options["timeout"]) == ("mail.example", 2525, 30)


def test_another_way_is_refused_in_a_line() -> None:
    environment = {"COATWEAVE_MAIL_HOST": "mail.example", "COATWEAVE_MAIL_SECURITY": "ssl"}
    mailers(reader := Reader(environment))
    assert reader.faults == ["COATWEAVE_MAIL_SECURITY: 'ssl' is not one of starttls, tls, plain"]
