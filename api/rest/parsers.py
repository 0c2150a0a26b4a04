"""What the API takes: JSON (RFC 8259) of a bounded size."""

import io
from collections.abc import Mapping
from typing import IO, Any, ClassVar

from rest_framework.exceptions import ParseError
from rest_framework.parsers import BaseParser, JSONParser

from api.rest.errors import TooLarge

MOST_BYTES = 2_000_000
MOST_HOURS = 100_000
"""Of air in one call: more than eleven years."""
MOST_BYTES_OF_HOURS = 12_000_000
"""So many with names and figures written out; those are some 80 bytes an hour."""


class BoundedJSONParser(BaseParser):
    """Refuses NaN and infinities, which JSON does not have, and what is too large or too deep.

    It is no JSONParser itself: DRF would hand that the whole body, of whatever size.
    """

    media_type = JSONParser.media_type
    most_bytes: ClassVar[int] = MOST_BYTES

    def parse(
        self,
        stream: IO[Any],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> Any:
        body = stream.read(self.most_bytes + 1)
        if len(body) > self.most_bytes:
            raise TooLarge
        try:
            return JSONParser().parse(io.BytesIO(body), media_type, parser_context)
        except RecursionError:
            raise ParseError("The JSON is nested too deeply.") from None


class HoursParser(BoundedJSONParser):
    """Takes what many hours of air come to."""

    most_bytes = MOST_BYTES_OF_HOURS
