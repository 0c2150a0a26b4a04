"""What people want remembered of a house."""

from django.core.exceptions import ValidationError
from django.db import models

from finishing.models.house import Area, House
from finishing.models.owned import Owned

LONGEST_NOTE = 2000


class Note(Owned):
    """A note of a house, or of one of its areas. It can be struck out, and is never lost."""

    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="notes")
    area = models.ForeignKey(
        Area, on_delete=models.SET_NULL, null=True, blank=True, related_name="notes"
    )
    text = models.TextField(max_length=LONGEST_NOTE)
    at = models.DateTimeField()
    by = models.ForeignKey(
        "finishing.User", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    struck_at = models.DateTimeField(null=True, blank=True)
    struck_by = models.ForeignKey(
        "finishing.User", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["at", "id"]
        indexes = [models.Index(fields=["house", "at"])]

    def __str__(self) -> str:
        return self.text[:80]

    @property
    def is_struck(self) -> bool:
        return self.struck_at is not None

    def clean(self) -> None:
        """Refuse an area of another house."""
        if self.area and self.area.house_id != self.house_id:
            raise ValidationError({"area": "is another house's"})
