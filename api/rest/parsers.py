"""What the API takes: JSON (RFC 8259) of a bounded size."""

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import IO, Any, ClassVar

from rest_framework.exceptions import ParseError
from rest_framework.parsers import BaseParser, JSONParser
from rest_framework.utils import json

from api.rest.errors import TooLarge

MOST_BYTES = 2_000_000
MOST_BYTES_OF_A_REPORT = 14_000_000
LONGEST_TWICE = 200
"""Characters of names that are there more than once, in the answer."""
MOST_HOURS = 100_000
"""Of air in one call: more than eleven years."""
MOST_BYTES_OF_HOURS = 12_000_000
"""So many with names and figures written out; those are some 80 bytes an hour."""


class BoundedJSONParser(BaseParser):
    """Refuses NaN and infinities, which JSON does not have, a name given twice, halves of
    surrogate pairs, and what is too large or too deep.

    It is no JSONParser itself: DRF would hand that the whole body, of whatever size.
    """

    media_type = JSONParser.media_type
    most_bytes: ClassVar[int] = MOST_BYTES

    def parse(
        self,
        stream: IO[Any],
        media_type: str | None = None,  # noqa: ARG002
        parser_context: Mapping[str, Any] | None = None,  # noqa: ARG002
    ) -> Any:
        body = _bounded(stream, self.most_bytes)
        try:
            return _read(body)
        except RecursionError:
            raise ParseError("The JSON is nested too deeply.") from None
        except ValueError as error:
            raise ParseError(f"JSON parse error - {error}") from None


class ReportParser(BoundedJSONParser):
    """Takes a report with a photo, which base64 makes a third larger."""

    most_bytes = MOST_BYTES_OF_A_REPORT


class HoursParser(BoundedJSONParser):
    """Takes what many hours of air come to."""

    most_bytes = MOST_BYTES_OF_HOURS


def _read(body: bytes) -> Any:
    """Return what a body says; raise ValueError where it is not JSON that has one sense only."""
    data = json.loads(body.decode(), object_pairs_hook=_object)
    if b"\\u" in body:
        _refuse_halves(data)
    return data


def _object(pairs: Sequence[tuple[str, Any]]) -> dict[str, Any]:
    """Return an object; of a name that is there twice readers take one value or the other."""
    found = dict(pairs)
    if len(found) < len(pairs):
        twice = [name for name, count in Counter(name for name, _ in pairs).items() if count > 1]
        raise ValueError(f"there more than once in an object: {json.dumps(twice)[:LONGEST_TWICE]}")
    return found


def _refuse_halves(data: Any) -> None:
    """Raise ValueError for text that has no UTF-8: what refuses it could not be written down."""
    try:
        json.dumps(data, ensure_ascii=False).encode()
    except UnicodeEncodeError:
        raise ValueError("a \\u escape is half of a surrogate pair") from None


class FileText(str):
    """A file as it is: each byte a character of the same number, so that its reader, who knows of
    encodings, gets it back by latin-1."""


class CsvParser(BaseParser):
    """Takes a file as it is."""

    media_type = "text/csv"

    def parse(
        self,
        stream: IO[Any],
        media_type: str | None = None,  # noqa: ARG002
        parser_context: Mapping[str, Any] | None = None,  # noqa: ARG002
    ) -> Any:
        return FileText(_bounded(stream, MOST_BYTES_OF_HOURS).decode("latin-1"))


def _bounded(stream: IO[Any], most: int) -> bytes:
    body: bytes = stream.read(most + 1)
    if len(body) > most:
        raise TooLarge
    return body
