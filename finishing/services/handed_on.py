"""What may be given to others: roles and tokens, and how much of it by a program.

A program that asks by a token gives nobody more than it may do itself, and makes tokens only in
its own name and for no longer than its own is good.
"""

from collections.abc import Iterator

from django.utils.translation import gettext as _

from finishing.models import ApiToken, Company, Crew, Role, User
from finishing.queries.rights import may_give, rights_of_token
from finishing.services.errors import Fault


def role_faults(
    role: str, crew: Crew | None, *, program: ApiToken | None, before: str = ""
) -> Iterator[Fault]:
    """Yield what is wrong with giving somebody a role, by field. program: that gives it, None for
    who is signed in; before: the role that they had."""
    if role == Role.CREW_LEAD and crew is None:
        yield Fault("crew", _("Choose the crew that they lead."))
    if role != Role.CREW_LEAD and crew is not None:
        yield Fault("crew", _("is only for a crew lead"))
    if program and not may_give(role, before=before, by=rights_of_token(program)):
        yield Fault("role", _("A program lets nobody do more than it may do itself."))


def faults_of_made_by(program: ApiToken, token: ApiToken) -> Iterator[Fault]:
    """Yield where a token goes further than that of the program that makes it, by field."""
    if not rights_of_token(token) <= rights_of_token(program):
        yield Fault("scopes", _("A program gives a token no more than it may do itself."))
    if token.person != program.person:
        yield Fault("person", _("A program makes tokens in its own name alone."))
    if program.expires_at and not (token.expires_at and token.expires_at <= program.expires_at):
        yield Fault("expires_at", _("is after the end of the token that asks for it"))


def hold_owners(company: Company) -> set[int]:
    """Return the primary keys of who owns a company, and hold them for the transaction: nobody
    ceases to be an owner meanwhile. In one order: of two who do this at once, one waits."""
    owners = User.objects.filter(company=company, role=Role.OWNER, is_active=True)
    held = owners.select_related(None).order_by("pk").select_for_update()
    return {owner.pk for owner in held}


def ended_meanwhile(
    company: Company, *, by: User | None, program: ApiToken | None
) -> Iterator[Fault]:
    """Yield a fault where who hands on owns nothing any more, or the token of the program that
    does it has been revoked; hold both for the transaction, so that what ends them finds what is
    made here too. Owners before tokens, as who removes an owner has to: neither waits for what the
    other holds."""
    owners = hold_owners(company)
    if by and by.pk not in owners:
        yield Fault("", _("You were made another role at this moment: ask an owner."))
    held = ApiToken.objects.select_for_update().filter(revoked_at=None)
    if program and held.filter(pk=program.pk).first() is None:
        yield Fault("", _("The token that asks was revoked at this moment."))
