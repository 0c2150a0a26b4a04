"""What every row has: a company, a public id, a version."""

import os
import time
import uuid

from django.db import models


def uuid7() -> uuid.UUID:
    """Return a new UUID of version 7 (RFC 9562 5.7): random, in order of making."""
    stamp = time.time_ns() // 1_000_000
    value = (stamp << 80) | int.from_bytes(os.urandom(10), "big")
    value = value & ~(0xF << 76) | (0x7 << 76)
    return uuid.UUID(int=value & ~(0x3 << 62) | (0x2 << 62))


class Row(models.Model):
    """A row that can be named outside and edited by two people."""

    public_id = models.UUIDField(default=uuid7, unique=True, editable=False)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        abstract = True


class Owned(Row):
    """A row of one company."""

    company = models.ForeignKey("finishing.Company", on_delete=models.CASCADE, related_name="+")

    class Meta:
        abstract = True
