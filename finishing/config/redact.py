"""Keeps the secrets in feed addresses, and the key of the forecast, out of every log line."""

import logging
import re

_SECRET = re.compile(r"(?i)(feeds/+|\bapikey=)[^/\s?#&\"']+|(?<![\w-])[\w-]{43}(?![\w-])")
"""What stands behind feeds/ or apikey=, and whatever is as long as a secret of a feed, however
its path is spelled."""


class SecretsFilter(logging.Filter):
    """Rewrites a record's finished message, so that no argument of it can carry a secret."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.msg, record.args = _SECRET.sub(r"\1[secret]", record.getMessage()), ()
        return True
