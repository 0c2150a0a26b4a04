"""What all resources share: who asks, for which company, and how queries and writes are taken."""

from collections.abc import Collection, Mapping
from functools import partial
from typing import Any, ClassVar
from uuid import UUID

from rest_framework.exceptions import NotFound
from rest_framework.request import Request
from rest_framework.views import APIView

from api.access import SAFE_METHODS, company_of, require_right
from api.rest.errors import Stale
from api.rest.query import refuse_unknown
from api.rest.versions import changes, unseen
from api.rest.writes import carry_out
from api.row_ids import own_rows, require_own_rows
from finishing.models import Change, Company, House
from finishing.models.owned import Owned
from finishing.queries.former_values import former_values
from finishing.queries.rights import Right


class CompanyResource(APIView):
    """A resource of the company of who asks, who has the right to it.

    needs, writes: as in ``api.access.require_right``. parameters: by method, the names that a
    query may have. matched: methods that need If-Match. conflicts: those beside writes that may
    end in a conflict. logs: what of the company, besides its houses, a write may change: that is
    noted in the history. logged_as: what services call such rows in the log; those of ``logs``
    where it is left out. secrets: fields of answers that no Idempotency-Key keeps: they are blank
    where an answer is given again. Every write goes through ``writes.carry_out``.
    """

    needs: ClassVar[Right] = Right.READ
    writes: ClassVar[Right] = Right.PLAN
    parameters: ClassVar[Mapping[str, Collection[str]]] = {}
    matched: ClassVar[Collection[str]] = ()
    conflicts: ClassVar[Collection[str]] = ()
    secrets: ClassVar[Collection[str]] = ()
    logs: ClassVar[Collection[Change.What]] = ()
    logged_as: ClassVar[Collection[Change.What]] = ()

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        company = company_of(request)
        require_right(request, needs=self.needs, writes=self.writes)
        self.check_query(request)
        if request.method in SAFE_METHODS:
            require_own_rows(company, kwargs)
        elif request.method:
            self._carry_out_once(request.method.lower(), company)

    def check_query(self, request: Request) -> None:
        """Refuse parameters that are not known here."""
        refuse_unknown(request, self.parameters.get(request.method or "", ()))

    def company(self, request: Request) -> Company:
        """Return the company; 404 for somebody of none."""
        return company_of(request)

    def own[R: Owned](self, request: Request, model: type[R], public_id: UUID, *related: str) -> R:
        """Return a row of the company, with others that it names; 404 where it has no such row."""
        rows = own_rows(self.company(request), model).select_related("company", *related)
        row = rows.filter(public_id=public_id).first()
        if row is None:
            raise NotFound(f"There is no such {model._meta.verbose_name}.")
        return row

    def house(self, request: Request, public_id: UUID) -> House:
        return self.own(request, House, public_id)

    def before(self, request: Request, **address: Any) -> None:
        """Do what takes long and writes nothing, before a write's transaction begins."""

    def require_seen(self, said: Mapping[str, Any], editable: Collection[str]) -> None:
        """Refuse a change of what If-Match does not name as it is, see ``versions.unseen``."""
        tag = unseen(self.request, said, editable)
        if tag is not None:
            raise self.stale(said, tag)

    def stale(self, said: Mapping[str, Any], seen: str) -> Stale:
        """Return the refusal of a change, with what is so by now and what was when it was seen."""
        former = former_values(self.company(self.request), self.logged_as or self.logs, said)
        return Stale(changes(said, seen, former), said["etag"])

    def _carry_out_once(self, method: str, company: Company) -> None:
        """Put what takes care of transactions and keys before the handler of a method: no
        resource can forget to. What was done already is answered again though its row be gone."""
        handler = getattr(self, method, None)
        if handler is None:
            return

        def before(request: Request, **address: Any) -> None:
            require_own_rows(company, address)
            self.before(request, **address)

        setattr(
            self, method, partial(carry_out, handler=handler, before=before, secrets=self.secrets)
        )
