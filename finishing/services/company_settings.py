"""Editing what a company plans by."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from finishing.models import Company
from finishing.models.company import LIMITS
from finishing.models.currencies import MINOR_DIGITS
from finishing.queries.amounts import has_amounts
from finishing.services.errors import Fault, InputFaults, faults_of_row
from finishing.services.holidays import has_holidays, refresh_holidays
from finishing.services.rows import change_row

SETTINGS = (
    "name",
    "zone",
    "country",
    "currency",
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
    """Set some of :data:`SETTINGS`; another country brings its public holidays of these years, a
    currency its minor unit.

    Raises InputFaults (places: the setting) and StaleRowsError.
    """
    if faults := list(setting_faults(values, company)):
        raise InputFaults(faults)
    country = company.country
    try:
        change_row(company, version=version, values=_with_minor_unit(values))
    except ValidationError as error:
        raise InputFaults(faults_of_row(error)) from None
    if company.country != country:
        refresh_holidays(company=company, years=years)


def setting_faults(values: Mapping[str, Any], company: Company) -> Iterator[Fault]:
    """Yield what is wrong with settings of a company beside the limits of their figures."""
    country = values.get("country")
    if country and not has_holidays(country):
        said = _("No public holidays are known for %(code)s: type two letters such as IE.")
        yield Fault("country", said % {"code": country})
    digits = MINOR_DIGITS.get(values.get("currency", ""), company.currency_digits)
    if digits != company.currency_digits and has_amounts(company):
        said = _(
            "Amounts are kept with %(now)s digits after the point, and %(code)s has %(new)s: "
            "remove the prices first, then type them anew."
        )
        told = {"now": company.currency_digits, "new": digits, "code": values["currency"]}
        yield Fault("currency", said % told)


def _with_minor_unit(values: Mapping[str, Any]) -> Mapping[str, Any]:
    """Return the values with what follows from a currency that is among them."""
    digits = MINOR_DIGITS.get(values.get("currency", ""))
    return values if digits is None else {**values, "currency_digits": digits}
