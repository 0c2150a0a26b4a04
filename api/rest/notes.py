"""/api/v1/notes/: what people want remembered of a house."""

from collections.abc import Iterator, Mapping
from typing import Any

from rest_framework import serializers

from api.rest.fields import Instant, Lines, OwnRelated, YesNo
from api.rest.query import Listing
from api.rest.rows import Edited, Made
from api.rest.serializers import RowSerializer
from finishing.models import Area, House, Note
from finishing.models.note import LONGEST_NOTE
from finishing.services.errors import Fault
from finishing.services.notes import add_note, strike_note


class NoteSerializer(RowSerializer[Note]):
    house = OwnRelated(House, help_text="stays")
    area = OwnRelated(Area, required=False, allow_null=True, help_text="of the house; stays")
    text = Lines(max_length=LONGEST_NOTE, help_text="stays")
    is_struck = YesNo(required=False, help_text="struck out, and never lost")
    at = Instant(read_only=True)
    by = serializers.StringRelatedField(  # type: ignore[var-annotated]
        allow_null=True, read_only=True, help_text="who wrote it; null: nobody is known"
    )

    fixed = ("house", "area", "text")

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        area, house = values.get("area"), values.get("house")
        if area and house and area.house_id != house.pk:
            yield Fault("area", "Is another house's.")
        if self.instance is None and values.get("is_struck"):
            yield Fault("is_struck", "A new note stands.")


class NoteListing(Listing):
    house = serializers.UUIDField(required=False, source="house__public_id")
    area = serializers.UUIDField(required=False, source="area__public_id")


class Notes(Made[Note], Edited[Note]):
    """Notes of houses: they are struck out, not removed."""

    model = Note
    lookup_value_converter = "note"
    serializer_class = NoteSerializer
    query = NoteListing
    related = ("house__company", "area", "by")

    def make(self, values: Mapping[str, Any]) -> Note:
        said = {name: values[name] for name in ("house", "area", "text") if name in values}
        return add_note(**said, by=self.who(), now=self.now())

    def edit(self, row: Note, values: Mapping[str, Any]) -> None:
        if "is_struck" in values:
            strike_note(
                note=row,
                struck=values["is_struck"],
                version=row.version,
                by=self.who(),
                now=self.now(),
            )
