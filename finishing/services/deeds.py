"""The trail of what people did: one row a deed, written with the deed itself."""

from datetime import datetime
from typing import Any

from finishing.models import Company, Deed, User
from finishing.services.acting import acting_program

LONGEST_ABOUT = 250


def note_deed(
    *,
    company: Company,
    by: User | None,
    code: Deed.Code,
    now: datetime,
    about: object = "",
    **values: Any,
) -> Deed:
    """Store what somebody did; call it in the transaction that does it.

    by: None where a program or a command did it. about: of what, said by its name. values: plain,
    no secrets.
    """
    deed = Deed(
        company=company,
        at=now,
        by=by,
        by_email=by.email if by else "",
        program=acting_program(),
        code=code,
        about=str(about)[:LONGEST_ABOUT],
        values=values,
    )
    deed.full_clean()
    deed.save()
    return deed
