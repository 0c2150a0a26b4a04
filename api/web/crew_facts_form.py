"""What a crew is called, where its clock stands and how it is spoken to, as the office edits it."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from zoneinfo import available_timezones

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.web.crew_group import CrewGroup
from api.web.form_group import VersionedForm
from finishing.models import Crew, User
from finishing.models.owned import Row
from finishing.services.errors import Fault
from scheduling.services.crew_facts import FACTS, crew_fact_faults, edit_crew_facts
from scheduling.wording import listed


class SpeechForm(VersionedForm):
    """How a crew is spoken to."""

    language = forms.ChoiceField(label=gettext_lazy("Language"), choices=Crew.Language.choices)
    units = forms.ChoiceField(
        label=gettext_lazy("Units"),
        choices=[("", gettext_lazy("as usual in its country")), *Crew.Units.choices],
        required=False,
    )


class CrewFactsForm(SpeechForm):
    """A crew itself; its fields are ``crew_facts.FACTS``."""

    name = forms.CharField(label=gettext_lazy("Name"), max_length=120)
    zone = forms.CharField(
        label=gettext_lazy("Time zone"),
        max_length=60,
        help_text=gettext_lazy("On whose clock its hours are, like Europe/Dublin."),
    )
    email = forms.EmailField(
        label=gettext_lazy("E-mail address"),
        max_length=254,
        required=False,
        help_text=gettext_lazy("Is told of changes within two days. Blank: nobody is."),
    )
    is_active = forms.BooleanField(label=gettext_lazy("Is given new work"), required=False)
    field_order = ("version", *FACTS)

    def legend(self) -> str:
        return _("The crew")

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"]
        if not name.isprintable():
            raise forms.ValidationError(_("A name is one line: take the line breaks out."))
        return name

    def clean_zone(self) -> str:
        zone: str = self.cleaned_data["zone"]
        if zone not in available_timezones():
            raise forms.ValidationError(
                _("This is not a time zone: write one like Europe/Dublin or America/Denver.")
            )
        return zone


class CrewFactsGroup(CrewGroup):
    """The crew's own form."""

    def build(self) -> list[forms.Form]:
        self.crew = Crew.objects.select_related("company").get(pk=self.crew.pk)
        initial = {name: getattr(self.crew, name) for name in ("version", *FACTS)}
        return [CrewFactsForm(self.sent(""), initial=initial)]

    def check(self) -> Iterable[Fault]:
        return crew_fact_faults(self.crew.company, self.forms[0].cleaned_data, self.crew)

    def save(self, by: User, now: datetime) -> None:  # noqa: ARG002
        facts: dict[str, Any] = dict(self.forms[0].cleaned_data)
        edit_crew_facts(crew=self.crew, version=facts.pop("version"), facts=facts, now=now)

    def in_words(self, row: Row) -> str:
        assert isinstance(row, Crew)
        units = row.get_units_display() if row.units else _("units as usual in its country")
        work = _("is given new work") if row.is_active else _("gets no new work")
        return f"{row}: {listed([row.zone, row.get_language_display(), units, row.email, work])}"
