"""A jointing system as the office edits it: its tape, and which compound does which stage."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.web.compound_form import STAGES
from api.web.form_group import CompanyGroup, VersionedForm
from api.web.row_field import RowField
from finishing.models import Change, Company, Compound, JointingSystem, User
from finishing.models.owned import Row
from finishing.queries.compounds import compounds_of
from finishing.rules.vocabulary import Stage
from finishing.services.compounds import SYSTEM_FIELDS, SystemFaultsError, save_system
from finishing.services.errors import Fault, InputFaults
from scheduling.compound_wording import TAPES, system_faults_said
from scheduling.wording import stage_name


def field_of(stage: str) -> str:
    """Return the name of a stage's field: one stage is called like the system's tape."""
    return f"stage_{stage}"


class SystemForm(VersionedForm):
    """compounds: the company's, to choose from."""

    name = forms.CharField(label=gettext_lazy("Name"), max_length=120)
    tape = forms.ChoiceField(label=gettext_lazy("Tape"), choices=[*TAPES.items()])
    is_default = forms.BooleanField(
        label=gettext_lazy("The default: of houses that name no other"), required=False
    )

    def __init__(
        self, company: Company, compounds: Sequence[Compound], data: Any = None, **more: Any
    ) -> None:
        super().__init__(data, **more)
        for stage in STAGES:
            field = RowField[Compound](label=stage_name(stage), required=False)
            field.offer(company, compounds, blank=_("nothing"))
            self.fields[field_of(stage)] = field

    def by_stage(self) -> dict[Stage, Compound]:
        chosen = {stage: self.cleaned_data.get(field_of(stage)) for stage in STAGES}
        return {stage: compound for stage, compound in chosen.items() if compound}

    def legend(self) -> str:
        return _("The system")


class SystemGroup(CompanyGroup):
    """The form of one system; row None: of a new one."""

    logs = (Change.What.SYSTEM,)

    def __init__(
        self, company: Company, row: JointingSystem | None, data: QueryDict | None = None
    ) -> None:
        self.row = row
        super().__init__(company, data)

    def build(self) -> list[forms.Form]:
        self.row = JointingSystem.objects.filter(pk=self.row.pk).first() if self.row else None
        initial: dict[str, Any] = {"version": 0}
        if self.row:
            initial = {name: getattr(self.row, name) for name in ("version", *SYSTEM_FIELDS)}
            lines = self.row.stage_rows.select_related("compound")
            initial |= {field_of(line.stage): str(line.compound.public_id) for line in lines}
        compounds = list(compounds_of(self.company))
        return [SystemForm(self.company, compounds, self.sent(""), initial=initial)]

    def check(self) -> Iterable[Fault]:
        return ()

    def save(self, by: User, now: datetime) -> None:  # noqa: ARG002 - systems keep no history
        form = self.forms[0]
        assert isinstance(form, SystemForm)
        try:
            save_system(
                company=self.company,
                system=self.row,
                version=form.cleaned_data["version"],
                values={name: form.cleaned_data[name] for name in SYSTEM_FIELDS},
                by_stage=form.by_stage(),
            )
        except SystemFaultsError as error:
            raise InputFaults(system_faults_said(error)) from None

    def in_words(self, row: Row) -> str:
        assert isinstance(row, JointingSystem)
        lines = row.stage_rows.select_related("compound")
        by_stage = {line.stage: line.compound.name for line in lines}
        said = [f"{stage_name(stage)}: {by_stage[stage]}" for stage in STAGES if stage in by_stage]
        return f"{row.name} ({TAPES.get(row.tape, row.tape)}): {'; '.join(said)}"
