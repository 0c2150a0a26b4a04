"""/api/v1/odd-jobs/: small tasks of a house, without joints."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from rest_framework import serializers

from api.rest.fields import Choice, OwnRelated, Text, Whole, YesNo
from api.rest.query import Flag, Listing
from api.rest.rows import Editable
from api.rest.serializers import RowSerializer
from finishing.models import House, OddJob
from finishing.rules.vocabulary import Skill
from finishing.services.errors import Fault
from finishing.services.odd_jobs import FIELDS, OddJobLine, edit_odd_jobs, odd_job_faults

MOST_MINUTES = 100_000


class OddJobSerializer(RowSerializer[OddJob]):
    house = OwnRelated(House, help_text="stays")
    name = Text(max_length=120)
    person_minutes = Whole(min_value=1, max_value=MOST_MINUTES)
    skill = Choice([skill.value for skill in Skill], required=False)
    done = YesNo(required=False)

    fixed = ("house",)

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        house = self.instance.house if self.instance else values.get("house")
        if house is None or "name" not in values:
            return
        others = [row.name for row in house.odd_jobs.all() if row != self.instance]
        for fault in odd_job_faults([OddJobLine("job", values["name"], 1)], others):
            yield replace(fault, place="name")


def _line(row: OddJob, values: Mapping[str, Any], **more: Any) -> OddJobLine:
    said = {name: values.get(name, getattr(row, name)) for name in FIELDS}
    return OddJobLine("job", **{**said, "skill": Skill(said["skill"]), **more})


class OddJobListing(Listing):
    house = serializers.UUIDField(required=False, source="house__public_id")
    done = Flag(required=False)


class OddJobs(Editable[OddJob]):
    """Odd jobs of houses."""

    model = OddJob
    lookup_value_converter = "odd_job"
    serializer_class = OddJobSerializer
    query = OddJobListing
    related = ("house__company",)

    def make(self, values: Mapping[str, Any]) -> OddJob:
        self._put(values["house"], _line(OddJob(), values))
        return OddJob.objects.filter(house=values["house"], name=values["name"]).latest("pk")

    def edit(self, row: OddJob, values: Mapping[str, Any]) -> None:
        self._put(row.house, _line(row, values, public_id=row.public_id, version=row.version))

    def remove(self, row: OddJob) -> None:
        seen = {"public_id": row.public_id, "version": row.version}
        self._put(row.house, _line(row, {}, remove=True, **seen))

    def _put(self, house: House, line: OddJobLine) -> None:
        edit_odd_jobs(house=house, lines=[line], by=self.who(), now=self.now())
