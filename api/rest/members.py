"""/api/v1/members/: people's times in crews, with their skills."""

from collections.abc import Iterable, Mapping
from typing import Any

from rest_framework import serializers

from api.rest.days import without_line
from api.rest.fields import Choice, Day, OwnRelated, Text
from api.rest.query import Listing
from api.rest.rows import Editable
from api.rest.serializers import RowSerializer
from finishing.models import Change, Crew, CrewMember
from finishing.rules.vocabulary import Skill
from finishing.services.crew_members import MemberLine, edit_members, member_faults, members_of
from finishing.services.errors import Fault

LINE = "member"


class MemberSerializer(RowSerializer[CrewMember]):
    crew = OwnRelated(Crew, help_text="stays")
    name = Text(max_length=120)
    email = serializers.EmailField(required=False, allow_blank=True, max_length=254)
    skills = serializers.ListField(
        child=Choice([skill.value for skill in Skill]), min_length=1, max_length=len(Skill)
    )
    from_day = Day(required=False, allow_null=True, help_text="the first; null: always was")
    to_day = Day(required=False, allow_null=True, help_text="the last; null: no end is known")

    fixed = ("crew",)

    def faults(self, values: Mapping[str, Any]) -> Iterable[Fault]:
        crew = self.instance.crew if self.instance else values.get("crew")
        if crew is None:
            return []
        line = line_of(values, self.instance)
        others = members_of(crew, but=self.instance)
        found = member_faults([*others, line])
        return without_line(fault for fault in found if fault.place.startswith(LINE))


def line_of(values: Mapping[str, Any], member: CrewMember | None, **more: Any) -> MemberLine:
    """Return a member as the services take one: as it stands, with the values over it."""
    stands = member or CrewMember(name="", skills=[])
    said: dict[str, Any] = {
        name: values.get(name, getattr(stands, name))
        for name in ("name", "email", "from_day", "to_day")
    }
    skills = frozenset(Skill(skill) for skill in values.get("skills", stands.skills))
    seen: dict[str, Any] = (
        {"public_id": member.public_id, "version": member.version} if member else {}
    )
    return MemberLine(LINE, skills=skills, **said, **seen, **more)


class MemberListing(Listing):
    crew = serializers.UUIDField(required=False, source="crew__public_id")
    name = serializers.CharField(required=False, help_text="exactly")


class Members(Editable[CrewMember]):
    """Who is in which crew, from when to when."""

    model = CrewMember
    lookup_value_converter = "member"
    serializer_class = MemberSerializer
    query = MemberListing
    related = ("crew",)
    logs = (Change.What.MEMBER, Change.What.DAY_OFF, Change.What.LOAN)

    def make(self, values: Mapping[str, Any]) -> CrewMember:
        crew = values["crew"]
        edit_members(crew=crew, lines=[line_of(values, None)])
        return CrewMember.objects.filter(crew=crew, name=values["name"]).latest("pk")

    def edit(self, row: CrewMember, values: Mapping[str, Any]) -> None:
        edit_members(crew=row.crew, lines=[line_of(values, row)])

    def remove(self, row: CrewMember) -> None:
        edit_members(crew=row.crew, lines=[line_of({}, row, remove=True)])
