"""Rows refuse what no rule could work with."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError

from finishing.models import LabourRate, Surface
from tests.factories import make_company, make_house

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("stage", "kind", "minutes", "refused"),
    [
        ("tape", "tapered", 1.5, None),
        ("tape", "tapered", 0.0, "minutes"),
        ("tape", "tapered", -1.0, "minutes"),
        ("tape", "tapered", float("nan"), "minutes"),
        ("inspect", "butt", 1.0, "kind"),
    ],
)
def test_rates(stage: str, kind: str, minutes: float, refused: str | None) -> None:
    rate = LabourRate(
        company=make_company(), stage=stage, kind=kind, minutes=minutes, source="our own reports",
        dated=date(2026, 1, 1),
    )  # fmt: skip
    if refused is None:
        rate.full_clean()
    else:
        with pytest.raises(ValidationError) as error:
            rate.full_clean()
        assert refused in error.value.message_dict


def test_house_access_that_cannot_be_read_is_refused() -> None:
    house = make_house(make_company())
    house.access = "all day"
    with pytest.raises(ValidationError, match="all day"):
        house.full_clean()


def test_level_of_another_family_is_refused() -> None:
    make_house(make_company())
    surface = Surface.objects.get()
    surface.level = "Q3"
    with pytest.raises(ValidationError, match="GA-214 has the levels"):
        surface.full_clean()
