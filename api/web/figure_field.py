"""A figure as a person types it on a form of the office."""

from typing import Any

from django import forms
from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy as _

from api.web.air_form import TypedNumber


class FigureField(TypedNumber):
    """A number with a point or a comma; a browser's own number field takes only one of the two."""

    default_error_messages = {"required": _("Type a number.")}

    def __init__(self, **options: Any) -> None:
        widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
        super().__init__(**{"widget": widget, "required": False, **options})


def limited(
    kind: type[FigureField],
    label: Any,
    limits: tuple[float, float],
    meaning: Any = "",
    *,
    required: bool = True,
) -> FigureField:
    """Return a field that asks for a figure within limits and says them after what it means."""
    least, most = limits
    said = format_lazy(
        _("{meaning} From {least} to {most}."),
        meaning=meaning,
        least=f"{least:g}",
        most=f"{most:g}",
    )
    return kind(label=label, help_text=said, min_value=least, max_value=most, required=required)


class WholeField(FigureField):
    """A whole number."""

    def clean(self, value: Any) -> int | None:
        typed = super().clean(value)
        if typed is None:
            return None
        if typed != int(typed):
            raise forms.ValidationError(_("Type a whole number."))
        return int(typed)
