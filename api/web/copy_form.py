"""Houses of the same type, as somebody asks for them: a name a line."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from api.web.day_field import DayField
from finishing.models import Company
from finishing.services.copy_house import HouseCopy, copy_faults
from finishing.services.errors import Fault
from scheduling.field_wording import FIELDS


class CopyForm(forms.Form):
    """Names, an address and a day for all; a line may bring an address of its own."""

    names = forms.CharField(
        label=_("Names of the new houses, one a line"),
        required=False,
        widget=forms.Textarea(attrs={"rows": 6}),
        help_text=_("At most 20. A line may have its own address after a semicolon."),
    )
    address = forms.CharField(
        label=FIELDS["address"],
        max_length=250,
        required=False,
        help_text=_("Of all lines that have none of their own."),
    )
    handover_on = DayField(label=FIELDS["handover_on"], required=True)

    def __init__(self, company: Company, data: Any = None, **more: Any) -> None:
        super().__init__(data, **more)
        self.company = company

    def clean(self) -> dict[str, Any]:
        if "names" not in self.cleaned_data:  # they have a fault that was told already
            return self.cleaned_data
        lines = [line for line in self.cleaned_data["names"].splitlines() if line.strip()]
        copies = [_copy(line, self.cleaned_data.get("address", "")) for line in lines]
        self.add_faults(copy_faults(self.company, copies))
        return {**self.cleaned_data, "copies": copies}

    def add_faults(self, faults: Iterable[Fault]) -> None:
        """Show faults of copies, each with its line."""
        for fault in faults:
            _copies, *of_one = fault.place.split("/")
            line = gettext("Line %(n)s: ") % {"n": int(of_one[0]) + 1} if of_one else ""
            self.add_error("names", f"{line}{fault.text}")


def _copy(line: str, shared: str) -> HouseCopy:
    name, _semicolon, own = (part.strip() for part in line.partition(";"))
    return HouseCopy(name, own or shared)
