"""Lists in pages, in the order of making (ids are UUIDs of version 7), each known by a cursor."""

from uuid import UUID

from rest_framework.exceptions import NotFound
from rest_framework.pagination import Cursor, CursorPagination
from rest_framework.request import Request

from api.rest.errors import QueryFaults
from api.rest.query import MOST_ROWS, USUAL_ROWS
from finishing.services.errors import Fault


class Pages(CursorPagination):
    """Rows that come or go between two pages are neither shown twice nor passed over."""

    ordering = "public_id"
    page_size = USUAL_ROWS
    page_size_query_param = "limit"
    max_page_size = MOST_ROWS

    def decode_cursor(self, request: Request) -> Cursor | None:
        try:
            cursor = super().decode_cursor(request)
            if cursor is not None and cursor.position is not None:
                UUID(str(cursor.position))
        except (NotFound, ValueError):
            raise QueryFaults([Fault("cursor", "is none that an answer gave")]) from None
        return cursor

    def get_schema_operation_parameters(self, view: object) -> list[dict[str, object]]:  # noqa: ARG002
        """Return none: ``Listing`` has them."""
        return []
