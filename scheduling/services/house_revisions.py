"""Keeping what a publication did to the visits of each house, for their histories."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from scheduling.models import HouseRevision, Publication, Visit
from scheduling.services.visit_changes import VisitChanges


def stored_starts(visits: Iterable[Visit]) -> dict[int, datetime]:
    """Return by visit (primary key) when it starts by what is stored, in one query."""
    rows = Visit.objects.filter(pk__in=[visit.pk for visit in visits])
    return dict(rows.values_list("pk", "starts_at"))


def keep_house_revisions(
    publication: Publication, changes: VisitChanges, before: Mapping[int, datetime]
) -> None:
    """Store a row for each house of which the publication changes visits.

    before: see :func:`stored_starts`, of the visits that move.
    """
    by_house: defaultdict[int, list[dict[str, Any]]] = defaultdict(list)
    for kind, visits in (
        ("new", [*changes.new, *changes.revived]),
        ("moved", changes.moved),
        ("cancelled", changes.cancelled),
    ):
        for visit in visits:
            was = before.get(visit.pk) if kind == "moved" else None
            by_house[visit.house_id].append(_kept(kind, visit, was))
    HouseRevision.objects.bulk_create(
        HouseRevision(
            company_id=publication.company_id,
            publication=publication,
            house_id=house_id,
            at=publication.published_at,
            visits=sorted(visits, key=lambda visit: str(visit["starts_at"])),
        )
        for house_id, visits in by_house.items()
    )


def _kept(kind: str, visit: Visit, was: datetime | None) -> dict[str, Any]:
    moved = was is not None and was != visit.starts_at
    return {
        "visit": str(visit.public_id),
        "kind": kind,
        "crew": visit.crew.name,
        "starts_at": visit.starts_at.isoformat(),
        "was": was.isoformat() if was and moved else "",
    }
