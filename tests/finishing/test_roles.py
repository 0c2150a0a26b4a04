"""What each role may do, and which crew somebody may lead."""

import pytest
from django.core.exceptions import ValidationError

from finishing.models import Role, User
from finishing.queries.rights import Right, rights_of
from tests.factories import make_company, make_crew


def test_every_role_may_do_what_the_ones_below_it_may() -> None:
    assert rights_of(Role.OWNER) == set(Right)
    assert rights_of(Role.PLANNER) == {Right.VISITS, Right.READ, Right.REPORT, Right.PLAN}
    assert rights_of(Role.CREW_LEAD) == {Right.VISITS, Right.READ, Right.REPORT}
    assert rights_of(Role.VIEWER) == {Right.VISITS, Right.READ}
    assert all(rights_of(role) for role in Role)


def test_a_role_that_there_is_not_may_do_nothing() -> None:
    assert rights_of("") == rights_of("administrator") == frozenset()


@pytest.mark.django_db
def test_who_is_not_said_to_be_more_is_a_viewer() -> None:
    assert User.objects.create(email="new@example.com", company=make_company()).role == Role.VIEWER


@pytest.mark.django_db
def test_only_a_crew_lead_has_a_crew_and_only_one_of_the_company() -> None:
    company, other = make_company(), make_company("Other Finishing")
    crew, theirs = make_crew(company), make_crew(other, "Their crew")
    for role, of in ((Role.CREW_LEAD, theirs), (Role.PLANNER, crew)):
        with pytest.raises(ValidationError, match="crew"):
            User.objects.create_user("lead@example.com", company=company, role=role, crew=of)
    User.objects.create_user("lead@example.com", company=company, role=Role.CREW_LEAD, crew=crew)
