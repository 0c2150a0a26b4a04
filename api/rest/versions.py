"""Entity tags (RFC 9110 section 8.8.3): nobody overwrites what they have not seen.

A tag is the version of a row and, behind a point, three characters for each field of the answer:
its digest. So a refused change can say which fields are others by now without anything being kept
of what a client was shown.
"""

import json
from base64 import urlsafe_b64encode
from collections.abc import Collection, Iterable, Mapping, Sequence
from hashlib import sha256
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder
from django.utils.http import parse_etags
from rest_framework.request import Request

from api.rest.errors import NoIfMatch

_DIGEST = 3
PLAIN = (None, True, False, "")
"""Values that need no log."""


def etag_of(said: Mapping[str, Any], version: int) -> str:
    """Return the strong tag of an answer whose row has this version."""
    return f'"{version}.{"".join(_digest(value) for value in said.values())}"'


def _digest(value: Any) -> str:
    plain = json.dumps(value, sort_keys=True, cls=DjangoJSONEncoder)
    return urlsafe_b64encode(sha256(plain.encode()).digest())[:_DIGEST].decode()


def changed_fields(said: Mapping[str, Any], seen: str) -> list[str]:
    """Return the fields that are others than in the answer with the tag that was seen.

    All of them where the tag is of an answer with other fields than these.
    """
    digests = _seen_digests(said, seen)
    names = [name for name in said if name != "etag"]
    return [name for name in names if _digest(said[name]) != digests.get(name)]


def _seen_digests(said: Mapping[str, Any], seen: str) -> dict[str, str]:
    names = [name for name in said if name != "etag"]
    digests = seen.strip('"').partition(".")[2]
    if len(digests) != _DIGEST * len(names):
        return {}
    places = range(0, len(digests), _DIGEST)
    return {
        name: digests[place : place + _DIGEST] for name, place in zip(names, places, strict=True)
    }


def changes(
    said: Mapping[str, Any], seen: str, former: Mapping[str, Iterable[Any]]
) -> list[dict[str, Any]]:
    """Return what is so by now, by field, of all that has changed since the tag was seen.

    former: values that fields have had. ``then`` is the one of the tag, where it is among them.
    """
    return [
        {"pointer": f"#/{name}", "now": said[name], **_then(said, seen, name, former.get(name, ()))}
        for name in changed_fields(said, seen)
    ]


def _then(said: Mapping[str, Any], seen: str, name: str, former: Iterable[Any]) -> dict[str, Any]:
    digest = _seen_digests(said, seen).get(name)
    for value in (*former, *PLAIN):
        if _digest(value) == digest:
            return {"then": value}
    return {}


def unseen(request: Request, said: Mapping[str, Any], editable: Collection[str]) -> str | None:
    """Return the tag of what its client has seen where that is not what there is now.

    said: the answer that would be given now, with its ``etag``. editable: its fields that can be
    changed. The others may be others by now: what is reckoned moves on by itself, and nobody can
    overwrite it. Raises NoIfMatch.
    """
    asked = request.headers.get("If-Match")
    if asked is None:
        raise NoIfMatch
    tags = parse_etags(asked) or [""]
    return None if "*" in tags or any(_fits(said, tag, editable) for tag in tags) else tags[0]


def _fits(said: Mapping[str, Any], seen: str, editable: Collection[str]) -> bool:
    of_one_version = _version(seen) == _version(said["etag"])
    return of_one_version and not set(changed_fields(said, seen)).intersection(editable)


def _version(etag: str) -> str:
    return etag.partition(".")[0]


def has_seen(request: Request, etag: str) -> bool:
    """Return whether If-None-Match names the tag, or any."""
    tags: Sequence[str] = parse_etags(request.headers.get("If-None-Match", ""))
    return "*" in tags or etag in [tag.removeprefix("W/") for tag in tags]
