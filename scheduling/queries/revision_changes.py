"""What crews were told from one revision to another, visit by visit."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from finishing.models import House
from scheduling.models import HouseRevision, Publication

type Kept = Mapping[str, Any]


@dataclass(frozen=True)
class RevisedVisit:
    """A visit that is otherwise in the later revision. before, after: when it starts, None where
    there is no such visit; both are the same where only what is to be done there has changed.

    visit_id: "" for what was published before ids were kept.
    """

    visit_id: str
    house: House
    crew: str
    before: datetime | None
    after: datetime | None

    @property
    def kind(self) -> str:
        if self.before is None:
            return "new"
        return "moved" if self.after else "cancelled"


def visits_revised(later: Publication, since: int) -> list[RevisedVisit]:
    """Return by time what differs between a revision and one before it, in one query.

    since: the number of the earlier one, 0 for nothing published. A visit that came and went in
    between is left out, and so is one that moved and is back.
    """
    rows = HouseRevision.objects.filter(
        company=later.company_id,
        publication__revision__gt=since,
        publication__revision__lte=later.revision,
    ).select_related("house")
    steps: defaultdict[str, list[Kept]] = defaultdict(list)
    houses: dict[str, House] = {}
    for row in rows.order_by("publication__revision", "pk"):
        for number, kept in enumerate(row.visits):
            key = kept.get("visit") or f"{row.pk}:{number}"
            steps[key].append(kept)
            houses[key] = row.house
    found = _revised(steps, houses)
    return sorted(found, key=lambda one: (one.after or one.before, one.house.name, one.crew))


def _revised(
    steps: Mapping[str, list[Kept]], houses: Mapping[str, House]
) -> Iterator[RevisedVisit]:
    for key, told in steps.items():
        first, last = told[0], told[-1]
        before = None if first["kind"] == "new" else _instant(first["was"] or first["starts_at"])
        after = None if last["kind"] == "cancelled" else _instant(last["starts_at"])
        if before != after or _other_work(told):
            yield RevisedVisit(last.get("visit", ""), houses[key], last["crew"], before, after)


def _other_work(told: Iterable[Kept]) -> bool:
    """Return whether something other than its time has changed of a visit that stays."""
    return any(kept["kind"] == "moved" and not kept["was"] for kept in told)


def _instant(text: str) -> datetime:
    return datetime.fromisoformat(text)
