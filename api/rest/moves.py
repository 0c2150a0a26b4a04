"""/api/v1/planned-visits/: a visit of a plan, and what would come of moving it by hand."""

from uuid import UUID

from django.utils import timezone
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.described import described_as
from api.rest.errors import Overtaken
from api.rest.move_fields import (
    MoveAnswerSerializer,
    SpotQuery,
    StandingVisitSerializer,
    answer_body,
    spot_of,
)
from api.rest.resource import CompanyResource
from scheduling.move_wording import why_it_stays
from scheduling.queries.pins import pins_of_tasks
from scheduling.queries.planned_visits import planned_visit
from scheduling.services.moving import check_move, pins_seen


class PlannedVisits(CompanyResource):
    @described_as(responses=StandingVisitSerializer)
    def get(self, request: Request, public_id: UUID) -> Response:
        """Return a visit of a plan with its pins, and whether it is of the plan as it is."""
        visit = planned_visit(self.company(request), public_id)
        body = {
            "visit": visit.block,
            "is_current": visit.is_current,
            "now": visit.now and visit.now.public_id,
            "stays": why_it_stays(visit.block, timezone.now()),
            "pins": [pin.public_id for pin in pins_of_tasks(visit.company, visit.keys)],
            "seen": pins_seen(visit),
        }
        return Response(StandingVisitSerializer(body).data)


class PlannedVisitMove(CompanyResource):
    conflicts = ("GET",)

    def check_query(self, request: Request) -> None:
        """It is read once the visit is known to be there: that comes before what is wrong."""

    @described_as(parameters=[SpotQuery], responses=MoveAnswerSerializer)
    def get(self, request: Request, public_id: UUID) -> Response:
        """Return whether a visit holds with a crew from a moment on, all of its work as far apart
        as it is planned; which rule it breaks if not, and the nearest that would do."""
        company = self.company(request)
        spot = spot_of(SpotQuery.read(request, company=company))
        visit = planned_visit(company, public_id)
        if not visit.is_current:
            raise Overtaken("replanned", "The plan is another by now.")
        answer = check_move(visit=visit, spot=spot, now=timezone.now())
        return Response(MoveAnswerSerializer(answer_body(answer)).data)
