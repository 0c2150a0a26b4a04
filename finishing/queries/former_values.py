"""Values that fields have had, as the log of changes tells."""

from collections.abc import Collection, Mapping
from typing import Any

from finishing.models import Change, Company

LOOKED_AT = 1000
"""Changes at most, the newest: who has seen a value before these hardly writes now."""


def former_values(
    company: Company, what: Collection[Change.What], names: Collection[str]
) -> Mapping[str, list[Any]]:
    """Return by field the values that rows of these kinds have had, as JSON has them, the newest
    first; rows that a change named by name are not among them."""
    found: dict[str, list[Any]] = {name: [] for name in names}
    rows = Change.objects.filter(company=company, what__in=what).order_by("-at", "-id")
    for fields in rows.values_list("fields", flat=True)[:LOOKED_AT]:
        for name in found.keys() & fields.keys():
            found[name] += reversed(fields[name])
    return found
