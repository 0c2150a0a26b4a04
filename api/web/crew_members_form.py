"""Who is in a crew, as the office edits it: a line each, and two to add."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.web.crew_group import NEW_LINES, CrewGroup, LineForm
from api.web.day_field import DayField
from finishing.models import CrewMember, User
from finishing.models.owned import Row
from finishing.rules.vocabulary import Skill
from finishing.services.crew_members import MemberLine, edit_members, member_faults
from finishing.services.errors import Fault
from scheduling.value_wording import SKILLS
from scheduling.wording import day, listed

EVERY_SKILL = [skill.value for skill in Skill]


class MemberForm(LineForm):
    """A person's time in the crew."""

    name = forms.CharField(label=gettext_lazy("Name"), max_length=120, required=False)
    email = forms.EmailField(label=gettext_lazy("E-mail address"), max_length=254, required=False)
    from_day = DayField(label=gettext_lazy("First day"), help_text=gettext_lazy("Blank: always."))
    to_day = DayField(label=gettext_lazy("Last day"), help_text=gettext_lazy("Blank: no end."))
    skills = forms.MultipleChoiceField(
        label=gettext_lazy("Skills"),
        choices=[(skill.value, SKILLS[skill]) for skill in Skill],
        widget=forms.CheckboxSelectMultiple,
        required=False,
    )
    field_order = ("version", "name", "email", "from_day", "to_day", "skills", "remove")

    def legend(self) -> str:
        return str(self.initial.get("name") or _("Add somebody"))

    def clean(self) -> dict[str, Any]:
        self.ask_for({"name": _("Say who it is.")})
        if self.is_wanted() and self.cleaned_data.get("skills") == []:
            self.add_error("skills", _("Tick what this person can do."))
        return self.cleaned_data

    def line(self) -> MemberLine:
        typed = self.cleaned_data
        return MemberLine(
            place=str(self.prefix),
            name=typed["name"],
            email=typed["email"],
            skills=frozenset(Skill(skill) for skill in typed["skills"]),
            from_day=typed["from_day"],
            to_day=typed["to_day"],
            public_id=self.key,
            version=typed["version"],
            remove=self.is_removed(),
        )


class MembersGroup(CrewGroup):
    """Everybody who is in the crew, was, or will be."""

    def build(self) -> list[forms.Form]:
        rows = self.crew.members.order_by("name", "from_day", "pk")
        return [
            *(self._form(f"member-{row.public_id}", row) for row in rows),
            *(self._form(f"member-{new}", None) for new in NEW_LINES),
        ]

    def check(self) -> Iterable[Fault]:
        return member_faults(self._lines())

    def save(self, by: User, now: datetime) -> None:  # noqa: ARG002
        edit_members(crew=self.crew, lines=self._lines())

    def in_words(self, row: Row) -> str:
        assert isinstance(row, CrewMember)
        said = [str(SKILLS.get(skill, skill)) for skill in row.skills]
        if row.email:
            said.append(row.email)
        if row.from_day:
            said.append(_("from %(day)s") % {"day": day(row.from_day)})
        if row.to_day:
            said.append(_("until %(day)s") % {"day": day(row.to_day)})
        return f"{row}: {listed(said)}"

    def _form(self, prefix: str, row: CrewMember | None) -> MemberForm:
        initial: dict[str, Any] = {"version": 0, "skills": EVERY_SKILL}
        if row:
            names = ("version", "name", "email", "skills", "from_day", "to_day")
            initial = {name: getattr(row, name) for name in names}
        key = row.public_id if row else None
        return MemberForm(key, self.sent(prefix), prefix=prefix, initial=initial)

    def _lines(self) -> list[MemberLine]:
        return [
            form.line()
            for form in self.forms
            if isinstance(form, MemberForm) and form.is_bound and not form.errors
            if form.is_wanted() or form.is_removed()
        ]
