"""Writing dryers."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from finishing.models import Company, Dryer, House
from finishing.rules.dryers import relative_removal
from finishing.rules.vocabulary import DryerKind
from finishing.services.errors import Fault, faults_of_row
from finishing.services.rows import change_row, put_row, remove_row


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


@transaction.atomic
def add_dryer(*, company: Company, values: Mapping[str, Any]) -> Dryer:
    """Store units of a kind; raise ValidationError where they would not be in order."""
    dryer = Dryer(company=company, **values)
    dryer.full_clean()
    dryer.save()
    return dryer


@transaction.atomic
def edit_dryer(*, dryer: Dryer, version: int, values: Mapping[str, Any]) -> None:
    """Set some of its fields; raise StaleRowsError, and ValidationError as above."""
    change_row(dryer, version=version, values=values)


@transaction.atomic
def remove_dryer(*, dryer: Dryer, version: int) -> None:
    """Delete units of a kind: plans that used them keep what they say. Raises StaleRowsError."""
    remove_row(dryer, version=version)


def dryer_faults(
    company: Company, dryer: Dryer | None, values: Mapping[str, Any]
) -> Iterator[Fault]:
    """Yield what does not fit together in the values of a dryer; None: of a new one."""
    named = Dryer.objects.filter(company=company, name=values.get("name", ""))
    if any(other != dryer for other in named):
        yield Fault("name", _("There is another of this name: choose one that differs."))
    looked_at = Dryer(company=company, **values)
    try:
        looked_at.clean()
    except ValidationError as error:
        yield from faults_of_row(error)
    if not relative_removal(looked_at.rated_c, looked_at.rated_humidity) > 0:
        yield Fault("rated_humidity", _("No dryer takes water out of air that is so cold and dry."))
