"""What all resources share: who asks, for which company, and how a query is read."""

from typing import Any, ClassVar
from uuid import UUID

from rest_framework.exceptions import NotFound
from rest_framework.request import Request
from rest_framework.views import APIView

from api.access import company_of, require_right
from api.row_ids import require_own_rows
from finishing.models import Company, House
from finishing.queries.rights import Right


class CompanyResource(APIView):
    """A resource of the company of the person who asks, who has the right to it.

    needs, writes: as in ``api.access.require_right``.
    """

    needs: ClassVar[Right] = Right.READ
    writes: ClassVar[Right] = Right.PLAN

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        company = company_of(request)
        require_right(request, needs=self.needs, writes=self.writes)
        require_own_rows(company, kwargs)

    def company(self, request: Request) -> Company:
        """Return the company; 404 for somebody of none."""
        return company_of(request)

    def house(self, request: Request, public_id: UUID) -> House:
        """Return a house of the company; 404 where it has no such house."""
        rows = House.objects.filter(company=self.company(request)).select_related("company")
        house = rows.filter(public_id=public_id).first()
        if house is None:
            raise NotFound("There is no such house.")
        return house
