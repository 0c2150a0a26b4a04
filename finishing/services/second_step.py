"""The second step of signing in: a code from somebody's phone (TOTP, RFC 6238), or one that they
wrote down. The key is shown until a first code has been typed from it, and never again.
"""

import secrets
from collections.abc import Sequence

from django.db import transaction
from django_otp import devices_for_user
from django_otp.plugins.otp_static.models import StaticDevice
from django_otp.plugins.otp_totp.models import TOTPDevice

from finishing.models import User

MOST_CODES = 10
"""How many codes there are to write down; each is good once."""


def has_second_step(user: User) -> bool:
    """Return whether somebody needs a code to sign in."""
    return bool(TOTPDevice.objects.filter(user=user, confirmed=True).exists())


def key_address(user: User) -> str:
    """Return what a phone reads to make codes for somebody who has no second step yet: the same
    each time, until it is turned on."""
    device = TOTPDevice.objects.filter(user=user, confirmed=False).first()
    device = device or TOTPDevice.objects.create(user=user, confirmed=False, name="phone")
    return str(device.config_url)


@transaction.atomic
def turn_on(user: User, *, code: str) -> Sequence[str] | None:
    """Ask for codes from now on, where this one is of the key that was shown; return the codes to
    write down, which cannot be had again, and None where it is not."""
    device = TOTPDevice.objects.select_for_update().filter(user=user, confirmed=False).first()
    if device is None or has_second_step(user) or not device.verify_token(code):
        return None
    device.confirmed = True
    device.save()
    StaticDevice.objects.filter(user=user).delete()
    written = StaticDevice.objects.create(user=user, name="written down")
    codes = [secrets.token_hex(5) for _ in range(MOST_CODES)]
    for one in codes:
        written.token_set.create(token=one)
    return codes


@transaction.atomic
def turn_off(user: User) -> None:
    """Ask for no code any more; the phone's key and the codes written down are gone."""
    TOTPDevice.objects.filter(user=user).delete()
    StaticDevice.objects.filter(user=user).delete()


@transaction.atomic
def passes(user: User, *, code: str) -> bool:
    """Return whether a code is right; one is right once."""
    devices = devices_for_user(user, confirmed=True, for_verify=True)
    return any(device.verify_token(code) for device in list(devices))
