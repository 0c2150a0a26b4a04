"""Ids of rows in addresses: each says of which model it is, so that whoever answers is only asked
about rows of the company that asks.

An address names what its id is of, as in ``houses/<house:public_id>/``; a view gets the UUID.
"""

from collections.abc import Mapping
from typing import Any, ClassVar
from uuid import UUID

from django.core.exceptions import ImproperlyConfigured
from django.db.models import QuerySet
from django.http import Http404
from django.urls import register_converter
from django.urls.converters import UUIDConverter

from finishing import models
from finishing.models import Company
from finishing.models.owned import Row
from scheduling.models import (
    CalendarPush,
    CrewPage,
    ExtraWork,
    FeedLink,
    Obstacle,
    Outgoing,
    Pin,
    Plan,
    PlannedTask,
    PlanRun,
    Publication,
    Scenario,
    SentReport,
    Visit,
    Webhook,
)
from scheduling.queries.for_the_office import KINDS

KINDS_OF_ID: Mapping[str, tuple[type[Row], ...]] = {
    "air_source": (models.AirSource,),
    "area": (models.Area,),
    "calendar_push": (CalendarPush,),
    "builder_line": (models.BuilderLine,),
    "closure": (models.Closure,),
    "coat_done": (models.CoatDone,),
    "compound": (models.Compound,),
    "crew": (models.Crew,),
    "crew_page": (CrewPage,),
    "day_off": (models.DayOff,),
    "deed": (models.Deed,),
    "dryer": (models.Dryer,),
    "edit": (models.Change,),
    "endpoint": (Webhook, CalendarPush),
    "extra_hours": (models.ExtraHours,),
    "extra_work": (ExtraWork,),
    "feed": (FeedLink,),
    "holiday": (models.Holiday,),
    "house": (models.House,),
    "invitation": (models.Invitation,),
    "labour_rate": (models.LabourRate,),
    "loan": (models.Loan,),
    "member": (models.CrewMember,),
    "note": (models.Note,),
    "obstacle": (Obstacle,),
    "odd_job": (models.OddJob,),
    "outgoing": (Outgoing,),
    "pay_term": (models.PayTerm,),
    "pin": (Pin,),
    "placing_rate": (models.PlacingRate,),
    "plan": (Plan,),
    "planned_task": (PlannedTask,),
    "price": (models.Price,),
    "publication": (Publication,),
    "quote": (models.Quote,),
    "readiness_line": (models.ReadinessLine,),
    "report": (SentReport,),
    "room": (models.Room,),
    "run": (PlanRun,),
    "scenario": (Scenario,),
    "said": tuple(KINDS.values()),
    "stock_line": (models.StockLine,),
    "supply": (models.Supply,),
    "system": (models.JointingSystem,),
    "token": (models.ApiToken,),
    "user": (models.User,),
    "user_session": (models.UserSession,),
    "visit": (Visit,),
}
"""What an id in an address may be of: by the name of its converter, the models."""


def own_rows[R: Row](company: Company, kind: type[R]) -> QuerySet[R]:
    """Return a company's rows of a kind: whatever an address or a body names is looked for among
    these, so that another company's are not there."""
    return kind._default_manager.filter(company=company)


class RowId(UUID):
    """A row's public id, as an address has it."""

    kinds: ClassVar[tuple[type[Row], ...]]

    def is_of(self, company: Company) -> bool:
        """Return whether the company has such a row."""
        return any(own_rows(company, kind).filter(public_id=self).exists() for kind in self.kinds)


class RowIdConverter(UUIDConverter):
    row_id: ClassVar[type[RowId]]

    def to_python(self, value: str) -> RowId:
        return self.row_id(value)


def require_own_rows(company: Company, address: Mapping[str, Any]) -> None:
    """Refuse (Http404) an address with the id of a row that the company has not.

    address: what was read from it, by name. An id that does not say of what it is would be a hole,
    and is an error of the program.
    """
    for name, value in address.items():
        if isinstance(value, RowId):
            if not value.is_of(company):
                raise Http404("There is no such thing.")
        elif isinstance(value, UUID):
            raise ImproperlyConfigured(f"{name} says not of what it is: see api/row_ids.py")


for _name, _kinds in KINDS_OF_ID.items():
    _row_id = type(f"{_name}_id", (RowId,), {"kinds": _kinds})
    register_converter(type(f"{_name}_converter", (RowIdConverter,), {"row_id": _row_id}), _name)
