"""A time of day as a person types or picks it."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _


class ClockField(forms.TimeField):
    """A time of day in hours and minutes, with the browser's own picker."""

    default_error_messages = {"invalid": _("This is not a time: write it as 07:30.")}

    def __init__(self, **options: Any) -> None:
        picker = forms.TimeInput(format="%H:%M", attrs={"type": "time", "step": 300})
        super().__init__(**{"widget": picker, "required": False, **options})
