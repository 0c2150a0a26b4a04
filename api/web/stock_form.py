"""What is in the store and on its way, as the office counts it."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.web.crew_group import NEW_LINES, LineForm
from api.web.day_field import DayField
from api.web.figure_field import FigureField, WholeField
from api.web.form_group import CompanyGroup
from finishing.models import Change, Compound, StockLine, Supply, User
from finishing.models.owned import Row
from finishing.models.packs import SMALLEST_PACK
from finishing.services.errors import Fault
from finishing.services.stock import StockEdit, edit_stock, stock_edit_faults
from scheduling.material_wording import stock_in_brief, stock_sentence
from scheduling.services.material_visits import today_of
from scheduling.services.stock_now import StockNow, company_stock
from scheduling.wording import day, figure

type Things = Mapping[str, Compound | Supply]


class StockForm(LineForm):
    """So many packs of one size. what: the public id of a compound or of a supply; today: the
    company's day."""

    what = forms.ChoiceField(label=gettext_lazy("Of what"), required=False)
    pack_size = FigureField(
        label=gettext_lazy("Pack"),
        help_text=gettext_lazy("In kg, metres or pieces."),
        min_value=SMALLEST_PACK,
    )
    packs = WholeField(label=gettext_lazy("Full packs"), min_value=1)
    arrives_on = DayField(
        label=gettext_lazy("There from"),
        help_text=gettext_lazy("Today or before: it is in the store."),
    )
    counted_on = DayField(
        label=gettext_lazy("Counted on"),
        help_text=gettext_lazy("As it was that morning. Left as it is with other packs: today."),
    )
    field_order = ("version", "what", "pack_size", "packs", "arrives_on", "counted_on", "remove")

    def __init__(
        self, now: StockNow | None, things: Things, today: date, data: Any, **more: Any
    ) -> None:
        row = now.line if now else None
        super().__init__(row.public_id if row else None, data, **more)
        self.now, self.row, self.things, self.today = now, row, things, today
        what = self.fields["what"]
        assert isinstance(what, forms.ChoiceField)
        what.choices = [("", ""), *((key, str(thing)) for key, thing in things.items())]

    def legend(self) -> str:
        return str(self.row) if self.row else _("Add packs")

    def heading(self) -> str:
        """Say under what it stands."""
        if self.row is None:
            return _("Counted anew, or ordered")
        return _("Compounds") if self.row.compound_id else _("Tape, beads and sandpaper")

    def in_brief(self) -> str:
        """Say how much of it there should be."""
        return stock_in_brief(self.now, self.today) if self.now else ""

    def about(self) -> str:
        """Say what was counted, what was used of it since, and what is reckoned to be there."""
        return stock_sentence(self.now) if self.now else ""

    def clean(self) -> dict[str, Any]:
        self.ask_for(
            {
                "what": _("Choose what it is."),
                "pack_size": _("Say how much a pack holds."),
                "packs": _("Say how many packs."),
                "arrives_on": _("Choose the day."),
            }
        )
        return self.cleaned_data

    def line(self) -> StockEdit:
        typed = self.cleaned_data
        return StockEdit(
            place=str(self.prefix),
            row=self.row,
            of=self.things.get(typed["what"]),
            pack_size=typed["pack_size"],
            packs=typed["packs"],
            arrives_on=typed["arrives_on"],
            counted_on=typed["counted_on"] if "counted_on" in self.changed_data else None,
            version=typed["version"],
            remove=self.is_removed(),
        )


class StockGroup(CompanyGroup):
    """A line for what there is of each size, and two to add."""

    logs = (Change.What.STOCK,)

    def build(self) -> list[forms.Form]:
        compounds = Compound.objects.filter(company=self.company).order_by("name")
        supplies = Supply.objects.filter(company=self.company).order_by("name")
        self.things: dict[str, Compound | Supply] = {str(row.public_id): row for row in compounds}
        self.things |= {str(row.public_id): row for row in supplies}
        now = timezone.now()
        self.today = today_of(self.company, now)
        return [
            *(
                self._form(f"stock-{one.line.public_id}", one)
                for one in sorted(company_stock(company=self.company, now=now), key=_by_thing)
            ),
            *(self._form(prefix, None) for prefix in NEW_LINES),
        ]

    def check(self) -> Iterable[Fault]:
        return stock_edit_faults(self.company, self._lines(), self.today)

    def save(self, by: User, now: datetime) -> None:  # noqa: ARG002
        edit_stock(company=self.company, lines=self._lines(), today=today_of(self.company, now))

    def in_words(self, row: Row) -> str:
        assert isinstance(row, StockLine)
        said = _("%(what)s: %(packs)s packs of %(size)s, %(day)s")
        return said % {
            "what": str(row),
            "packs": row.packs,
            "size": figure(row.pack_size),
            "day": day(row.arrives_on),
        }

    def _form(self, prefix: str, now: StockNow | None) -> StockForm:
        initial: dict[str, Any] = {"version": 0}
        if now:
            row = now.line
            names = ("version", "pack_size", "packs", "arrives_on", "counted_on")
            initial = {name: getattr(row, name) for name in names}
            of = row.compound or row.supply
            initial["what"] = str(of.public_id) if of else ""
        data = self.sent(prefix)
        return StockForm(now, self.things, self.today, data, prefix=prefix, initial=initial)

    def _lines(self) -> list[StockEdit]:
        return [
            form.line()
            for form in self.forms
            if isinstance(form, StockForm) and form.is_bound and not form.errors
            if form.is_wanted() or form.is_removed()
        ]


def _by_thing(one: StockNow) -> tuple[bool, str, date, float]:
    """Return the order in which lines are read: compounds first, by name, the newest last."""
    line = one.line
    return line.compound_id is None, str(line), line.arrives_on, -line.pack_size
