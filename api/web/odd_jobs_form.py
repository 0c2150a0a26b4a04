"""The odd jobs of a house as the office edits them: a line each, and two to add."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.web.closures_form import NEW_LINES
from api.web.figure_field import FigureField
from api.web.form_group import HouseGroup, VersionedForm
from finishing.models import OddJob, User
from finishing.models.owned import Row
from finishing.rules.vocabulary import Skill
from finishing.services.errors import Fault
from finishing.services.odd_jobs import OddJobLine, edit_odd_jobs, odd_job_faults
from scheduling.field_wording import FIELDS
from scheduling.value_wording import SKILLS
from scheduling.wording import figure, listed

MOST_HOURS = 1000


class OddJobForm(VersionedForm):
    """One job; public_id is None on a line that adds one."""

    name = forms.CharField(label=FIELDS["name"], max_length=120, required=False)
    person_minutes = FigureField(
        label=FIELDS["person_minutes"],
        min_value=0,
        max_value=MOST_HOURS,
        error_messages={"max_value": gettext_lazy("These are more hours than any odd job takes.")},
    )
    skill = forms.ChoiceField(label=FIELDS["skill"], choices=[*SKILLS.items()])
    done = forms.BooleanField(label=FIELDS["done"], required=False)
    remove = forms.BooleanField(label=gettext_lazy("Remove"), required=False)

    def __init__(self, public_id: UUID | None, data: Any, **more: Any) -> None:
        super().__init__(data, **more)
        self.public_id = public_id
        if public_id is None:
            del self.fields["remove"]

    def legend(self) -> str:
        return str(self.initial.get("name") or _("Add a job"))

    def clean(self) -> dict[str, Any]:
        """Ask for what is missing, but of a line that is blank or to be removed."""
        if self.is_wanted():
            if "name" in self.cleaned_data and not self.cleaned_data["name"]:
                self.add_error("name", _("Say what is to be done."))
            if "person_minutes" in self.cleaned_data and not self.cleaned_data["person_minutes"]:
                self.add_error("person_minutes", _("Say how many hours it takes."))
        return self.cleaned_data

    def is_wanted(self) -> bool:
        if self.cleaned_data.get("remove"):
            return False
        return self.public_id is not None or bool({*self.changed_data} - {"skill"})

    def line(self) -> OddJobLine:
        typed = {
            **self.cleaned_data,
            "person_minutes": round((self.cleaned_data["person_minutes"] or 0) * 60),
            "skill": Skill(self.cleaned_data["skill"]),
        }
        return OddJobLine(place=str(self.prefix), public_id=self.public_id, **typed)


class OddJobsGroup(HouseGroup):
    """All odd jobs of a house, those still to do in front."""

    def build(self) -> list[forms.Form]:
        rows = OddJob.objects.filter(house=self.house).order_by("done", "id")
        return [
            *(self._form(f"job-{row.public_id}", row) for row in rows),
            *(self._form(prefix, None) for prefix in NEW_LINES),
        ]

    def check(self) -> Iterable[Fault]:
        return odd_job_faults(self._lines())

    def save(self, by: User, now: datetime) -> None:
        edit_odd_jobs(house=self.house, lines=self._lines(), by=by, now=now)

    def in_words(self, row: Row) -> str:
        assert isinstance(row, OddJob)
        hours = _("%(hours)s person-hours") % {"hours": figure(row.person_minutes / 60)}
        state = _("done") if row.done else _("open")
        return f"{row.name}: {listed([hours, str(SKILLS[row.skill]), state])}"

    def _form(self, prefix: str, row: OddJob | None) -> OddJobForm:
        initial: dict[str, Any] = {"version": 0, "skill": Skill.ODD_JOBS.value}
        if row:
            initial = {name: getattr(row, name) for name in ("version", "name", "skill", "done")}
            initial["person_minutes"] = f"{row.person_minutes / 60:g}"
        public_id = row.public_id if row else None
        return OddJobForm(public_id, self.sent(prefix), prefix=prefix, initial=initial)

    def _lines(self) -> list[OddJobLine]:
        return [
            form.line()
            for form in self.forms
            if isinstance(form, OddJobForm) and form.is_bound and not form.errors
            if form.is_wanted() or form.cleaned_data.get("remove")
        ]
