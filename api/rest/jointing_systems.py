"""/api/v1/jointing-systems/: which compound does which stage, and the tape."""

from collections.abc import Iterator, Mapping
from typing import Any

from rest_framework import serializers

from api.rest.compounds import STAGES
from api.rest.fields import Choice, OwnRelated, Text, YesNo
from api.rest.query import Flag, Listing
from api.rest.rows import Editable
from api.rest.serializers import RowSerializer, Strict
from finishing.models import Change, Compound, JointingSystem
from finishing.rules.vocabulary import Stage, Tape
from finishing.services.compounds import (
    SYSTEM_FIELDS,
    SystemFaultsError,
    faults_of_rules,
    remove_system,
    save_system,
    system_faults,
)
from finishing.services.errors import Fault, InputFaults
from scheduling.compound_wording import system_fault_sentence, system_faults_said

type ByStage = dict[Stage, Compound]


class StageCompoundsSerializer(Strict):
    """By stage the id of its compound; null for nothing."""

    def get_fields(self) -> dict[str, Any]:
        return {
            stage.value: OwnRelated(Compound, required=False, allow_null=True) for stage in STAGES
        }

    def to_representation(self, instance: Any) -> dict[str, str | None]:
        """Return the compounds of a system's rows."""
        by_stage = {row.stage: str(row.compound.public_id) for row in instance.all()}
        return {stage.value: by_stage.get(stage) for stage in STAGES}


class JointingSystemSerializer(RowSerializer[JointingSystem]):
    name = Text(max_length=120)
    tape = Choice([tape.value for tape in Tape])
    is_default = YesNo(required=False, help_text="of houses that name no other")
    compounds = StageCompoundsSerializer(
        source="stage_rows", help_text="stages that a change does not name keep theirs"
    )

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        company = self.context["company"]
        yield from system_faults(company, self.instance, values)
        said = self.together(values, self.instance)
        if {"tape", "stage_rows"} <= said.keys():
            by_stage = compounds_by_stage(self.instance, values)
            for fault in faults_of_rules(company, Tape(said["tape"]), by_stage):
                yield Fault("compounds", system_fault_sentence(fault))


def compounds_by_stage(row: JointingSystem | None, values: Mapping[str, Any]) -> ByStage:
    """Return what does which stage once the values are stored."""
    lines = row.stage_rows.all() if row else ()
    said: dict[str, Compound | None] = {line.stage: line.compound for line in lines}
    said |= values.get("stage_rows", {})
    return {Stage(stage): compound for stage, compound in said.items() if compound}


class JointingSystemListing(Listing):
    name = serializers.CharField(required=False, help_text="exactly")
    is_default = Flag(required=False)


class JointingSystems(Editable[JointingSystem]):
    """Jointing systems. The default, and those that houses or areas name, are not removed."""

    model = JointingSystem
    lookup_value_converter = "system"
    serializer_class = JointingSystemSerializer
    query = JointingSystemListing
    prefetched = ("stage_rows__compound",)
    logs = (Change.What.SYSTEM,)

    def make(self, values: Mapping[str, Any]) -> JointingSystem:
        return self._save(None, values)

    def edit(self, row: JointingSystem, values: Mapping[str, Any]) -> None:
        self._save(row, values)

    def remove(self, row: JointingSystem) -> None:
        remove_system(system=row, version=row.version)

    def _save(self, row: JointingSystem | None, values: Mapping[str, Any]) -> JointingSystem:
        try:
            return save_system(
                company=self.company(self.request),
                system=row,
                version=row.version if row else 0,
                values={name: values[name] for name in SYSTEM_FIELDS if name in values},
                by_stage=compounds_by_stage(row, values),
            )
        except SystemFaultsError as error:
            raise InputFaults(system_faults_said(error)) from None
