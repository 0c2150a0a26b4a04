"""Tokens of the API: made, found, revoked. A secret is told once and kept as a hash only."""

import secrets
from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from hashlib import sha256
from typing import Any, NotRequired, TypedDict, Unpack

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F
from django.utils.crypto import constant_time_compare
from django.utils.translation import gettext as _

from finishing.models import ApiToken, Company, Deed, User
from finishing.queries.rights import SCOPES, Right
from finishing.services.deeds import note_deed
from finishing.services.errors import Fault, InputFaults, faults_of_row
from finishing.services.handed_on import ended_meanwhile, faults_of_made_by
from finishing.services.invitations import withdraw_all_of
from finishing.services.rows import claim_row

PREFIX = "coatweave_"
"""What every secret begins with, so that a scanner of files tells one when it sees one."""
_USE_NOTED_EVERY = timedelta(minutes=1)


class NewToken(TypedDict):
    """What is said of a new token.

    person: None for a machine's. program: the token of the program that makes it, for ``made_by``
    or on its own: what is not said of person and end is as that one has it.
    """

    company: Company
    name: str
    scopes: Iterable[Right]
    now: datetime
    person: NotRequired[User | None]
    made_by: NotRequired[User | None]
    expires_at: NotRequired[datetime | None]
    program: NotRequired[ApiToken | None]


@transaction.atomic
def make_token(**said: Unpack[NewToken]) -> tuple[ApiToken, str]:
    """Return a new token and its secret, which nothing gives again.

    Raises InputFaults with all that is wrong, by field.
    """
    token, secret = draft_token(**said)
    ended = ended_meanwhile(token.company, by=token.made_by, program=token.parent)
    if faults := [*token_faults(token), *ended]:
        raise InputFaults(faults)
    token.save()
    told: dict[str, Any] = {"company": token.company, "by": token.made_by, "now": token.made_at}
    note_deed(**told, code=Deed.Code.TOKEN_MADE, about=token)
    return token, secret


def draft_token(**said: Unpack[NewToken]) -> tuple[ApiToken, str]:
    """Return a token that is not stored, and its secret."""
    secret = PREFIX + secrets.token_urlsafe(32)
    program, asked = said.get("program"), frozenset(said["scopes"])
    token = ApiToken(
        company=said["company"],
        name=said["name"],
        person=said.get("person") or (program.person if program else None),
        made_by=said.get("made_by"),
        parent=program,
        scopes=[right.value for right in SCOPES if right in asked],
        secret_sha256=_digest(secret),
        ending=secret[-4:],
        made_at=said["now"],
        expires_at=said.get("expires_at") or (program.expires_at if program else None),
    )
    return token, secret


def token_faults(token: ApiToken) -> Iterator[Fault]:
    """Yield all that is wrong with a new token, by field."""
    if ApiToken.objects.filter(company=token.company_id, name=token.name).exists():
        yield Fault("name", _("There is a token of this name, or was: choose one that differs."))
    if token.person and not token.person.is_active:
        yield Fault("person", _("They have no sign-in any more."))
    if not token.scopes:
        yield Fault("scopes", _("Choose at least one thing that it may do."))
    try:
        token.full_clean(exclude=["scopes"], validate_constraints=False)
    except ValidationError as error:
        yield from faults_of_row(error)
    if token.parent:
        yield from faults_of_made_by(token.parent, token)


def find_token(secret: str, *, now: datetime) -> ApiToken | None:
    """Return the token of a secret, its company and person with it, and note that it was used.

    None where there is no such token, or it is over: expired, revoked, or its person has no
    sign-in any more. The row is looked up by a hash: how long that takes tells nothing of how
    near a guessed secret is to a true one.
    """
    digest = _digest(secret)
    token = (
        ApiToken.objects.select_related("company", "person").filter(secret_sha256=digest).first()
    )
    if token is None or not constant_time_compare(token.secret_sha256, digest):
        return None
    if not is_good(token, now=now):
        return None
    if token.used_at is None or not timedelta() <= now - token.used_at < _USE_NOTED_EVERY:
        ApiToken.objects.filter(pk=token.pk).update(used_at=now)
    return token


def is_good(token: ApiToken, *, now: datetime) -> bool:
    """Return whether a token may still be used."""
    if token.revoked_at is not None or (token.expires_at and token.expires_at <= now):
        return False
    person = token.person
    return person is None or (person.is_active and person.company_id == token.company_id)


@transaction.atomic
def revoke_token(*, token: ApiToken, version: int, now: datetime, by: User | None = None) -> None:
    """End a token with all that its program made: the tokens, and the invitations that nobody has
    taken up. Raises StaleRowsError where it has been revoked meanwhile."""
    claim_row(token, version=version)
    _end(token, by=by, now=now)


def revoke_owning_tokens(maker: User, *, by: User | None, now: datetime) -> None:
    """End what somebody has made who owns nothing any more, as far as it may own: they may have
    kept the secrets, and could let themselves in again."""
    for token in ApiToken.objects.select_related("company").filter(made_by=maker, revoked_at=None):
        if Right.OWN in token.scopes:
            _end(token, by=by, now=now)


def _end(token: ApiToken, *, by: User | None, now: datetime) -> None:
    held = ApiToken.objects.filter(pk=token.pk, revoked_at=None)
    if not held.update(revoked_at=now, version=F("version") + 1):
        return
    note_deed(company=token.company, by=by, code=Deed.Code.TOKEN_REVOKED, now=now, about=token)
    withdraw_all_of(token, by=by, now=now)
    for made in ApiToken.objects.select_related("company").filter(parent=token, revoked_at=None):
        _end(made, by=by, now=now)


def _digest(secret: str) -> str:
    return sha256(secret.encode()).hexdigest()
