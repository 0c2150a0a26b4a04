"""How mail is sent: by the server that the environment names, or written to the console."""

from collections.abc import Mapping
from typing import Any

WAYS = ("starttls", "tls", "plain")


def mailers(environment: Mapping[str, str], *, port: int, timeout_s: int) -> dict[str, Any]:
    """Return Django's ``MAILERS``. port: 0 for the usual one of the way.

    Raises SystemExit, as ``whole_numbers`` does, for a way that there is not.
    """
    host = environment.get("COATWEAVE_MAIL_HOST", "").strip()
    if not host:
        return {"default": {"BACKEND": "django.core.mail.backends.console.EmailBackend"}}
    way = environment.get("COATWEAVE_MAIL_SECURITY", "").strip() or "starttls"
    if way not in WAYS:
        raise SystemExit(f"COATWEAVE_MAIL_SECURITY: {way[:40]!r} is not one of {', '.join(WAYS)}")
    return {
        "default": {
            "BACKEND": "django.core.mail.backends.smtp.EmailBackend",
            "OPTIONS": {
                "host": host,
                "port": port or None,
                "username": environment.get("COATWEAVE_MAIL_USER", ""),
                "password": environment.get("COATWEAVE_MAIL_PASSWORD", ""),
                "use_tls": way == "starttls",
                "use_ssl": way == "tls",
                "timeout": timeout_s,
            },
        }
    }
