"""What every form on a crew's phone sends: an id of its own, and when it was tapped."""

from datetime import datetime, timedelta

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

OLDEST = timedelta(days=14)
"""Taps are kept on a phone for so long; what is older may be of something else altogether."""
NOT_WHOLE = _("This page was not whole. Load it again.")


class SentForm(forms.Form):
    """A form of a phone: ``sent_as``, made with it, tells it from any other.

    tapped_at: when it was tapped, if a script kept it (ISO 8601); else it was just now.
    """

    sent_as = forms.UUIDField(error_messages={"required": NOT_WHOLE, "invalid": NOT_WHOLE})
    tapped_at = forms.DateTimeField(required=False, error_messages={"invalid": NOT_WHOLE})

    def tapped(self, now: datetime) -> datetime:
        """Return when it was tapped: never later than now, whatever the phone's clock says."""
        return min(self.cleaned_data.get("tapped_at") or now, now)

    def check_age(self, now: datetime) -> None:
        """Refuse what was kept for too long."""
        if self.is_valid() and self.tapped(now) < now - OLDEST:
            self.add_error(None, gettext("This was tapped too long ago. Tell the office instead."))
