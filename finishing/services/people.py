"""Who may do what in a company: roles changed, people removed."""

from datetime import datetime

from django.db import transaction

from finishing.models import ApiToken, Crew, Deed, Role, User
from finishing.services.deeds import note_deed
from finishing.services.errors import InputFaults
from finishing.services.handed_on import ended_meanwhile, hold_owners, role_faults
from finishing.services.invitations import withdraw_all_of
from finishing.services.rows import change_row
from finishing.services.second_step import turn_off
from finishing.services.tokens import revoke_owning_tokens
from finishing.services.user_sessions import end_sessions


class LastOwnerError(Exception):
    """A company keeps somebody who may do everything."""


@transaction.atomic
def change_role(
    *,
    person: User,
    role: Role,
    crew: Crew | None,
    version: int,
    by: User | None,
    now: datetime,
    program: ApiToken | None = None,
) -> bool:
    """Make somebody another role; return whether it is another. Whom they invited as an owner, and
    the tokens they made that may own, end once they are none.

    program: that does it, for ``by`` or on its own. Raises LastOwnerError, StaleRowsError, and
    InputFaults as ``role_faults`` and ``ended_meanwhile`` have them.
    """
    assert person.company
    faults = [
        *role_faults(role, crew, program=program, before=person.role),
        *ended_meanwhile(person.company, by=by, program=program),
    ]
    if faults:
        raise InputFaults(faults)
    if role != Role.OWNER:
        _refuse_last_owner(person)
    before = person.role
    if not change_row(person, version=version, values={"role": role, "crew": crew}):
        return False
    note_deed(
        company=person.company,
        by=by,
        code=Deed.Code.ROLE_CHANGED,
        now=now,
        about=person.email,
        before=before,
        after=str(role),
        crew=crew.name if crew else "",
    )
    if role != Role.OWNER:
        _end_what_lets_in(person, by=by, now=now)
    return True


@transaction.atomic
def remove_person(*, person: User, version: int, by: User | None, now: datetime) -> None:
    """Take somebody's sign-in away, at once; what they did stays under their name, but those whom
    they invited and who have not come yet have to be invited again, and programs whose tokens they
    made, if those may own, need others.

    Raises LastOwnerError and StaleRowsError.
    """
    _refuse_last_owner(person)
    change_row(person, version=version, values={"is_active": False})
    end_sessions(user=person)
    turn_off(person)
    assert person.company
    note_deed(company=person.company, by=by, code=Deed.Code.REMOVED, now=now, about=person.email)
    _end_what_lets_in(person, by=by, now=now)


def _end_what_lets_in(person: User, *, by: User | None, now: datetime) -> None:
    withdraw_all_of(person, by=by, now=now)
    revoke_owning_tokens(person, by=by, now=now)


def _refuse_last_owner(person: User) -> None:
    """Raise LastOwnerError where nobody else owns the company; hold its owners until the end."""
    assert person.company
    if hold_owners(person.company) == {person.pk}:
        raise LastOwnerError
