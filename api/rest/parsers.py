"""What the API takes: JSON (RFC 8259) of a bounded size."""

import io
from collections.abc import Mapping
from typing import IO, Any

from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser

from api.rest.errors import TooLarge

MOST_BYTES = 2_000_000
"""Some two years of hours."""


class BoundedJSONParser(JSONParser):
    """Refuses NaN and infinities, which JSON does not have, and what is too large or too deep."""

    def parse(
        self,
        stream: IO[Any],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> Any:
        body = stream.read(MOST_BYTES + 1)
        if len(body) > MOST_BYTES:
            raise TooLarge
        try:
            return super().parse(io.BytesIO(body), media_type, parser_context)
        except RecursionError:
            raise ParseError("The JSON is nested too deeply.") from None
