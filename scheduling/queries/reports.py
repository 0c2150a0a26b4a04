"""What crews have said, by what they said it of."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import datetime

from finishing.models import Company
from scheduling.models import Report

type Said = Mapping[str, Report]
"""Of one task or coat: by kind the report that was made last."""


def found_wet_by(company: Company, moment: datetime) -> Mapping[str, list[Report]]:
    """Return by coat (stage key) all reports up to a moment that it was found not dry, in the
    order in which they came, also those set aside."""
    looks: defaultdict[str, list[Report]] = defaultdict(list)
    rows = Report.objects.filter(company=company, kind=Report.Kind.NOT_DRY, at__lte=moment)
    for report in rows.select_related("crew").order_by("pk"):
        looks[report.key].append(report)
    return looks


def said_by(company: Company, moment: datetime) -> Mapping[str, Said]:
    """Return by key what crews have said of what was so at a moment or before it."""
    said: defaultdict[str, dict[str, Report]] = defaultdict(dict)
    for report in Report.objects.filter(company=company, at__lte=moment).select_related("crew"):
        said[report.key][report.kind] = report
    return said


def said_of(company: Company, keys: Iterable[str]) -> Mapping[str, Said]:
    """Return by key what crews have said of these tasks."""
    said: defaultdict[str, dict[str, Report]] = defaultdict(dict)
    for report in Report.objects.filter(company=company, key__in=list(keys)):
        said[report.key][report.kind] = report
    return said
