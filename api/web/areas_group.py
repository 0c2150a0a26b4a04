"""A house's jointing and its areas in rows, edited together."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any, cast

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.web.form_group import VersionedForm
from api.web.plain_numbers import PlainCount
from api.web.room_row import LAST
from api.web.row_field import RowField
from api.web.whole_group import WholeGroup
from finishing.models import Area, Company, House, JointingSystem, Room, User
from finishing.models.owned import Row
from finishing.services.areas import AreaEdit, area_name_faults, put_areas
from finishing.services.errors import Fault
from scheduling.field_wording import FIELDS, field_name
from scheduling.value_wording import CORNER_TOOLS
from scheduling.wording import listed

_NEW = ("new-1", "new-2")
_UNKNOWN = gettext_lazy("This system is not known: choose another.")


def _system_field(
    company: Company, systems: Sequence[JointingSystem], empty: Any
) -> RowField[JointingSystem]:
    field = RowField[JointingSystem](
        required=False, label=FIELDS["system"], error_messages={"invalid_choice": _UNKNOWN}
    )
    field.offer(company, systems, blank=empty)
    return field


class JointingForm(VersionedForm):
    """How a house is jointed."""

    corner_tool = forms.ChoiceField(label=FIELDS["corner_tool"], choices=[*CORNER_TOOLS.items()])

    def __init__(
        self, company: Company, systems: Sequence[JointingSystem], data: Any, **more: Any
    ) -> None:
        super().__init__(data, **more)
        usual = _("the company's usual one")
        self.fields["system"] = _system_field(company, systems, usual)

    def legend(self) -> str:
        return _("The house")


class AreaForm(VersionedForm):
    """A row; area: None on one that adds an area."""

    name = forms.CharField(
        label=gettext_lazy("Area"),
        max_length=120,
        error_messages={"required": gettext_lazy("Give the area a name.")},
    )
    floor = forms.CharField(label=FIELDS["floor"], max_length=60, required=False)
    order = PlainCount(
        label=gettext_lazy("Order"),
        required=False,
        min_value=1,
        max_value=LAST,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )
    remove = forms.BooleanField(label=gettext_lazy("Remove"), required=False)

    def __init__(
        self,
        company: Company,
        systems: Sequence[JointingSystem],
        area: Area | None,
        data: Any,
        **more: Any,
    ) -> None:
        super().__init__(data, use_required_attribute=False, **more)
        self.area = area
        self.fields["system"] = _system_field(company, systems, _("as the house"))
        self.order_fields(["name", "floor", "order", "system", "remove"])
        if area is None:
            del self.fields["remove"]
            self.fields["name"].required = False

    def legend(self) -> str:
        return self.area.name if self.area else _("Add an area")

    @property
    def is_wanted(self) -> bool:
        return self.area is not None or bool(self.cleaned_data.get("name"))

    @property
    def is_removed(self) -> bool:
        return self.area is not None and bool(self.cleaned_data.get("remove"))

    def turn(self, place: int) -> tuple[int, int, int]:
        """Return what rows are sorted by; see :meth:`RoomRowForm.turn`."""
        number = self.cleaned_data.get("order") or LAST
        return number, (number > place + 1) - (number < place + 1), place

    def edit(self) -> AreaEdit:
        said = self.cleaned_data
        return AreaEdit(
            str(self.prefix),
            said["name"],
            said["floor"],
            said["system"],
            self.area,
            said["version"],
            self.is_removed,
        )


class AreasGroup(WholeGroup):
    """The house's jointing first, then its areas and two to add. asks: the rooms that would go
    with areas, until that is confirmed."""

    def __init__(self, house: House, data: QueryDict | None = None) -> None:
        self.asks: list[Room] = []
        self.going: list[Area] = []
        super().__init__(house, data)

    def build(self) -> list[forms.Form]:
        if self.stale:
            self.house = House.objects.select_related("company").get(pk=self.house.pk)
        areas = list(self.house.areas.all())
        rows = JointingSystem.objects.filter(company=self.house.company_id).order_by("name")
        self.systems = list(rows)
        first = {
            "version": self.house.version,
            "corner_tool": self.house.corner_tool,
            "system": self._system_key(self.house.system_id),
        }
        return [
            JointingForm(self.house.company, self.systems, self.sent(""), initial=first),
            *(self._area_form(area, number) for number, area in enumerate(areas, start=1)),
            *(self._form(None, name, {"version": 0}) for name in _NEW),
        ]

    @property
    def rows(self) -> list[AreaForm]:
        return cast(list[AreaForm], self.forms[1:])

    def kept(self, by: User, now: datetime) -> bool:
        """Save, but ask first where areas would go."""
        if self.data is not None and "confirmed" not in self.data and not self.clashes:
            bound = [row for row in self.rows if row.is_bound]
            valid = [row for row in bound if row.is_valid() or row.cleaned_data.get("remove")]
            self.going = [row.area for row in valid if row.is_removed and row.area]
            self.asks = list(Room.objects.filter(area__in=self.going))
            if self.going:
                return False
        return super().kept(by, now)

    def check(self) -> Iterable[Fault]:
        return area_name_faults(self.house, self._edits())

    def save(self, by: User, now: datetime) -> None:
        jointing = dict(self.forms[0].cleaned_data)
        put_areas(
            house=self.house,
            version=jointing.pop("version"),
            jointing=jointing,
            areas=self._edits(),
            by=by,
            now=now,
        )

    def in_words(self, row: Row) -> str:
        """Say how a row stands now."""
        if isinstance(row, House):
            names = [str(CORNER_TOOLS[row.corner_tool]), row.system and row.system.name]
            return f"{row}: {listed([str(name) for name in names if name])}"
        assert isinstance(row, Area)
        floor = f"{field_name('floor')}: {row.floor}" if row.floor else ""
        return listed([part for part in (row.name, floor, row.system and row.system.name) if part])

    def _edits(self) -> list[AreaEdit]:
        rows = [row for row in self.rows if row.is_bound and not row.errors and row.is_wanted]
        in_turn = sorted(enumerate(rows), key=lambda pair: pair[1].turn(pair[0]))
        return [row.edit() for _place, row in in_turn]

    def _system_key(self, pk: int | None) -> str:
        return next((str(one.public_id) for one in self.systems if one.pk == pk), "")

    def _area_form(self, area: Area, number: int) -> AreaForm:
        prefix = f"area-{area.public_id}"
        initial = {
            "version": area.version,
            "name": area.name,
            "floor": area.floor,
            "system": self._system_key(area.system_id),
            "order": number,
        }
        return self._form(area, prefix, initial)

    def _form(self, area: Area | None, prefix: str, initial: dict[str, Any]) -> AreaForm:
        sent, company = self.sent(prefix), self.house.company
        return AreaForm(company, self.systems, area, sent, prefix=prefix, initial=initial)
