"""Which publications crews have said that they have seen."""

from django.db import models

from finishing.models.owned import Owned


class SeenPublication(Owned):
    """A crew's word that it has seen a publication; once, however often it says so."""

    crew = models.ForeignKey("finishing.Crew", on_delete=models.CASCADE, related_name="+")
    publication = models.ForeignKey(
        "scheduling.Publication", on_delete=models.CASCADE, related_name="seen"
    )
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["crew", "publication"], name="publication_seen_once")
        ]

    def __str__(self) -> str:
        return f"{self.crew_id} {self.publication_id}"
