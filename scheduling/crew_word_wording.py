"""What crews say that is more than a report of work, in words."""

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from scheduling.models import ExtraWork, Obstacle
from scheduling.wording import Codes, figure, listed, readiness_name

REASONS: dict[str, Promise] = {
    Obstacle.Reason.NO_WAY_IN: gettext_lazy("No way in"),
    Obstacle.Reason.NOT_READY: gettext_lazy("Not ready"),
    Obstacle.Reason.DAMAGE: gettext_lazy("Damage by others"),
    Obstacle.Reason.SHORT: gettext_lazy("Short of material"),
}


def reason_text(said: Codes) -> str:
    """Say why a crew could not work. said: reason, item and note of an ``Obstacle``."""
    item = readiness_name(said["item"]) if said["item"] else ""
    return listed([str(REASONS[said["reason"]]), item, said["note"]])


def obstacle_text(row: Obstacle) -> str:
    """Say what kept a crew from its work."""
    why = reason_text({"reason": row.reason, "item": row.item, "note": row.note})
    return _("Cannot work: %(why)s") % {"why": why}


def extra_work_text(row: ExtraWork) -> str:
    """Say what a crew did that was in no plan."""
    values = {"what": row.what, "hours": figure(row.person_minutes / 60)}
    return _("Extra work: %(what)s, %(hours)s person-hours") % values
