"""Writing notes of a house, and striking them out."""

from datetime import datetime

from django.db import transaction

from finishing.models import Area, House, Note, User
from finishing.services.rows import change_row


@transaction.atomic
def add_note(
    *, house: House, text: str, area: Area | None = None, by: User | None, now: datetime
) -> Note:
    """Store a note of a house; raise ValidationError for a blank or too long one, or where the
    area is another house's."""
    note = Note(
        company_id=house.company_id, house=house, area=area, text=text.strip(), at=now, by=by
    )
    note.full_clean()
    note.save()
    return note


@transaction.atomic
def strike_note(*, note: Note, struck: bool, version: int, by: User | None, now: datetime) -> None:
    """Strike a note out, or let it stand again; raise StaleRowsError for one changed meanwhile."""
    if struck == (note.struck_at is not None):
        return
    values = {"struck_at": now if struck else None, "struck_by": by if struck else None}
    change_row(note, version=version, values=values)
