"""Figures as they are typed: with a point or a comma, blank where nothing is known."""

from typing import Any

from django import forms
from django.core.validators import MaxValueValidator
from django.utils.translation import gettext_lazy as _

from api.web.plain_numbers import PlainNumber
from finishing.services.takeoff_sheet import MOST


class FigureField(PlainNumber):
    """A number above or from nought on; kept as typed where it is none."""

    default_error_messages = {"invalid": _("This is not a number: type something like 4.25.")}

    def __init__(self, *, above: float | None = None, **more: Any) -> None:
        self.above = above
        super().__init__(**more)

    def clean(self, value: Any) -> Any:
        number = super().clean(str(value or "").strip().replace(",", "."))
        if number is not None and self.above is not None and number <= self.above:
            raise forms.ValidationError(_("It must be more than 0."))
        return number


def figure_field(label: object, *, above: float | None = None, most: float = MOST) -> FigureField:
    """Return a field for metres or m2, with a pad of figures on a phone."""
    return FigureField(
        above=above,
        label=label,
        required=False,
        min_value=0,
        validators=[MaxValueValidator(most)],
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )


def shown(value: float | None) -> str:
    """Return a figure as somebody would type it."""
    return "" if value is None else f"{value:g}"
