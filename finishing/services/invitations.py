"""Inviting somebody to sign in: a signed link by e-mail, good once and for some days.

The link is made from the invitation's public id with the site's secret key, so it can be shown
again and is stored nowhere.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from smtplib import SMTPException
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core import signing
from django.core.exceptions import ValidationError
from django.core.mail import send_mail
from django.db import transaction
from django.db.models import QuerySet
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from finishing.models import ApiToken, Company, Crew, Deed, Invitation, Role, User
from finishing.services.deeds import note_deed
from finishing.services.errors import Fault, InputFaults
from finishing.services.handed_on import ended_meanwhile, role_faults

GOOD_FOR = timedelta(days=7)
PAUSE = timedelta(minutes=1)
"""Between two mails to one address."""
_SIGNER = signing.Signer(salt="finishing.invitation")


def invite(
    *,
    company: Company,
    email: str,
    role: Role,
    crew: Crew | None,
    by: User | None,
    now: datetime,
    program: ApiToken | None = None,
) -> Invitation:
    """Invite somebody, see ``send_invitation``; one invited before has the new link alone.

    program: that does it, for ``by`` or on its own. Raises InputFaults, see
    ``invitation_faults``.
    """
    address = User.objects.normalize_email(email)
    with transaction.atomic():
        said: dict[str, Any] = {"company": company, "email": address, "program": program}
        faults = [
            *invitation_faults(**said, role=role, crew=crew, now=now),
            *ended_meanwhile(company, by=by, program=program),
        ]
        if faults:
            raise InputFaults(faults)
        _open(company).filter(email__iexact=address).update(withdrawn_at=now)
        invitation = Invitation(
            **said,
            role=role,
            crew=crew,
            invited_by=by,
            expires_at=_end_of_new(program, now),
        )
        invitation.full_clean()
        invitation.save()
        note_deed(
            company=company,
            by=by,
            code=Deed.Code.INVITED,
            now=now,
            about=address,
            after=str(role),
            crew=crew.name if crew else "",
        )
    return invitation


def _end_of_new(program: ApiToken | None, now: datetime) -> datetime:
    """Return when an invitation ends: one by a program not after that program's token."""
    end = program.expires_at if program else None
    return min(now + GOOD_FOR, end) if end else now + GOOD_FOR


def invitation_faults(
    *,
    company: Company,
    email: str,
    role: str,
    crew: Crew | None,
    program: ApiToken | None,
    now: datetime,
) -> Iterator[Fault]:
    """Yield what is wrong with inviting somebody, by field: they are here already or were written
    to a moment ago, or the role is none to give them."""
    if User.objects.filter(company=company, email__iexact=email, is_active=True).exists():
        yield Fault("email", _("This person can sign in here already."))
    if _written_to(Invitation.objects.filter(company=company, email__iexact=email), now):
        yield Fault("email", _("They were written to less than a minute ago: wait a little."))
    yield from role_faults(role, crew, program=program)


def was_just_mailed(invitation: Invitation, *, now: datetime) -> bool:
    """Return whether whom it invites was written to less than a minute ago."""
    rows = Invitation.objects.filter(company=invitation.company, email__iexact=invitation.email)
    return _written_to(rows, now)


def _written_to(invitations: QuerySet[Invitation], now: datetime) -> bool:
    return invitations.filter(mailed_at__gt=now - PAUSE, mailed_at__lte=now).exists()


@transaction.atomic
def withdraw_invitation(*, invitation: Invitation, by: User | None, now: datetime) -> None:
    """End an invitation: its link says so from now on. One that has ended stays as it is."""
    rows = _open(invitation.company).filter(pk=invitation.pk)
    if rows.update(withdrawn_at=now):
        note_deed(
            company=invitation.company,
            by=by,
            code=Deed.Code.INVITATION_WITHDRAWN,
            now=now,
            about=invitation.email,
        )


def withdraw_all_of(inviter: User | ApiToken, *, by: User | None, now: datetime) -> None:
    """End what a person or a program has invited who may invite nobody any more: they may have
    kept the links, and could let themselves in again."""
    assert inviter.company
    theirs = {"invited_by": inviter} if isinstance(inviter, User) else {"program": inviter}
    for invitation in _open(inviter.company).filter(**theirs, expires_at__gt=now):
        withdraw_invitation(invitation=invitation, by=by, now=now)


def invitation_link(invitation: Invitation) -> str:
    """Return the address that lets who opens it sign in. It is a secret until it is used."""
    return f"{settings.SITE_URL}/invited/{_SIGNER.sign(str(invitation.public_id))}/"


def open_invitation(token: str, *, now: datetime) -> Invitation | None:
    """Return the invitation of a link; None where it is of none, used, withdrawn or too old."""
    try:
        public_id = UUID(_SIGNER.unsign(token))
    except (signing.BadSignature, ValueError):
        return None
    rows = Invitation.objects.select_related("company", "crew", "invited_by")
    rows = rows.filter(used_at=None, withdrawn_at=None, expires_at__gt=now)
    return rows.filter(public_id=public_id).first()


@transaction.atomic
def join(*, invitation: Invitation, password: str, now: datetime) -> User:
    """Make the person who was invited, or let one in again who had been removed.

    password: has been checked. Raises ValidationError where the invitation has been used
    meanwhile, or its address signs in to another company.
    """
    claimed = Invitation.objects.filter(pk=invitation.pk, used_at=None, withdrawn_at=None)
    if not claimed.update(used_at=now):
        raise ValidationError(_("This invitation has been used already."))
    person = User.objects.filter(email__iexact=invitation.email).first()
    person = person or User(email=invitation.email, company=invitation.company)
    if person.company_id != invitation.company_id or (person.pk and person.is_active):
        raise ValidationError(_("This address signs in already. Ask for another invitation."))
    person.role, person.crew, person.is_active = invitation.role, invitation.crew, True
    person.set_password(password)
    person.full_clean()
    person.save()
    note_deed(
        company=invitation.company,
        by=person,
        code=Deed.Code.JOINED,
        now=now,
        about=person.email,
        after=invitation.role,
    )
    return person


def is_open(invitation: Invitation, *, now: datetime) -> bool:
    """Return whether an invitation may still be used."""
    ended = invitation.used_at or invitation.withdrawn_at
    return ended is None and now < invitation.expires_at


def send_invitation(invitation: Invitation, *, now: datetime) -> bool:
    """Write to who was invited; note and return whether the mail server took it."""
    zone = ZoneInfo(invitation.company.zone)
    values = {
        "company": invitation.company.name,
        "by": invitation.invited_by or invitation.program or invitation.company.name,
        "role": invitation.get_role_display(),
        "link": invitation_link(invitation),
        "until": date_format(invitation.expires_at.astimezone(zone), "j F Y, H:i"),
        "zone": zone.key,
    }
    text = _(
        "%(by)s invites you to %(company)s in Coatweave, as %(role)s.\n\n"
        "Choose your password here before %(until)s (%(zone)s):\n%(link)s\n\n"
        "If you do not know what this is about, do nothing."
    )
    subject = _("%(company)s invites you to Coatweave") % values
    try:
        send_mail(" ".join(subject.split()), text % values, None, [invitation.email])
    except (SMTPException, OSError):
        return False
    Invitation.objects.filter(pk=invitation.pk).update(mailed_at=now)
    return True


def _open(company: Company) -> QuerySet[Invitation]:
    return Invitation.objects.filter(company=company, used_at=None, withdrawn_at=None)
