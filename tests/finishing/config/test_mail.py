"""How mail is sent, by what the environment says."""

import pytest

from finishing.config.mail import mailers


def test_without_a_host_mail_is_written_to_the_console() -> None:
    backend = mailers({}, port=0, timeout_s=30)["default"]["BACKEND"]
    assert backend == "django.core.mail.backends.console.EmailBackend"


@pytest.mark.parametrize(
    ("way", "starttls", "tls"), [("", True, False), ("tls", False, True), ("plain", False, False)]
)
def test_a_host_is_reached_the_way_that_is_named(way: str, starttls: bool, tls: bool) -> None:
    environment = {"COATWEAVE_MAIL_HOST": "mail.example", "COATWEAVE_MAIL_SECURITY": way}
    options = mailers(environment, port=2525, timeout_s=30)["default"]["OPTIONS"]
    assert (options["use_tls"], options["use_ssl"]) == (starttls, tls)
    assert (options["host"], options["port"], options["timeout"]) == ("mail.example", 2525, 30)


def test_another_way_is_refused_in_a_line() -> None:
    environment = {"COATWEAVE_MAIL_HOST": "mail.example", "COATWEAVE_MAIL_SECURITY": "ssl"}
    with pytest.raises(SystemExit, match="COATWEAVE_MAIL_SECURITY: 'ssl' is not one of"):
        mailers(environment, port=0, timeout_s=30)
