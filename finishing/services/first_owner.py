"""The first owner of an installation, made in a browser by whoever can read a code on the server:
nobody else who comes by before that gets in."""

import hmac
from datetime import datetime
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.crypto import salted_hmac
from django.utils.translation import gettext as _

from finishing.models import Company, Deed, FirstCode, User
from finishing.services.companies import company_for_import
from finishing.services.deeds import note_deed
from finishing.services.holidays import refresh_holidays
from finishing.services.users import give_sign_in

DIGITS, GROUP = 24, 6
"""96 bits, so that guessing needs no limit; in groups that can be read from a screen."""
# A row of this one id, whoever asks first: two processes that begin at once have the same code.
_ONLY = 1


def is_awaited() -> bool:
    """Return whether there is nobody yet, and never was."""
    used = FirstCode.objects.filter(used_at__isnull=False)
    return not User.objects.exists() and not used.exists()


def first_code() -> str | None:
    """Return what the first owner has to type; None where there is no first owner to come."""
    if not is_awaited():
        return None
    row, _made = FirstCode.objects.get_or_create(pk=_ONLY)
    digits = _digits(row.public_id)
    return "-".join(digits[at : at + GROUP] for at in range(0, DIGITS, GROUP))


def is_first_code(typed: str) -> bool:
    """Return whether this is the code, however it was grouped."""
    row = FirstCode.objects.filter(pk=_ONLY, used_at=None).first()
    if row is None:
        return False
    said = "".join(typed.split()).replace("-", "").lower()
    return hmac.compare_digest(said.encode(), _digits(row.public_id).encode())


@transaction.atomic
def make_first_owner(
    *, email: str, password: str, company: str, zone: str, country: str, now: datetime
) -> User:
    """Make the owner, and a company unless there is one of this name: files may have been imported
    before anybody came. The code has been checked, and the password.

    Raises ValidationError where somebody was quicker, or for what cannot be.
    """
    claimed = FirstCode.objects.filter(pk=_ONLY, used_at=None).update(used_at=now)
    if not claimed or User.objects.exists():
        raise ValidationError(_("Somebody has become the first owner meanwhile."))
    own = _company(company, zone, country, now)
    person = give_sign_in(company=own, email=email, password=password)
    note_deed(company=own, by=person, code=Deed.Code.FIRST_OWNER, now=now, about=person.email)
    return person


def _company(name: str, zone: str, country: str, now: datetime) -> Company:
    company, made = company_for_import(name=name, zone=zone, country=country)
    if made:
        refresh_holidays(company=company, years=(now.year, now.year + 1))
    return company


def _digits(public_id: UUID) -> str:
    digest = salted_hmac("finishing.first_owner", str(public_id), algorithm="sha256")
    return digest.hexdigest()[:DIGITS]
