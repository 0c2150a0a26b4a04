"""What is logged, and in which form: a line to read, or a line of JSON for another program."""

import logging
from typing import Any

from pythonjsonlogger.core import RESERVED_ATTRS
from pythonjsonlogger.json import JsonFormatter

from finishing.config.redact import redacted

FORMATS = ("text", "json")


class RedactedJson(JsonFormatter):
    """One line of JSON: time (UTC), level, logger, message, run, and the traceback of a failure.

    Secrets are taken out of the finished line, so that none gets by in an extra or a traceback.
    """

    def __init__(self) -> None:
        super().__init__(
            ("levelname", "name", "message", "run"),
            rename_fields={"levelname": "level", "name": "logger"},
            timestamp=True,
            reserved_attrs=[*RESERVED_ATTRS, "request", "server_time"],
        )

    def format(self, record: logging.LogRecord) -> str:
        return redacted(super().format(record))


class RedactedText(logging.Formatter):
    """A line to read, its traceback below it; secrets are taken out of both."""

    def format(self, record: logging.LogRecord) -> str:
        return redacted(super().format(record))


def logging_settings(form: str) -> dict[str, Any]:
    """Return Django's ``LOGGING``. form: one of FORMATS."""
    # Who reads lines is at a command, which says itself what it does.
    own = "INFO" if form == "json" else "WARNING"
    levels = {"scheduling": own, "finishing": own}
    levels |= dict.fromkeys(("django", "django.server", "celery", "gunicorn.error"), "INFO")
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "filters": {
            "secrets": {"()": "finishing.config.redact.SecretsFilter"},
            "run": {"()": "scheduling.run_log.RunFilter"},
        },
        "formatters": {
            "text": {"()": RedactedText},
            "json": {"()": RedactedJson},
        },
        "handlers": {
            "console": {
                "class": "logging.StreamHandler",
                "filters": ["secrets", "run"],
                "formatter": form,
            },
        },
        "loggers": {
            **{
                name: {"handlers": ["console"], "level": level, "propagate": False}
                for name, level in levels.items()
            },
            "httpx": {"filters": ["secrets"]},
        },
    }
