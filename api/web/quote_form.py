"""A house to be priced, as it is typed."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.web.day_field import DayField
from api.web.figure_field import FigureField, limited
from api.web.row_field import RowField, offer
from finishing.models import Company, House, Quote
from finishing.models.house import LIMITS
from finishing.models.quote import MARGIN_PERCENT
from finishing.queries.houses import by_name
from finishing.rules.levels import levels_of
from finishing.rules.vocabulary import Family
from finishing.services.quotes import MOST_ROOMS, quote_faults
from scheduling.field_wording import FIELDS


class QuoteForm(forms.Form):
    """A name, a first day, a house that it is like or its rooms, and how it will be heated."""

    name = forms.CharField(label=FIELDS["name"], max_length=120)
    address = forms.CharField(label=FIELDS["address"], max_length=250, required=False)
    opens_on = DayField(label=FIELDS["opens_on"], required=True)
    like: RowField[House] = RowField(
        label=gettext_lazy("Like the house"),
        required=False,
        help_text=gettext_lazy("Its rooms and finish; how it is heated is said below."),
    )
    rooms = forms.CharField(
        label=gettext_lazy("Or its rooms, one a line"),
        required=False,
        widget=forms.Textarea(attrs={"rows": 6}),
        help_text=gettext_lazy("Name; m² of wall board; m² of ceiling board. Hall; 32; 12"),
    )
    level = forms.ChoiceField(label=gettext_lazy("Finish level of the rooms"), required=False)
    setpoint_c = limited(
        FigureField,
        FIELDS["setpoint_c"],
        LIMITS["setpoint_c"],
        gettext_lazy("Blank: not heated."),
        required=False,
    )
    heated_from = DayField(
        label=FIELDS["heated_from"], help_text=gettext_lazy("Blank: before its first day.")
    )
    margin_percent = limited(
        FigureField, gettext_lazy("Margin, %"), MARGIN_PERCENT, gettext_lazy("On top of the cost.")
    )

    def __init__(
        self, company: Company, data: Any = None, *, quote: Quote | None = None, **more: Any
    ) -> None:
        super().__init__(data, **{"initial": {"margin_percent": "0"}, **more})
        self.company, self.quote = company, quote
        houses = by_name(House.objects.filter(company=company))
        offer(self, "like", company, houses, blank=_("none"))
        level = self.fields["level"]
        assert isinstance(level, forms.ChoiceField)
        levels = levels_of(Family(company.family))
        level.choices = [("", _("none")), *((one, one) for one in levels)]

    def clean_rooms(self) -> list[dict[str, Any]]:
        lines = [line for line in self.cleaned_data["rooms"].splitlines() if line.strip()]
        if len(lines) > MOST_ROOMS:
            raise forms.ValidationError(_("At most %(n)s rooms.") % {"n": MOST_ROOMS})
        rooms, faults = [], []
        for number, line in enumerate(lines, 1):
            try:
                rooms.append(_room(number, line))
            except forms.ValidationError as fault:
                faults.append(fault)
        if faults:
            raise forms.ValidationError(faults)
        return rooms

    def clean(self) -> dict[str, Any]:
        told = set(self.errors)
        for fault in quote_faults(self.company, self.cleaned_data, self.quote):
            if fault.place not in told:
                self.add_error(fault.place, fault.text)
        return self.cleaned_data


def typed_values(quote: Quote) -> dict[str, Any]:
    """Return a quote as it would be typed."""
    rooms = (
        f"{room['name']}; {_typed(room['walls_m2'])}; {_typed(room['ceiling_m2'])}"
        for room in quote.rooms
    )
    return {
        "name": quote.name,
        "address": quote.address,
        "opens_on": quote.opens_on,
        "like": str(quote.like.public_id) if quote.like else "",
        "rooms": "\n".join(rooms),
        "level": quote.level,
        "setpoint_c": "" if quote.setpoint_c is None else _typed(quote.setpoint_c),
        "heated_from": quote.heated_from,
        "margin_percent": _typed(quote.margin_percent),
    }


def _typed(figure: float) -> str:
    return str(figure).removesuffix(".0")


def _room(number: int, line: str) -> dict[str, Any]:
    name, *figures = (part.strip() for part in line.split(";"))
    try:
        walls, ceiling = (float(figure.replace(",", ".") or 0) for figure in figures)
    except ValueError:
        said = _("Line %(line)s is not a name and two figures, such as: Hall; 32; 12")
        raise forms.ValidationError(said % {"line": number}) from None
    return {"name": name[:120], "walls_m2": walls, "ceiling_m2": ceiling}


class WinForm(forms.Form):
    """The day by which a won house is promised."""

    handover_on = DayField(label=FIELDS["handover_on"], required=True)
    version = forms.IntegerField(widget=forms.HiddenInput)
