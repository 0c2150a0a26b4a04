"""What the page of people shows: who may sign in as what, and who has been invited."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from api.web.form_group import ShownFault, shown_faults
from api.web.people_form import InviteForm, RoleForm, role_form
from finishing.models import Company, Invitation, User
from finishing.queries.people import open_invitations, people_of
from finishing.services.invitations import invitation_link
from scheduling.wording import moment


@dataclass(frozen=True)
class PersonLine:
    """Somebody and the form of what they are. is_reader: who looks at the page."""

    person: User
    form: RoleForm
    is_reader: bool


@dataclass(frozen=True)
class InvitationLine:
    """Somebody invited, the secret address for them, and until when it is good."""

    row: Invitation
    link: str
    until: str


@dataclass(frozen=True)
class PeoplePage:
    """All that the page shows. stale, faults: as in faults.html; refusal: what was not done."""

    people: Sequence[PersonLine]
    invitations: Sequence[InvitationLine]
    invite: InviteForm
    faults: Sequence[ShownFault]
    refusal: str = ""


def people_page(
    company: Company,
    reader: User,
    now: datetime,
    *,
    invite: InviteForm | None = None,
    wrong: tuple[User, RoleForm] | None = None,
    refusal: str = "",
) -> PeoplePage:
    """Return the page. invite, wrong: forms that were sent and not taken, with their faults."""
    sent = {wrong[0].pk: wrong[1]} if wrong else {}
    shown = [
        PersonLine(person, sent.get(person.pk) or role_form(person), person == reader)
        for person in people_of(company)
    ]
    form = invite or InviteForm(company)
    waiting = [
        InvitationLine(row, invitation_link(row), moment(row.expires_at, ZoneInfo(company.zone)))
        for row in open_invitations(company, now)
    ]
    faults = shown_faults([form, *(line.form for line in shown)])
    return PeoplePage(shown, waiting, form, faults, refusal)
