"""Hourly air, one row per source and UTC day."""

from django.db import models

from finishing.models.owned import Owned


class AirSource(Owned):
    """A weather station or a reading device in a house."""

    class Kind(models.TextChoices):
        STATION = "station", "outdoor air of a place"
        LOGGER = "logger", "a device inside one house"

    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=10, choices=Kind.choices, default=Kind.STATION)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["company", "name"], name="source_name_once")]

    def __str__(self) -> str:
        return self.name


class AirDay(Owned):
    """24 hourly values of a UTC day; null where the hour is not known.

    temperature_c: Celsius. humidity: relative humidity as a fraction.
    """

    source = models.ForeignKey(AirSource, on_delete=models.CASCADE, related_name="days")
    day = models.DateField()
    temperature_c = models.JSONField()
    humidity = models.JSONField()

    class Meta:
        ordering = ["day"]
        constraints = [models.UniqueConstraint(fields=["source", "day"], name="air_day_once")]
