"""The second step of signing in: a code from somebody's phone (TOTP, RFC 6238), or one that they
wrote down. The key is shown until a first code has been typed from it, and never again.
"""

import secrets
from binascii import unhexlify
from collections.abc import Sequence
from hashlib import sha256

from django.db import transaction
from django.utils import timezone
from django_otp.oath import TOTP
from django_otp.plugins.otp_totp.models import TOTPDevice

from finishing.models import PhoneKey, User, WrittenCode
from finishing.services.sealed import SealedError, seal, unseal

MOST_CODES = 10
"""How many codes there are to write down; each is good once."""
CODE_BYTES, KEY_BYTES = 8, 20
STEPS_LATE_OR_EARLY = 1
"""By how many steps of 30 s a phone's clock may differ (RFC 6238, 5.2)."""


def has_second_step(user: User) -> bool:
    """Return whether somebody needs a code to sign in."""
    return PhoneKey.objects.filter(user=user, is_on=True).exists()


def key_address(user: User) -> str:
    """Return what a phone reads to make codes for somebody who has no second step yet: the same
    each time, until it is turned on."""
    key = secrets.token_hex(KEY_BYTES)
    row, _ = PhoneKey.objects.get_or_create(
        user=user, is_on=False, defaults={"sealed_key": seal(key)}
    )
    try:
        key = unseal(row.sealed_key)
    except SealedError:  # nobody's phone has it yet: another one will do
        row.sealed_key = seal(key)
        row.save()
    return str(TOTPDevice(user=user, key=key).config_url)


@transaction.atomic
def turn_on(user: User, *, code: str) -> Sequence[str] | None:
    """Ask for codes from now on, where this one is of the key that was shown; return the codes to
    write down, which cannot be had again, and None where it is not."""
    row = PhoneKey.objects.select_for_update().filter(user=user, is_on=False).first()
    if row is None or not _is_of_phone(row, code):
        return None
    row.is_on = True
    row.save()
    WrittenCode.objects.filter(user=user).delete()
    codes = [secrets.token_hex(CODE_BYTES) for _ in range(MOST_CODES)]
    WrittenCode.objects.bulk_create(WrittenCode(user=user, sha256=_digest(one)) for one in codes)
    return codes


@transaction.atomic
def turn_off(user: User) -> None:
    """Ask for no code any more; the phone's key and the codes written down are gone."""
    PhoneKey.objects.filter(user=user).delete()
    WrittenCode.objects.filter(user=user).delete()


@transaction.atomic
def passes(user: User, *, code: str) -> bool:
    """Return whether a code is right; one is right once."""
    row = PhoneKey.objects.select_for_update().filter(user=user, is_on=True).first()
    if row and _is_of_phone(row, code):
        return True
    used, _ = WrittenCode.objects.filter(user=user, sha256=_digest(code)).delete()
    return bool(used)


def _is_of_phone(row: PhoneKey, code: str) -> bool:
    """Return whether a code is the phone's and newer than the last one; then it is the last one."""
    if not (code.isascii() and code.isdecimal()):
        return False
    try:
        codes = TOTP(unhexlify(unseal(row.sealed_key)))
    except SealedError:  # a code that was written down still lets its owner in
        return False
    codes.time = timezone.now().timestamp()
    if not codes.verify(int(code), STEPS_LATE_OR_EARLY, row.last_step + 1):
        return False
    row.last_step = codes.t()
    row.save()
    return True


def _digest(code: str) -> str:
    return sha256(code.encode()).hexdigest()
