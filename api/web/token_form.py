"""What an owner says of a new token."""

from datetime import datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.utils.translation import gettext_lazy as _

from api.web.day_field import DayField
from api.web.row_field import RowField, offer
from finishing.models import Company, User
from finishing.queries.people import people_of
from finishing.queries.rights import Right

RIGHTS = (
    (Right.READ.value, _("see everything")),
    (Right.REPORT.value, _("say what crews did, and see their visits")),
    (Right.PLAN.value, _("edit houses, air and crews; plan and publish; see everything")),
    (Right.OWN.value, _("settings; see everything; together with the one above, secret addresses")),
)


class TokenForm(forms.Form):
    """person: None for a machine."""

    name = forms.CharField(
        label=_("Which program"),
        max_length=120,
        error_messages={"required": _("Say what it is called.")},
    )
    person: RowField[User] = RowField(
        label=_("In whose name"),
        required=False,
        help_text=_("It may do no more than they may, and ends with their sign-in."),
    )
    scopes = forms.MultipleChoiceField(
        label=_("What it may do"),
        choices=RIGHTS,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": _("Choose at least one thing that it may do.")},
    )
    last_day = DayField(label=_("Good until"), help_text=_("Blank: until it is revoked."))

    def __init__(self, company: Company, data: Any = None) -> None:
        super().__init__(data, initial={"scopes": [Right.READ.value]})
        self.company = company
        offer(self, "person", company, people_of(company), blank=_("its own: a machine"))

    def token(self) -> dict[str, Any]:
        """Return what ``make_token`` is told; of a form without faults."""
        said = self.cleaned_data
        return {
            "company": self.company,
            "name": said["name"],
            "person": said["person"],
            "scopes": [Right(scope) for scope in said["scopes"]],
            "expires_at": self._end_of(said["last_day"]),
        }

    def _end_of(self, day: Any) -> datetime | None:
        """Return when a day of the company's is over."""
        if day is None:
            return None
        return datetime.combine(day + timedelta(days=1), time(), ZoneInfo(self.company.zone))
