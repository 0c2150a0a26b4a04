"""Rows refuse what no rule could work with."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError

from finishing.models import Compound, JointLine, LabourRate, Room, Surface
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


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("latitude", 91.0),
        ("longitude", -181.0),
        ("setpoint_c", 65.0),
        ("heat_kw", -1.0),
        ("volume_m3", -240.0),
        ("volume_m3", 0.0),
        ("air_changes_per_h", -0.5),
        ("air_changes_per_h", 1e9),
    ],
)
def test_a_figure_that_no_house_has_is_refused(field: str, value: float) -> None:
    house = make_house(make_company())
    house.full_clean()
    setattr(house, field, value)
    with pytest.raises(ValidationError) as error:
        house.full_clean()
    assert list(error.value.message_dict) == [field]


def test_sizes_and_quantities_below_none_are_refused() -> None:
    make_house(make_company())
    room, surface = Room.objects.get(), Surface.objects.get()
    room.length_m = room.width_m = room.height_m = -3.0
    surface.area_m2 = surface.cornice_m = -1.0
    line = JointLine(company=room.company, surface=surface, kind="butt", metres=-4.0)
    for row, fields in (
        (room, {"length_m", "width_m", "height_m"}),
        (surface, {"area_m2", "cornice_m"}),
        (line, {"metres"}),
    ):
        with pytest.raises(ValidationError) as error:
            row.full_clean()
        assert set(error.value.message_dict) == fields


@pytest.mark.parametrize(
    ("hardening", "figures", "field"),
    [
        ("sets", {"set_hours": 0, "working_minutes": 45}, "set_hours"),
        ("sets", {"set_hours": 1, "working_minutes": 0}, "working_minutes"),
        ("dries", {"water_fraction": 0}, "water_fraction"),
    ],
)
def test_a_compound_that_would_never_get_hard_is_refused(
    hardening: str, figures: dict[str, float], field: str
) -> None:
    row = Compound(company=make_company(), name="Odd", hardening=hardening, **figures)
    row.stages = ["finish"]
    with pytest.raises(ValidationError) as refused:
        row.full_clean()
    assert [*refused.value.message_dict] == [field]
