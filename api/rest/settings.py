"""/api/v1/settings/: what the company plans by."""

from collections.abc import Iterator, Mapping
from typing import Any
from zoneinfo import ZoneInfo

from django.utils import timezone
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.access import who_asks
from api.rest.described import described_as
from api.rest.fields import Choice, Number, Several, Text, Whole
from api.rest.resource import CompanyResource
from api.rest.serializers import RowSerializer
from finishing.models import Change, Company
from finishing.models.company import LIMITS
from finishing.models.currencies import MINOR_DIGITS
from finishing.models.zones import validate_zone
from finishing.queries.levels import level_code
from finishing.queries.rights import Right
from finishing.rules.levels import levels_of
from finishing.rules.vocabulary import Family, Stage
from finishing.services.company_log import logged
from finishing.services.company_settings import edit_settings, setting_faults
from finishing.services.errors import Fault
from finishing.services.rows import StaleRowsError

LEVELS = [level_code(family, level) for family in Family for level in levels_of(family)]


def _whole(name: str, said: str = "") -> Whole:
    least, most = LIMITS[name]
    return Whole(min_value=int(least), max_value=int(most), required=False, help_text=said)


def _figure(name: str, said: str = "") -> Number:
    least, most = LIMITS[name]
    return Number(min_value=least, max_value=most, required=False, help_text=said)


class SettingsSerializer(RowSerializer[Company]):
    name = Text(max_length=120)
    zone = Text(max_length=60, validators=[validate_zone], help_text="IANA, such as Europe/Dublin")
    country = Text(max_length=2, allow_blank=True, help_text="ISO 3166, for public holidays")
    currency = Choice(
        ["", *MINOR_DIGITS], allow_blank=True, help_text="ISO 4217; blank: not chosen"
    )
    currency_digits = Whole(
        read_only=True, help_text="of its minor unit, in which all amounts are: 2 for cents"
    )
    family = Choice([family.value for family in Family], help_text="of finish levels")
    stages = Several(Stage, help_text="that the company does")
    stages_off_by_level = serializers.DictField(
        child=Several(Stage), help_text='left off at a level, {"GA-214 2": ["inspect"]}'
    )
    planned_air = Choice(Company.PlannedAir.values)
    drying_rule = Choice(Company.DryingRule.values)
    setup_minutes = _whole("setup_minutes", "of a visit")
    washup_minutes = _whole("washup_minutes", "of a visit")
    worthwhile_minutes = _whole("worthwhile_minutes", "a shorter visit counts as two")
    another_crew_visits = _whole("another_crew_visits", "each crew beyond the first in a house")
    travel_minutes = _whole("travel_minutes", "between houses of which one has no position")
    freeze_days = _whole("freeze_days", "published work on so many days stays as it is")
    extra_hour_price = _whole("extra_hour_price", "weighted minutes of lateness")
    recheck_hours = _whole("recheck_hours", "until somebody looks again at a coat found wet")
    board_width_m = _figure("board_width_m")
    board_length_m = _figure("board_length_m")
    gap_share = _figure("gap_share", "of flat joints with gaps to fill, 0 to 1")
    tape_m_per_m2 = _figure("tape_m_per_m2", "average for rough takeoffs")

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        assert isinstance(self.instance, Company)
        yield from setting_faults(values, self.instance)
        named = Company.objects.filter(name=values.get("name", ""))
        if any(company != self.instance for company in named):
            yield Fault("name", "There is another company of this name: choose one that differs.")
        for code in values.get("stages_off_by_level", {}).keys() - LEVELS:
            yield Fault("stages_off_by_level", f"{code[:40]!r} is none of {', '.join(LEVELS)}.")


class Settings(CompanyResource):
    writes = Right.OWN
    matched = ("PATCH",)
    logged_as = (Change.What.SETTINGS,)

    @described_as(responses=SettingsSerializer)
    def get(self, request: Request) -> Response:
        """Return all settings of the company."""
        said = self._said(request)
        return Response(said, headers={"ETag": said["etag"]})

    @described_as(request=SettingsSerializer(partial=True), responses=SettingsSerializer)
    def patch(self, request: Request) -> Response:
        """Change the settings that are named; another country brings its public holidays."""
        said = self._said(request)
        company = self.company(request)
        self.require_seen(said, SettingsSerializer(company).editable())
        sent = SettingsSerializer(company, data=request.data, partial=True)
        sent.is_valid(raise_exception=True)
        try:
            self._edit(request, company, sent.validated_data)
        except StaleRowsError:
            raise self.stale(self._said(request), said["etag"]) from None
        return self.get(request)

    def _edit(self, request: Request, company: Company, values: Mapping[str, Any]) -> None:
        now = timezone.now()
        year = now.astimezone(ZoneInfo(values.get("zone", company.zone))).year
        kinds = (Change.What.SETTINGS, Change.What.HOLIDAY)
        with logged(company, kinds, by=who_asks(request), now=now):
            edit_settings(
                company=company, version=company.version, values=values, years=(year, year + 1)
            )

    def _said(self, request: Request) -> dict[str, Any]:
        stored = Company.objects.get(pk=self.company(request).pk)
        return dict(SettingsSerializer(stored).data)
