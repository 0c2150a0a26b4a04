"""POST /api/v1/imports/<kind>/: a file, or the same as JSON, taken in whole or not at all."""

import re
from collections.abc import Callable
from typing import Any, ClassVar
from zoneinfo import ZoneInfo

from django.utils import timezone
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.access import who_asks
from api.rest.described import described_as
from api.rest.fields import Choice, OwnRelated, Text
from api.rest.parsers import MOST_BYTES_OF_HOURS, CsvParser, FileText, HoursParser
from api.rest.query import Flag, Query
from api.rest.resource import CompanyResource
from finishing.models import Change, House
from finishing.models.zones import validate_zone
from finishing.services.air_sheet import AirFormat
from finishing.services.errors import Fault, InputFaults
from finishing.services.example_files import columns_of
from finishing.services.file_imports import FileKind, Outcome, Upload, import_file
from finishing.services.imported_rows import Line
from finishing.services.sheets import MOST_ROWS, Content

WHOLE = "#"
"""What faults of all that was sent are at."""
_CAPITAL = re.compile("(?<=[a-z])(?=[A-Z])")


class ImportQuery(Query):
    dry_run = Flag(default=False, help_text="only say what would come of it")


class AirImportQuery(ImportQuery):
    house = OwnRelated(House, required=False, help_text="in which it was measured; else outdoors")
    name = Text(
        max_length=120, required=False, help_text="of this air: a column station goes first"
    )
    zone = Text(
        max_length=60,
        required=False,
        validators=[validate_zone],
        help_text="IANA, of times without an offset",
    )
    unit = Choice(["C", "F"], required=False, help_text="of a column just called temperature")
    holes = Flag(default=False, help_text="hours may be missing")


class ImportedPartSerializer(serializers.Serializer[Any]):
    of = serializers.CharField(help_text="what kind of rows: room, crew_member, air_day")
    new = serializers.IntegerField()
    changed = serializers.IntegerField()
    removed = serializers.IntegerField()


class ImportedEditSerializer(serializers.Serializer[Any]):
    kind = serializers.ChoiceField(Change.Kind.values)
    what = serializers.ChoiceField(Change.What.values)
    place = serializers.CharField()
    changed = serializers.SerializerMethodField(help_text="by field what it was and what it became")

    @extend_schema_field({"type": "object", "additionalProperties": {"type": "array", "items": {}}})
    def get_changed(self, row: Change) -> Any:
        return row.fields


class ImportedThingSerializer(serializers.Serializer[Any]):
    name = serializers.CharField(
        help_text="of a house, a crew, a dryer, material or a source of air"
    )
    is_new = serializers.BooleanField()
    parts = ImportedPartSerializer(many=True, help_text="rows of it that differ")
    edits = ImportedEditSerializer(many=True, help_text="of a house, one by one")


class ImportedSerializer(serializers.Serializer[Any]):
    stored = serializers.BooleanField(help_text="false: only tried")
    things = ImportedThingSerializer(many=True)


def rows_schema(kind: FileKind) -> dict[str, Any]:
    """Return what rows of a kind look like: the columns of its file."""
    required, optional = columns_of(kind)
    types = [{"type": name} for name in ("string", "number", "boolean")]
    value = {"oneOf": types, "nullable": True}
    row = {
        "type": "object",
        "properties": dict.fromkeys((*required, *optional), value),
        "additionalProperties": False,
    }
    return {"type": "array", "items": row, "minItems": 1, "maxItems": MOST_ROWS}


def described[F: Callable[..., Any]](
    kind: FileKind, query: type[ImportQuery] = ImportQuery
) -> Callable[[F], F]:
    """Describe a kind's resource."""
    return described_as(
        parameters=[query],
        request={
            "application/json": rows_schema(kind),
            "text/csv": {"type": "string", "description": "as a spreadsheet saves it, UTF-8"},
        },
        responses=ImportedSerializer,
    )


class Import(CompanyResource):
    """kind: what is sent. query: what may be asked for beside it."""

    kind: ClassVar[FileKind]
    query: ClassVar[type[ImportQuery]] = ImportQuery
    parser_classes = (HoursParser, CsvParser)

    def check_query(self, request: Request) -> None:
        self.asked = self.query.read(request, company=self.company(request))

    def take_in(self, request: Request) -> Response:
        """Import what was sent, or only try it."""
        try:
            outcome = import_file(
                company=self.company(request),
                upload=self._upload(request.data),
                by=who_asks(request),
                now=timezone.now(),
                at_once=not self.asked["dry_run"],
            )
        except InputFaults as error:
            raise InputFaults(map(_placed, error.faults)) from None
        return Response(ImportedSerializer(_said(outcome)).data)

    def _upload(self, sent: Any) -> Upload:
        content: Content = sent.encode("latin-1") if isinstance(sent, FileText) else sent
        about = self.about(self.asked)
        return Upload(self.kind, WHOLE, content, **about, most_bytes=MOST_BYTES_OF_HOURS)

    def about(self, asked: dict[str, Any]) -> dict[str, Any]:  # noqa: ARG002
        """Return what the rows themselves do not say."""
        return {}


class HousesImport(Import):
    kind = FileKind.HOUSES

    @described(kind)
    def post(self, request: Request) -> Response:
        """Bring houses in line with rows, each of the ceiling or the walls of a room. Areas and
        rooms of these houses that no row names go."""
        return self.take_in(request)


class CrewsImport(Import):
    kind = FileKind.CREWS

    @described(kind)
    def post(self, request: Request) -> Response:
        """Bring crews in line with rows, each of a member. People and hours of these crews that no
        row names go."""
        return self.take_in(request)


class SiteImport(Import):
    kind = FileKind.SITE

    @described(kind)
    def post(self, request: Request) -> Response:
        """Bring readiness, closures and odd jobs of houses in line with rows. Those of these houses
        that no row names go."""
        return self.take_in(request)


class DryersImport(Import):
    kind = FileKind.DRYERS

    @described(kind)
    def post(self, request: Request) -> Response:
        """Bring dehumidifiers and heaters in line with rows, each of the units of a kind."""
        return self.take_in(request)


class PacksImport(Import):
    kind = FileKind.PACKS

    @described(kind)
    def post(self, request: Request) -> Response:
        """Bring how compounds, tape, beads and sandpaper are bought in line with rows, each of a
        compound or of a kind of what else is bought. Prices are in the smallest coin."""
        return self.take_in(request)


class AirImport(Import):
    kind = FileKind.AIR
    query = AirImportQuery

    @described(kind, AirImportQuery)
    def post(self, request: Request) -> Response:
        """Store hours of air, a row each; hours that are there already are replaced."""
        return self.take_in(request)

    def about(self, asked: dict[str, Any]) -> dict[str, Any]:
        house = asked.get("house")
        usual = house.name if house else "air"
        zone = ZoneInfo(asked["zone"]) if "zone" in asked else None
        name, unit = asked.get("name", usual), asked.get("unit", "")
        return {"air": AirFormat(name, zone, unit, holes=asked["holes"]), "house": house}


def _placed(fault: Fault) -> Fault:
    """Return a fault with a place that the body has."""
    if fault.line or fault.place.startswith(WHOLE):
        return fault
    return Fault(WHOLE, f"{fault.place}: {fault.text}")


def _said(outcome: Outcome) -> dict[str, Any]:
    return {"stored": outcome.kept, "things": [_thing(line) for line in outcome.lines]}


def _thing(line: Line) -> dict[str, Any]:
    parts = [
        {
            "of": _CAPITAL.sub("_", model).lower(),
            "new": counts.new,
            "changed": counts.changed,
            "removed": counts.removed,
        }
        for model, counts in line.parts.items()
    ]
    return {"name": line.name, "is_new": line.is_new, "parts": parts, "edits": line.changes}
