"""Forms that crews have sent with a reading, so that none counts twice."""

from django.db import models

from finishing.models.owned import Owned


class SentReading(Owned):
    """A form with a reading, known by the id that was made with the form.

    hour: the UTC hour that it counts for. temperature_c: Celsius. humidity: a fraction.
    """

    sent_as = models.UUIDField()
    crew = models.ForeignKey("finishing.Crew", on_delete=models.CASCADE, related_name="+")
    house = models.ForeignKey("finishing.House", on_delete=models.CASCADE, related_name="+")
    hour = models.DateTimeField()
    temperature_c = models.FloatField()
    humidity = models.FloatField()

    class Meta:
        ordering = ["hour", "id"]
        constraints = [models.UniqueConstraint(fields=["company", "sent_as"], name="sent_once")]

    def __str__(self) -> str:
        return f"{self.house} {self.hour:%Y-%m-%d %H:%MZ}"
