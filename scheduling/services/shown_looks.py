"""What crews found wet in a house, numbered for people to see, to set aside and to count again."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from finishing.models import House, Room
from finishing.rules.thickness import CoatThickness, HouseThickness
from finishing.services.errors import Fault, InputFaults
from scheduling.models import Report
from scheduling.queries.reports import found_wet_by
from scheduling.services.inputs import build_inputs
from scheduling.services.wet_looks import NO_LOOKS


@dataclass(frozen=True)
class NumberedLook:
    """A report of a coat found wet. number: from 1, in the order in which reports came, so that
    later ones change none. coat: what the looks at this coat come to; None where it says nothing,
    being set aside or of a coat that was not done."""

    number: int
    report: Report
    room: Room
    stage: str
    coat: CoatThickness | None


@dataclass(frozen=True)
class ShownLooks:
    """A house's reports of wet coats, and what they make of all its coats, since when."""

    looks: Sequence[NumberedLook]
    house: HouseThickness
    since: datetime | None


def looks_to_show(*, house: House, now: datetime) -> ShownLooks | None:
    """Return what crews found wet in a house up to ``now``; None where they found nothing."""
    found = _reports(house, now)
    if not found:
        return None
    inputs = build_inputs(company=house.company, now=now, only=house)
    air = inputs.airs.get(str(house.public_id))
    known = air.looks if air else NO_LOOKS
    counting = {look.report.pk for look in known.looks if not look.report.set_aside}
    looks = [
        NumberedLook(
            number,
            report,
            room,
            report.key.partition(":")[2],
            known.thickness.coats[report.key] if report.pk in counting else None,
        )
        for number, (report, room) in enumerate(found, start=1)
    ]
    return ShownLooks(looks, known.thickness.house, known.since)


@transaction.atomic
def set_looks_aside(
    *, house: House, numbers: Collection[int], aside: bool, now: datetime
) -> list[Report]:
    """Let reports of wet coats no longer count towards how slowly coats dry (``aside``), or count
    again; return those changed. Raise InputFaults with every number that there is not."""
    found = dict(enumerate((report for report, _ in _reports(house, now)), start=1))
    if unknown := sorted(set(numbers) - found.keys()):
        known = f"known: 1 to {len(found)}" if found else "nothing was found wet there"
        raise InputFaults(Fault("report", f"no number {number}; {known}") for number in unknown)
    changed = [found[number] for number in sorted(set(numbers))]
    changed = [report for report in changed if report.set_aside != aside]
    for report in changed:
        report.set_aside = aside
        report.version += 1
        report.full_clean()
        report.save()
    return changed


def _reports(house: House, now: datetime) -> list[tuple[Report, Room]]:
    """Return the reports of a house's coats found wet, with their rooms, as they came."""
    found = found_wet_by(house.company, now)
    if not found:
        return []
    rooms = {
        str(room.public_id): room
        for room in Room.objects.filter(company=house.company_id, area__house=house)
    }
    mine = [
        (report, rooms[key.partition(":")[0]])
        for key, reports in found.items()
        if key.partition(":")[0] in rooms
        for report in reports
    ]
    return sorted(mine, key=lambda row: row[0].pk)
