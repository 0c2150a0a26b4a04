"""Editing what a company plans by."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from finishing.models import Company
from finishing.models.company import LIMITS
from finishing.services.errors import Fault, InputFaults, faults_of_row
from finishing.services.holidays import has_holidays, refresh_holidays
from finishing.services.rows import change_row

SETTINGS = (
    "name",
    "zone",
    "country",
    "family",
    "stages",
    "stages_off_by_level",
    "planned_air",
    "drying_rule",
    *LIMITS,
)


@transaction.atomic
def edit_settings(
    *, company: Company, version: int, values: Mapping[str, Any], years: Iterable[int]
) -> None:
    """Set some of :data:`SETTINGS`; another country brings its public holidays of these years.

    Raises InputFaults (places: the setting) and StaleRowsError.
    """
    if faults := list(setting_faults(values)):
        raise InputFaults(faults)
    country = company.country
    try:
        change_row(company, version=version, values=values)
    except ValidationError as error:
        raise InputFaults(faults_of_row(error)) from None
    if company.country != country:
        refresh_holidays(company=company, years=years)


def setting_faults(values: Mapping[str, Any]) -> Iterator[Fault]:
    """Yield what is wrong with settings beside the limits of their figures."""
    country = values.get("country")
    if country and not has_holidays(country):
        said = _("No public holidays are known for %(code)s: type two letters such as IE.")
        yield Fault("country", said % {"code": country})
