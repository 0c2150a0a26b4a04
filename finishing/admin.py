"""Every row of the trade, plainly, for whoever keeps the installation running."""

from typing import ClassVar

from django.contrib import admin
from django_otp.plugins.otp_static.models import StaticDevice
from django_otp.plugins.otp_totp.models import TOTPDevice

from finishing import models


class PlainAdmin(admin.ModelAdmin):  # type: ignore[type-arg]  # not subscriptable at run time
    """Public ids and versions are shown, not edited."""

    readonly_fields: ClassVar[tuple[str, ...]] = ("public_id", "version")


class OwnedAdmin(PlainAdmin):
    """Rows of companies, by company."""

    list_display = ("__str__", "company")
    list_filter = ("company",)
    list_select_related = ("company",)


class UserAdmin(PlainAdmin):
    """Users; a password is set by the changepassword command, never typed in as a hash."""

    list_display = ("email", "company", "is_active", "is_staff")
    exclude = ("password",)
    readonly_fields = ("public_id", "version", "last_login")


# The keys of second steps are shown to nobody again, not here either.
admin.site.unregister([TOTPDevice, StaticDevice])
admin.site.register(models.User, UserAdmin)
admin.site.register(models.Company, PlainAdmin)
admin.site.register(
    [
        models.AirDay,
        models.AirSource,
        models.ApiToken,
        models.Area,
        models.Change,
        models.Closure,
        models.CoatDone,
        models.Compound,
        models.Crew,
        models.CrewHours,
        models.CrewMember,
        models.DayOff,
        models.Dryer,
        models.Holiday,
        models.House,
        models.JointingSystem,
        models.JointLine,
        models.LabourRate,
        models.ExtraHours,
        models.ForecastEnsemble,
        models.ForecastIssue,
        models.Loan,
        models.Note,
        models.OddJob,
        models.PlacingRate,
        models.ReadinessLine,
        models.Room,
        models.SentReading,
        models.StockLine,
        models.Supply,
        models.Surface,
        models.SystemStage,
    ],
    OwnedAdmin,
)
