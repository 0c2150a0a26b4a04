"""What the first owner of an installation is let in by."""

from django.db import models

from finishing.models.owned import uuid7


class FirstCode(models.Model):
    """The one code that makes the first owner; there is one row at most. The code is made from the
    public id with the site's secret key, and stored nowhere. used_at: nobody is let in by it any
    more, whoever is removed later."""

    public_id = models.UUIDField(default=uuid7, unique=True, editable=False)
    used_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return "used" if self.used_at else "open"
