"""Crews, their people, hours, extra hours, days off and loans; public holidays."""

from django.core.exceptions import ValidationError
from django.db import models
from django.utils.translation import gettext_lazy as _

from finishing.models.owned import Owned
from finishing.models.zones import validate_zone

IMPERIAL_COUNTRIES = frozenset({"US"})
"""ISO 3166 codes of countries whose crews work in inches and read Fahrenheit first."""


class Crew(Owned):
    """People who work together. Its zone says which day an hour belongs to; its language and
    units are those of its page, its calendar and the messages for it."""

    class Language(models.TextChoices):
        ENGLISH = "en", "English"
        SPANISH = "es", "Español"

    class Units(models.TextChoices):
        METRIC = "metric", _("millimetres, metres, °C")
        IMPERIAL = "imperial", _("inches, feet, °F")

    name = models.CharField(max_length=120)
    zone = models.CharField(max_length=60, validators=[validate_zone])
    is_active = models.BooleanField(default=True, help_text="is given new work")
    language = models.CharField(max_length=5, choices=Language.choices, default=Language.ENGLISH)
    units = models.CharField(
        max_length=8, choices=Units.choices, blank=True, help_text="blank: as usual in its country"
    )
    email = models.EmailField(blank=True, help_text="is told of changes within two days")

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["company", "name"], name="crew_name_once")]

    def __str__(self) -> str:
        return self.name

    @property
    def reads_imperial(self) -> bool:
        """Whether it works in inches and feet and reads Fahrenheit."""
        if self.units:
            return self.units == self.Units.IMPERIAL
        return self.company.country in IMPERIAL_COUNTRIES


class CrewMember(Owned):
    """A person's time in a crew; skills are rules.vocabulary.Skill values."""

    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="members")
    name = models.CharField(max_length=120)
    email = models.EmailField(blank=True, help_text="is told of changes within two days")
    skills = models.JSONField(default=list)
    from_day = models.DateField(null=True, blank=True)
    to_day = models.DateField(null=True, blank=True, help_text="last day, included")

    def __str__(self) -> str:
        return self.name


class CrewHours(Owned):
    """One working window of a weekday (0 Monday); several make a day with a break."""

    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="hours")
    weekday = models.PositiveSmallIntegerField()
    start = models.TimeField()
    end = models.TimeField()

    class Meta:
        ordering = ["weekday", "start"]


class ExtraHours(Owned):
    """Hours of one day in which a crew works besides its own, at the company's price for them."""

    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="extra_hours")
    day = models.DateField()
    start = models.TimeField()
    end = models.TimeField()

    class Meta:
        ordering = ["day", "start"]
        constraints = [
            models.UniqueConstraint(fields=["crew", "day", "start"], name="extra_hours_once")
        ]

    def clean(self) -> None:
        """Refuse hours that end before they start, and a crew of another company."""
        if self.end <= self.start:
            raise ValidationError({"end": "must be later than the start"})
        if self.crew.company_id != self.company_id:
            raise ValidationError({"crew": "is another company's"})


class DayOff(Owned):
    """A day on which a crew, or one member of it, does not work."""

    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="days_off")
    member = models.ForeignKey(
        CrewMember, on_delete=models.CASCADE, null=True, blank=True, related_name="days_off"
    )
    day = models.DateField()
    reason = models.CharField(max_length=120, blank=True)


class Loan(Owned):
    """A day that a member works with another crew than its own."""

    member = models.ForeignKey(CrewMember, on_delete=models.CASCADE, related_name="loans")
    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="borrowed")
    day = models.DateField()

    class Meta:
        ordering = ["day"]
        constraints = [models.UniqueConstraint(fields=["member", "day"], name="loan_of_day_once")]

    def clean(self) -> None:
        """Refuse a loan to the member's own crew or between companies."""
        if self.member.crew_id == self.crew_id:
            raise ValidationError({"crew": f"{self.member} is in {self.crew} already"})
        if {self.member.company_id, self.crew.company_id} != {self.company_id}:
            raise ValidationError({"crew": "is another company's"})


class Holiday(Owned):
    """A day on which no crew works, but for extra hours: a public holiday of the company's
    country, or one of the company's own, which stays when those are fetched again."""

    day = models.DateField()
    name = models.CharField(max_length=120)
    is_own = models.BooleanField(default=False)

    class Meta:
        ordering = ["day"]
        constraints = [models.UniqueConstraint(fields=["company", "day"], name="holiday_once")]
