"""What a publication did to the visits of a house, kept as it was then."""

from django.db import models

from finishing.models.owned import Owned


class HouseRevision(Owned):
    """The visits of one house that a publication made, moved or took away.

    visits: for each its ``kind`` (new, moved, cancelled), its crew's name, when it starts, when it
    was to start before ("" where that is the same or there was none), and its id as ``visit``
    (none in rows of before ids were kept).
    """

    publication = models.ForeignKey(
        "scheduling.Publication", on_delete=models.CASCADE, related_name="houses"
    )
    house = models.ForeignKey("finishing.House", on_delete=models.CASCADE, related_name="+")
    at = models.DateTimeField()
    visits = models.JSONField(default=list)

    class Meta:
        ordering = ["at", "id"]
        indexes = [models.Index(fields=["house", "at"])]
        constraints = [
            models.UniqueConstraint(
                fields=["publication", "house"], name="house_once_in_a_publication"
            )
        ]

    def __str__(self) -> str:
        return f"{self.house_id} {self.at}"
