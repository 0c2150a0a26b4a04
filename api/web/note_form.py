"""A note as somebody types it."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from api.web.row_field import RowField, offer
from finishing.models import Area, House
from finishing.models.note import LONGEST_NOTE
from scheduling.field_wording import FIELDS


class NoteForm(forms.Form):
    """A note of a house or of one of its areas."""

    text = forms.CharField(
        label=FIELDS["text"],
        max_length=LONGEST_NOTE,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": _("Type what is to be remembered.")},
    )
    area: RowField[Area] = RowField(label=FIELDS["area"], required=False)

    def __init__(self, house: House, data: Any = None, **more: Any) -> None:
        super().__init__(data, **more)
        offer(self, "area", house.company, house.areas.all(), blank=_("the whole house"))
