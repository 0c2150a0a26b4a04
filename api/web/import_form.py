"""A file as somebody sends it, and once more when they have seen what it does."""

import binascii
from base64 import b64decode, b64encode
from pathlib import PurePath
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.web.row_field import RowField, offer
from finishing.models import Company, House
from finishing.models.zones import validate_zone
from finishing.services.air_sheet import AirFormat
from finishing.services.file_imports import MOST_BYTES, FileKind, Upload

UNITS = (("", gettext_lazy("as its heading says")), ("C", "°C"), ("F", "°F"))
LONGEST_NAME = 80


class ImportForm(forms.Form):
    """A file to be tried. Tried once, it comes back as ``checked``: it need not be chosen again.

    token: what the trial gave; blank on a file that was not tried yet.
    """

    file = forms.FileField(
        label=gettext_lazy("The file"),
        required=False,
        allow_empty_file=True,
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,.txt,text/csv"}),
        help_text=gettext_lazy("CSV as a spreadsheet saves it (CSV UTF-8), up to 1.5 MB."),
    )
    checked = forms.CharField(required=False, widget=forms.HiddenInput, strip=False)
    name = forms.CharField(required=False, widget=forms.HiddenInput)
    token = forms.CharField(required=False, widget=forms.HiddenInput, max_length=64)

    def __init__(self, kind: FileKind, company: Company, data: Any = None, files: Any = None):
        super().__init__(data, files)
        self.kind = kind
        self.company = company

    def clean_checked(self) -> bytes:
        try:
            return b64decode(self.cleaned_data["checked"].encode("ascii"), validate=True)
        except (UnicodeEncodeError, binascii.Error):
            raise ValidationError(_("The page was not whole: choose the file again.")) from None

    def clean(self) -> dict[str, Any]:
        file = self.cleaned_data.get("file")
        if isinstance(file, UploadedFile):
            if (file.size or 0) > MOST_BYTES:
                said = _("This file is larger than 1.5 MB: send it in several parts.")
                self.add_error("file", said)
            else:
                fresh = {"checked": file.read(), "name": file.name}
                self.cleaned_data |= {**fresh, "token": ""}  # nosec B105
        elif not self.cleaned_data.get("checked") and not self.errors:
            self.add_error("file", _("Choose a file."))
        return self.cleaned_data

    def upload(self) -> Upload:
        typed = self.cleaned_data
        name = str(typed["name"] or f"{self.kind}.csv")[-LONGEST_NAME:]
        return Upload(self.kind, name, typed["checked"], **self.about_air(name))

    def about_air(self, name: str) -> dict[str, Any]:  # noqa: ARG002
        """Return what an air file itself does not say."""
        return {}

    def again(self) -> str:
        """Return the file as the page sends it back."""
        return b64encode(self.cleaned_data["checked"]).decode("ascii")


class AirImportForm(ImportForm):
    """A file of hourly air: whose, and how to read it."""

    house: RowField[House] = RowField(
        required=False,
        label=gettext_lazy("Measured inside"),
        error_messages={"invalid_choice": gettext_lazy("This house is not known: choose another.")},
    )
    source = forms.CharField(
        required=False,
        max_length=120,
        label=gettext_lazy("Name of this air"),
        help_text=gettext_lazy(
            "Blank: that of the house or of the file. A column called station goes before it."
        ),
    )
    zone = forms.CharField(
        required=False,
        validators=[validate_zone],
        label=gettext_lazy("Time zone of its hours"),
        help_text=gettext_lazy("Like Europe/Dublin; blank where each time has an offset or Z."),
    )
    unit = forms.ChoiceField(choices=UNITS, required=False, label=gettext_lazy("Temperatures"))
    holes = forms.BooleanField(
        required=False, label=gettext_lazy("Hours are missing: do not take that for a fault")
    )
    ABOUT = ("house", "source", "zone", "unit", "holes")

    def __init__(self, kind: FileKind, company: Company, data: Any = None, files: Any = None):
        super().__init__(kind, company, data, files)
        houses = House.objects.filter(company=company).order_by("name")
        none = gettext_lazy("no house: outdoor air of a place")
        offer(self, "house", company, houses, blank=none)

    def about_air(self, name: str) -> dict[str, Any]:
        typed = self.cleaned_data
        house = typed["house"]
        usual = house.name if house else PurePath(name).stem
        zone = ZoneInfo(typed["zone"]) if typed["zone"] else None
        air = AirFormat(typed["source"] or usual, zone, typed["unit"], holes=typed["holes"])
        return {"air": air, "house": house}


def import_form(
    kind: FileKind, company: Company, data: Any = None, files: Any = None
) -> ImportForm:
    """Return the form for a kind of file."""
    form = AirImportForm if kind is FileKind.AIR else ImportForm
    return form(kind, company, data, files)
