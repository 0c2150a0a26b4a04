"""What crews say that somebody in the office has to settle: obstacles and extra work."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import Any

from django.db import transaction
from django.db.models import Model
from django.utils.translation import gettext

from finishing.models import BuilderLine, User
from finishing.services.builder_lines import add_builder_line
from finishing.services.errors import Fault, InputFaults
from scheduling.models import ExtraWork, Obstacle, SentReport
from scheduling.services.photos import checked_photo, keep_photo
from scheduling.services.sent_reports import Action, Sent, once
from scheduling.services.visit_reports import call_off


@dataclass(frozen=True)
class Hindrance:
    """Why a crew cannot work: see ``Obstacle``. photo: a picture file as it was sent, if any."""

    reason: str
    item: str = ""
    note: str = ""
    photo: bytes = b""


def say_cannot_work(sent: Sent, hindrance: Hindrance) -> SentReport:
    """Note what keeps a crew from its visit, and that the rest of it will not be done then.

    Raises InputFaults also where the photo is none.
    """
    why = {"reason": hindrance.reason, "item": hindrance.item, "note": hindrance.note}
    photo = checked_photo(hindrance.photo) if hindrance.photo else b""

    def write() -> None:
        call_off(sent)
        name = keep_photo(company=sent.crew.company, photo=photo) if photo else ""
        _store(Obstacle(**_whose(sent), **why, photo=name))

    said = {**why, "photo_sha256": sha256(photo).hexdigest() if photo else ""}
    return once(sent, Action.CANNOT_WORK, said, write)


def say_extra_work(sent: Sent, *, what: str, person_minutes: int) -> SentReport:
    """Note work that was in no plan."""
    said = {"what": what, "person_minutes": person_minutes}
    return once(sent, Action.EXTRA_WORK, said, lambda: _store(ExtraWork(**_whose(sent), **said)))


def settle(row: Obstacle | ExtraWork, *, user: User | None, now: datetime) -> None:
    """Note that the office has settled something; who did so first stays."""
    still_open = type(row).objects.filter(pk=row.pk, settled_at=None)
    still_open.update(settled_at=now, settled_by=user, version=row.version + 1)


@transaction.atomic
def bill_extra_work(
    row: ExtraWork, values: Mapping[str, Any], *, user: User | None, now: datetime
) -> BuilderLine:
    """Make extra work that a crew noted a line for the builder (``builder_lines.FIELDS``), and
    with that settle it. Raises InputFaults, also where it has its line already."""
    unbilled = ExtraWork.objects.select_for_update().filter(pk=row.pk, builder_line=None)
    if not unbilled.exists():
        raise InputFaults([Fault("text", gettext("This is a line already."))])
    line = add_builder_line(house=row.house, values=values)
    unbilled.update(builder_line=line, version=row.version + 1)
    still_open = ExtraWork.objects.filter(pk=row.pk, settled_at=None)
    still_open.update(settled_at=now, settled_by=user)
    return line


def _whose(sent: Sent) -> dict[str, object]:
    return {
        "company": sent.crew.company,
        "crew": sent.crew,
        "house": sent.visit.house,
        "visit": sent.visit,
        "at": sent.at,
    }


def _store(row: Model) -> None:
    row.full_clean()
    row.save()
