"""Writing dryers."""

from dataclasses import dataclass

from django.db import transaction

from finishing.models import Company, Dryer, House
from finishing.rules.vocabulary import DryerKind
from finishing.services.rows import put_row


@dataclass(frozen=True, slots=True)
class DryerEntry:
    """Units of one kind as someone gives them; the fields are those of ``Dryer``."""

    name: str
    kind: DryerKind
    count: int
    litres_per_day: float
    rated_c: float
    rated_humidity: float
    hold_humidity: float
    least_c: float
    tank_l: float | None
    heat_kw: float
    hold_c: float
    flame: bool
    cost_per_day: int
    place: str
    house: House | None
    move_minutes: int


@transaction.atomic
def put_dryer(*, company: Company, dryer: DryerEntry) -> Dryer:
    """Make the dryer or bring the one of the same name in line with the entry."""
    values = {name: getattr(dryer, name) for name in DryerEntry.__slots__ if name != "name"}
    return put_row(
        Dryer, match={"company": company, "name": dryer.name}, values={**values, "is_active": True}
    )
