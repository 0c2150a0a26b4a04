"""Hourly air, one row per source and UTC day; of an ensemble, one row per forecast."""

from django.db import models

from finishing.models.owned import Owned


class AirSource(Owned):
    """Where air comes from. latitude, longitude: the place of a forecast. house: the one that
    readings were taken in.

    A forecast knows when it was last fetched, and what went wrong at the last attempt if that
    failed; the air of the fetch before it stays. member_faults: what was wrong with the ensemble
    beside the forecast fetched last.
    """

    class Kind(models.TextChoices):
        STATION = "station", "outdoor air of a place"
        LOGGER = "logger", "a device inside one house"
        FORECAST = "forecast", "outdoor air to come, of a place"
        READINGS = "readings", "read by people inside one house"

    name = models.CharField(max_length=140)
    kind = models.CharField(max_length=10, choices=Kind.choices, default=Kind.STATION)
    house = models.OneToOneField(
        "finishing.House", on_delete=models.CASCADE, null=True, blank=True, related_name="readings"
    )
    latitude = models.FloatField(null=True, blank=True)
    longitude = models.FloatField(null=True, blank=True)
    fetched_at = models.DateTimeField(null=True, blank=True)
    failed_at = models.DateTimeField(null=True, blank=True)
    failure = models.TextField(blank=True)
    member_faults = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["company", "name"], name="source_name_once"),
            models.UniqueConstraint(
                fields=["company", "latitude", "longitude"], name="forecast_of_place_once"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class AirDay(Owned):
    """24 hourly values of a UTC day; null where the hour is not known.

    temperature_c: Celsius. humidity: relative humidity as a fraction. read_s: of what people read,
    how many seconds into its hour each was; none where nobody's moment is known.
    """

    source = models.ForeignKey(AirSource, on_delete=models.CASCADE, related_name="days")
    day = models.DateField()
    temperature_c = models.JSONField()
    humidity = models.JSONField()
    read_s = models.JSONField(default=list, blank=True)

    class Meta:
        ordering = ["day"]
        constraints = [models.UniqueConstraint(fields=["source", "day"], name="air_day_once")]


class ForecastEnsemble(Owned):
    """The members of a forecast's ensemble, all of one fetch: members of two fetches are different
    weather, so they are kept, and replaced, as one.

    first_hour: UTC; members: their names; temperature_c, humidity: a list for each, in that order,
    with a value (Celsius, a fraction) for each hour from first_hour on, none of them null.
    """

    source = models.OneToOneField(AirSource, on_delete=models.CASCADE, related_name="ensemble")
    fetched_at = models.DateTimeField()
    first_hour = models.DateTimeField()
    members = models.JSONField()
    temperature_c = models.JSONField()
    humidity = models.JSONField()

    def __str__(self) -> str:
        return f"{self.source}, {len(self.members)} members"


class ForecastIssue(Owned):
    """What a forecast said when it was first fetched on a UTC day, kept to be held against what
    came; the forecast's own air is overwritten by the next.

    temperature_c, humidity: Celsius, a fraction; one value for each hour from first_hour (UTC) on,
    null where it gave none.
    """

    source = models.ForeignKey(AirSource, on_delete=models.CASCADE, related_name="issues")
    issued_on = models.DateField()
    first_hour = models.DateTimeField()
    temperature_c = models.JSONField()
    humidity = models.JSONField()

    class Meta:
        ordering = ["issued_on"]
        constraints = [
            models.UniqueConstraint(fields=["source", "issued_on"], name="forecast_issue_of_day")
        ]
        indexes = [models.Index(fields=["company", "issued_on"])]

    def __str__(self) -> str:
        return f"{self.source} {self.issued_on}"
