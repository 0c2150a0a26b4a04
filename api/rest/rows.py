"""Resources that are rows: listed, looked at, made, changed, removed; a resource says by which
services (see "How to add a resource" in DEVELOPERS.md)."""

from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from typing import Any, ClassVar
from uuid import UUID

from django.db.models import Model, QuerySet
from django.utils import timezone
from rest_framework.exceptions import NotFound
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.viewsets import GenericViewSet

from api.access import may_plan, who_asks
from api.rest.errors import Conflict
from api.rest.paging import Pages
from api.rest.query import Listing
from api.rest.resource import CompanyResource
from api.rest.serializers import RowSerializer
from api.rest.versions import has_seen
from api.row_ids import own_rows
from finishing.models import User
from finishing.models.owned import Row
from finishing.services.company_log import logged
from finishing.services.errors import InputFaults
from finishing.services.rows import StaleRowsError

NOT_MODIFIED = 304


class Rows[R: Row](CompanyResource, GenericViewSet):  # type: ignore[type-arg]
    """Rows of one kind: GET of the list and of each.

    lookup_value_converter: of which kind its ids are (``api/row_ids.py``). query: what a list may
    be asked for. related: rows that answers name, read in the same query.
    """

    model: ClassVar[type[Model]]
    query: ClassVar[type[Listing]] = Listing
    related: ClassVar[Collection[str]] = ()
    prefetched: ClassVar[Collection[str]] = ()
    pagination_class = Pages
    lookup_field = "public_id"
    lookup_value_converter: ClassVar[str]

    def check_query(self, request: Request) -> None:
        if self.action == "list":
            self.filters = self.query.filters(request)
        else:
            super().check_query(request)

    def get_queryset(self) -> QuerySet[R]:
        if getattr(self, "swagger_fake_view", False):
            return self.model._default_manager.none()  # type: ignore[return-value]
        rows = own_rows(self.company(self.request), self.model)  # type: ignore[type-var]
        return rows.select_related("company", *self.related).prefetch_related(*self.prefetched)  # type: ignore[return-value]

    def get_serializer_context(self) -> dict[str, Any]:
        context = dict(super().get_serializer_context())
        if not getattr(self, "swagger_fake_view", False):
            context["company"] = self.company(self.request)
            context["may_plan"] = may_plan(self.request)
        return context

    def list(self, request: Request) -> Response:  # noqa: ARG002
        """List them, in the order of their making."""
        page = self.paginate_queryset(self.get_queryset().filter(**self.filters))
        return self.get_paginated_response(self.get_serializer(page, many=True).data)

    def retrieve(self, request: Request, public_id: UUID) -> Response:
        """Return one."""
        said = self.said(self.row(public_id))
        if has_seen(request, said["etag"]):
            return Response(status=NOT_MODIFIED, headers={"ETag": said["etag"]})
        return Response(said, headers={"ETag": said["etag"]})

    def row(self, public_id: UUID) -> R:
        """Return a row of the company; 404 where it has no such row."""
        row = self.get_queryset().filter(public_id=public_id).first()
        if row is None:
            raise NotFound(f"There is no such {self.model._meta.verbose_name}.")
        return row

    def said(self, row: R) -> dict[str, Any]:
        """Return what is answered of a row, its ``etag`` included."""
        return dict(self.get_serializer(row).data)

    def who(self) -> User | None:
        return who_asks(self.request)

    def now(self) -> datetime:
        return timezone.now()

    @contextmanager
    def logging(self) -> Iterator[None]:
        """Note what a write changes, whose services note nothing themselves."""
        if not self.logs:
            yield
            return
        company = self.company(self.request)
        with logged(company, self.logs, by=self.who(), now=self.now()):
            yield

    def changed(self, row: R, *, status: int = 200) -> Response:
        """Return the answer to a write: the row as it is stored."""
        said = self.said(self.row(row.public_id))
        headers = {"ETag": said["etag"]}
        if status in {201, 202}:
            headers["Location"] = self.reverse_action("detail", args=[row.public_id])
        return Response(said, status=status, headers=headers)


class Made[R: Row](Rows[R]):
    """POST of a new row."""

    def make(self, values: Mapping[str, Any]) -> R:
        """Store a new row by a service, and return it."""
        raise NotImplementedError

    def create(self, request: Request) -> Response:
        """Make one."""
        sent = self.get_serializer(data=request.data)
        sent.is_valid(raise_exception=True)
        with self.logging():
            row = self.make(sent.validated_data)
        return self.changed(row, status=201)


class Edited[R: Row](Rows[R]):
    """PATCH of a row that the client has seen as it is."""

    matched: ClassVar[Collection[str]] = ("PATCH",)
    serializer_class: type[RowSerializer[Any]]

    def editable(self, row: R) -> Collection[str]:
        """Return the names of the fields that can be changed."""
        return self.serializer_class(row, context=self.get_serializer_context()).editable()

    def edit(self, row: R, values: Mapping[str, Any]) -> None:
        """Change a row, which has the version that was seen, by a service."""
        raise NotImplementedError

    def partial_update(self, request: Request, public_id: UUID) -> Response:
        """Change the fields that are named; the others stay."""
        row = self.row(public_id)
        said = self.said(row)
        self.require_seen(said, self.editable(row))
        sent = self.get_serializer(row, data=request.data, partial=True)
        sent.is_valid(raise_exception=True)
        try:
            with self.logging():
                self.edit(row, sent.validated_data)
        except StaleRowsError:
            raise self.stale(self.said(self.row(public_id)), said["etag"]) from None
        return self.changed(row)


class Removed[R: Row](Edited[R]):
    """DELETE of a row that the client has seen as it is."""

    matched: ClassVar[Collection[str]] = ("PATCH", "DELETE")

    def remove(self, row: R) -> None:
        """Remove a row, which has the version that was seen, by a service."""
        raise NotImplementedError

    def destroy(self, request: Request, public_id: UUID) -> Response:  # noqa: ARG002
        """Remove it."""
        row = self.row(public_id)
        said = self.said(row)
        self.require_seen(said, self.editable(row))
        try:
            with self.logging():
                self.remove(row)
        except StaleRowsError:
            raise self.stale(self.said(self.row(public_id)), said["etag"]) from None
        except InputFaults as error:
            raise Conflict(" ".join(fault.text for fault in error.faults)) from None
        return self.removed(row)

    def removed(self, row: R) -> Response:  # noqa: ARG002
        """Return the answer to a removal."""
        return Response(status=204)


class Editable[R: Row](Made[R], Removed[R]):
    """Rows that can be made, changed and removed."""
