"""Keeps the secrets in feed addresses out of every log line."""

import logging
import re

_SECRET = re.compile(r"(/feeds/)[^/\s?#\"']+")


class SecretsFilter(logging.Filter):
    """Rewrites a record's finished message, so that no argument of it can carry a secret."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.msg, record.args = _SECRET.sub(r"\1[secret]", record.getMessage()), ()
        return True
