"""Tokens of the API: made, found, revoked. A secret is told once and kept as a hash only."""

import secrets
from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from hashlib import sha256

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.crypto import constant_time_compare
from django.utils.translation import gettext as _

from finishing.models import ApiToken, Company, Deed, User
from finishing.queries.rights import SCOPES, Right
from finishing.services.deeds import note_deed
from finishing.services.errors import Fault, InputFaults, faults_of_row
from finishing.services.rows import claim_row

PREFIX = "coatweave_"
"""What every secret begins with, so that a scanner of files tells one when it sees one."""
_USE_NOTED_EVERY = timedelta(minutes=1)


@transaction.atomic
def make_token(
    *,
    company: Company,
    name: str,
    scopes: Iterable[Right],
    now: datetime,
    person: User | None = None,
    made_by: User | None = None,
    expires_at: datetime | None = None,
) -> tuple[ApiToken, str]:
    """Return a new token and its secret, which nothing gives again.

    person: None for a machine's. Raises InputFaults with all that is wrong, by field.
    """
    secret = PREFIX + secrets.token_urlsafe(32)
    asked = frozenset(scopes)
    token = ApiToken(
        company=company,
        name=name,
        person=person,
        made_by=made_by,
        scopes=[right.value for right in SCOPES if right in asked],
        secret_sha256=_digest(secret),
        ending=secret[-4:],
        made_at=now,
        expires_at=expires_at,
    )
    if faults := list(_faults(token)):
        raise InputFaults(faults)
    token.save()
    note_deed(company=company, by=made_by, code=Deed.Code.TOKEN_MADE, now=now, about=name)
    return token, secret


def _faults(token: ApiToken) -> Iterator[Fault]:
    if ApiToken.objects.filter(company=token.company_id, name=token.name).exists():
        yield Fault("name", _("There is a token of this name, or was: choose one that differs."))
    if not token.scopes:
        yield Fault("scopes", _("Choose at least one thing that it may do."))
    try:
        token.full_clean(exclude=["scopes"], validate_constraints=False)
    except ValidationError as error:
        yield from faults_of_row(error)


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
    """End a token. Raises StaleRowsError where it has been revoked meanwhile."""
    claim_row(token, version=version)
    ApiToken.objects.filter(pk=token.pk).update(revoked_at=now)
    note_deed(company=token.company, by=by, code=Deed.Code.TOKEN_REVOKED, now=now, about=token)


def _digest(secret: str) -> str:
    return sha256(secret.encode()).hexdigest()
