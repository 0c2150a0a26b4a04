"""How mail is sent: by the server that the environment names, or written to the console."""

from typing import Any

from finishing.config.reader import Reader, WholeNumber

WAYS = ("starttls", "tls", "plain")
SERVER_ANSWERS_WITHIN_S = 30


def mailers(reader: Reader) -> dict[str, Any]:
    """Return Django's ``MAILERS``. The port, if none is set, is the usual one of the way."""
    host = reader.text("COATWEAVE_MAIL_HOST")
    way = reader.choice("COATWEAVE_MAIL_SECURITY", WAYS)
    port = reader.number("COATWEAVE_MAIL_PORT", WholeNumber(default=0, least=1, most=65_535))
    user, password = reader.text("COATWEAVE_MAIL_USER"), reader.secret("COATWEAVE_MAIL_PASSWORD")
    if not host:
        return {"default": {"BACKEND": "django.core.mail.backends.console.EmailBackend"}}
    return {
        "default": {
            "BACKEND": "django.core.mail.backends.smtp.EmailBackend",
            "OPTIONS": {
                "host": host,
                "port": port or None,
                "username": user,
                "password": password,
                "use_tls": way == "starttls",
                "use_ssl": way == "tls",
                "timeout": SERVER_ANSWERS_WITHIN_S,
            },
        }
    }
