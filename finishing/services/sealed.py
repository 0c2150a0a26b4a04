"""Secrets that have to be had again, to sign or to sign in with: stored encrypted.

Links' secrets are worked out from the link key, but a password of somebody else's server cannot
be, nor the key in somebody's phone, and what signs webhooks has to outlive any change of key. The
key is a setting of its own and lies beside the database, not in it: a copy of the database alone
opens nothing.
"""

import hashlib
from base64 import urlsafe_b64encode
from typing import TYPE_CHECKING

from django.conf import settings

if TYPE_CHECKING:
    from cryptography.fernet import MultiFernet


class SealedError(Exception):
    """It was sealed with a key that is not known any more."""


def seal(text: str) -> str:
    """Return a text encrypted with the key."""
    return _box().encrypt(text.encode()).decode("ascii")


def unseal(sealed: str) -> str:
    """Return what was sealed with the key, or with one from before it; raise SealedError where
    none fits."""
    from cryptography.fernet import InvalidToken  # noqa: PLC0415 - large, and few requests need it

    try:
        return _box().decrypt(sealed.encode("ascii")).decode()
    except InvalidToken:
        raise SealedError("sealed with a key that is not known any more") from None


def _box() -> "MultiFernet":
    """Return all keys: the first one seals, the others are from before it."""
    from cryptography.fernet import Fernet, MultiFernet  # noqa: PLC0415 - as above

    keys = [settings.SEAL_KEY, *settings.FORMER_SEAL_KEYS]
    digests = (hashlib.sha256(key.encode()).digest() for key in keys)
    return MultiFernet([Fernet(urlsafe_b64encode(digest)) for digest in digests])
