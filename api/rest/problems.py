"""Every kind of problem that the API answers with: its code, status, and what to do about it."""

from typing import NamedTuple


class Kind(NamedTuple):
    """A kind of problem. code: stable, the last part of ``type`` (RFC 9457 section 3.1.1)."""

    code: str
    status: int
    title: str
    meaning: str


UNREADABLE = Kind("unreadable", 400, "Unreadable", "The body is no JSON, or a header is no good.")
NOBODY = Kind("nobody", 401, "Who asks?", "Send a token, or sign in: nobody is known to ask.")
NO_RIGHT = Kind("no-right", 403, "Not permitted", "Whoever asks has not the right to do this.")
NOT_THERE = Kind("not-there", 404, "Not there", "The company has nothing at this address.")
NO_METHOD = Kind("no-method", 405, "No such method", "This address does not take that method.")
NO_FORMAT = Kind("no-format", 406, "No such format", "Answers are JSON: accept that.")
CONFLICT = Kind("conflict", 409, "Conflict", "Things do not stand so that this can be done.")
IN_PROGRESS = Kind(
    "in-progress", 409, "In progress", "The request of this Idempotency-Key is being carried out."
)
BREAKS_RULE = Kind(
    "breaks-rule",
    409,
    "Breaks a rule",
    "It does not hold there: reason is the rule that it breaks.",
)
OVERTAKEN = Kind(
    "overtaken",
    409,
    "Overtaken",
    "Something else has come before it: reason says what, look again at how things stand.",
)
STALE = Kind(
    "stale",
    412,
    "Changed meanwhile",
    "What If-Match names has changed since: changes says what, etag is of what is so by now.",
)
TOO_LARGE = Kind("too-large", 413, "Too large", "Send it in several requests.")
NO_JSON = Kind("no-json", 415, "No JSON", "Bodies are application/json.")
INVALID = Kind(
    "invalid", 422, "Not as it should be", "errors lists everything wrong; nothing was stored."
)
KEY_REUSED = Kind(
    "key-reused", 422, "Key used before", "This Idempotency-Key was given to another request."
)
NO_IF_MATCH = Kind(
    "no-if-match", 428, "If-Match needed", "Say by If-Match which version you have looked at."
)
TOO_MANY = Kind("too-many", 429, "Too many requests", "Ask again after Retry-After seconds.")
NO_ROOM = Kind("no-room", 507, "No room", "The server's disk is full: nothing was stored.")

KINDS = (
    UNREADABLE,
    NOBODY,
    NO_RIGHT,
    NOT_THERE,
    NO_METHOD,
    NO_FORMAT,
    CONFLICT,
    IN_PROGRESS,
    BREAKS_RULE,
    OVERTAKEN,
    STALE,
    TOO_LARGE,
    NO_JSON,
    INVALID,
    KEY_REUSED,
    NO_IF_MATCH,
    TOO_MANY,
    NO_ROOM,
)
BY_CODE = {kind.code: kind for kind in KINDS}
BY_STATUS = {kind.status: kind for kind in reversed(KINDS)}
"""The kind of a status where nothing more particular is known."""
