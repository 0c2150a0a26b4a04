"""Underscores between digits are no number on any form."""

import pytest
from django import forms

from api.web.air_form import TypedNumber
from api.web.figure_field import FigureField, WholeField
from api.web.pack_fields import PacksField
from api.web.plain_numbers import PlainCount
from api.web.typed_figures import figure_field

FIELDS = (TypedNumber(), FigureField(), WholeField(), PlainCount(), figure_field("Length, m"))


@pytest.mark.parametrize("field", [*FIELDS, PacksField()], ids=lambda field: type(field).__name__)
@pytest.mark.parametrize("text", ["1_0", "1e1", "inf"])
def test_what_python_alone_takes_for_a_number_is_refused(field: forms.Field, text: str) -> None:
    with pytest.raises(forms.ValidationError):
        field.clean(text)


@pytest.mark.parametrize("field", FIELDS, ids=lambda field: type(field).__name__)
def test_ten_is_ten(field: forms.Field) -> None:
    assert field.clean(" 10 ") == 10


def test_pack_sizes_are_written_with_a_point_or_a_comma() -> None:
    assert PacksField().clean("5; 12,5 20.0") == [5, 12.5, 20]
