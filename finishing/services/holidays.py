"""Public holidays, from the holidays package into rows of the company."""

from collections.abc import Iterable

import holidays
from django.core.exceptions import ValidationError
from django.db import transaction

from finishing.models import Company, Holiday
from finishing.services.rows import delete_others, put_row


def has_holidays(country: str) -> bool:
    """Return whether public holidays are known for an ISO 3166 code."""
    return country in holidays.list_supported_countries(include_aliases=False)


@transaction.atomic
def refresh_holidays(*, company: Company, years: Iterable[int]) -> int:
    """Store the public holidays of the company's country in these years; return how many.

    Holidays of these years that the country no longer has are deleted; a company without a
    country keeps what it has. Raise ValidationError for a country that is not known.
    """
    wanted = sorted(set(years))
    if not company.country or not wanted:
        return 0
    try:
        days = holidays.country_holidays(company.country, years=wanted)
    except NotImplementedError:
        raise ValidationError(f"no public holidays known for {company.country!r}") from None
    kept = [
        put_row(Holiday, match={"company": company, "day": day}, values={"name": name[:120]})
        for day, name in sorted(days.items())
    ]
    stored = Holiday.objects.filter(company=company, day__year__in=wanted)
    delete_others(stored, kept)
    return len(kept)
