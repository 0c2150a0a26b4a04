"""/api/v1/people/: who may sign in, and as what; for owners."""

from collections.abc import Iterator, Mapping
from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from api.access import token_of
from api.rest.fields import Choice, OwnRelated
from api.rest.query import Listing
from api.rest.rows import Removed
from api.rest.serializers import RowSerializer
from finishing.models import Crew, Role, User
from finishing.queries.rights import Right
from finishing.services.errors import Fault
from finishing.services.handed_on import role_faults
from finishing.services.people import change_role, remove_person


class PersonSerializer(RowSerializer[User]):
    email = serializers.EmailField(read_only=True)
    role = Choice(Role.values, help_text="a program gives none that may do more than it may itself")
    crew = OwnRelated(
        Crew,
        required=False,
        allow_null=True,
        help_text="that a crew lead leads; nobody else has one, and loses it with another role",
    )

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        person = self.instance
        assert isinstance(person, User)
        role, crew = role_and_crew(person, values)
        yield from role_faults(role, crew, program=self.context["program"], before=person.role)


def role_and_crew(person: User, values: Mapping[str, Any]) -> tuple[Role, Crew | None]:
    """Return what somebody is to be; the crew that they led goes with another role."""
    role = Role(values.get("role", person.role))
    kept = person.crew if role == Role.CREW_LEAD else None
    return role, values.get("crew", kept)


class PersonListing(Listing):
    role = Choice(Role.values, required=False)
    email = serializers.CharField(required=False, max_length=254, source="email__iexact")


class People(Removed[User]):
    """Those who may sign in. The last owner stays one; who is new is invited (``invitations``).
    With an owner who is removed, or made another role, end the open invitations they made and the
    tokens they made that may ``own``; their other tokens go on until they are revoked."""

    needs = Right.OWN
    model = User
    lookup_value_converter = "user"
    serializer_class = PersonSerializer
    query = PersonListing
    related = ("crew",)
    http_method_names = ("get", "head", "patch", "delete")

    def get_queryset(self) -> QuerySet[User]:
        return super().get_queryset().filter(is_active=True)

    def get_serializer_context(self) -> dict[str, Any]:
        return {**super().get_serializer_context(), "program": token_of(self.request)}

    def edit(self, row: User, values: Mapping[str, Any]) -> None:
        role, crew = role_and_crew(row, values)
        program = token_of(self.request)
        change_role(person=row, role=role, crew=crew, program=program, **self.seen(row))

    def remove(self, row: User) -> None:
        remove_person(person=row, **self.seen(row))

    def seen(self, row: User) -> Any:
        """Return which version is changed, when and by whom."""
        return {"version": row.version, "now": self.now(), "by": self.who()}
