"""Plans, runs and publications in the admin: to look at, not to change."""

from django.contrib import admin
from django.db.models import Model
from django.http import HttpRequest

from scheduling.models import (
    ExtraWork,
    HouseRevision,
    Obstacle,
    Pin,
    Plan,
    PlanRun,
    Publication,
    Report,
    Scenario,
    SeenPublication,
    SentReport,
    Visit,
)


class LookOnly(admin.ModelAdmin):  # type: ignore[type-arg]  # not subscriptable at run time
    """Rows that only the planner and publishing write."""

    def has_add_permission(self, request: HttpRequest) -> bool:  # noqa: ARG002
        return False

    def has_change_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:  # noqa: ARG002
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:  # noqa: ARG002
        return False


admin.site.register(
    [
        ExtraWork,
        HouseRevision,
        Obstacle,
        Pin,
        Plan,
        PlanRun,
        Publication,
        Report,
        Scenario,
        SeenPublication,
        SentReport,
        Visit,
    ],
    LookOnly,
)
