"""Keeps the secrets of feeds and crews' pages, and the key of the forecast, out of every log."""

import logging
import re

_SECRET = re.compile(
    r"(?i)(feeds/+|/crew/+|/invited/+|password/new/+"
    r"|\b(?:api[_-]?|access[_-]?)?(?:key|token|secret|password)=)[^/\s?#&\"']+"
    r"|\bcoatweave_[\w-]{20,}|(?<=whsec_)[\w+/=-]+|(?<=://)[^/\s@]+(?=@)"
    r"|(?<![\w-])(?:[\w-]{43}|[\w-]{64})(?![\w-])"
)
"""What stands behind feeds/, /crew/, /invited/, password/new/ or a secret's name (apikey=), a token
of the API, a webhook's secret, a sign-in before an address's host, and whatever is as long as a
secret of a feed or a page, however its path is spelled."""


def redacted(text: str) -> str:
    """Return a text without the secrets in it."""
    return _SECRET.sub(r"\1[secret]", text)


class SecretsFilter(logging.Filter):
    """Rewrites a record's finished message, so that no argument of it can carry a secret."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.msg, record.args = redacted(record.getMessage()), ()
        return True
