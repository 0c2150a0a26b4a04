"""Sign-ins as somebody at a terminal makes them."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from finishing.models import Company, Compound, Holiday, User
from tests.factories import make_company

pytestmark = pytest.mark.django_db


def make(*options: str) -> str:
    out = StringIO()
    call_command("make_user", "ann@example.com", *options, stdout=out)
    return out.getvalue()


def test_the_first_user_has_a_company_to_start_with() -> None:
    said = make("--zone", "Europe/Dublin", "--country", "IE")
    assert "made the company 'My company', time zone Europe/Dublin" in said
    assert "ann@example.com signs in to My company with: " in said
    assert Compound.objects.filter(company=User.objects.get().company).exists()
    assert Holiday.objects.exists()


def test_where_there_is_a_company_none_is_made_but_by_name() -> None:
    mine = make_company("Mine")
    make()
    assert User.objects.get().company == mine
    User.objects.all().delete()
    make("--new", "Other")
    assert [row.name for row in Company.objects.order_by("name")] == ["Mine", "Other"]


@pytest.mark.parametrize("wrong", [["--new", "Mine"], ["--new", "Other", "--country", "XX"]])
def test_what_is_wrong_with_a_new_company_leaves_nothing(wrong: list[str]) -> None:
    make_company("Mine")
    with pytest.raises(CommandError):
        make(*wrong)
    assert not User.objects.exists()
    assert Company.objects.count() == 1
