"""A surface of a room edited by somebody who looked at a version of it."""

from typing import Any

from finishing.models import Area, Change, JointLine, Room, Surface
from finishing.rules.vocabulary import JointKind
from finishing.services.changes import log_change, values_of
from finishing.services.house_edit import HouseEdit
from finishing.services.house_entries import SurfaceEntry
from finishing.services.houses import SURFACE_FIELDS
from finishing.services.rows import (
    StaleRowsError,
    change_row,
    claim_row,
    delete_others,
    put_row,
    remove_row,
)


def put_surface(
    area: Area,
    room: Room,
    part: Surface.Part,
    wanted: SurfaceEntry | None,
    *,
    seen: int | None,
    edit: HouseEdit,
) -> None:
    """Bring a surface in line with what is wanted, None for no such surface.

    seen: the version that was looked at, None where there was none. Call it in a transaction.
    Raises StaleRowsError.
    """
    row = Surface.objects.filter(company=area.company_id, room=room, part=part).first()
    if (row is None) != (seen is None):
        raise StaleRowsError([row] if row else [], gone=0 if row else 1)
    before = _values(row) if row else None
    if wanted is None:
        if row is not None and seen is not None:
            remove_row(row, version=seen)
            _log(area, room, part, edit, (before, None))
        return
    _write(room, row, wanted, seen or 1, before)
    now_row = Surface.objects.get(room=room, part=part)
    _log(area, room, part, edit, (before, _values(now_row)))


def _write(
    room: Room,
    row: Surface | None,
    wanted: SurfaceEntry,
    version: int,
    before: dict[str, Any] | None,
) -> None:
    values = {name: getattr(wanted, name) for name in SURFACE_FIELDS}
    metres = {kind: length_m for kind, length_m in wanted.metres.items() if length_m > 0}
    if row is None or before is None:
        match = {"company_id": room.company_id, "room": room, "part": wanted.part}
        row = put_row(Surface, match=match, values=values)
    elif not change_row(row, version=version, values=values):
        if all(before[kind] == metres.get(kind) for kind in JointKind):
            return
        claim_row(row, version=version)
    kept = [
        put_row(
            JointLine,
            match={"company_id": room.company_id, "surface": row, "kind": kind},
            values={"metres": length_m},
        )
        for kind, length_m in metres.items()
    ]
    delete_others(row.joints.all(), kept)


def _values(row: Surface) -> dict[str, Any]:
    """Return a surface's fields and its metres by joint kind, None for none."""
    metres = dict(row.joints.values_list("kind", "metres"))
    return {**values_of(row, SURFACE_FIELDS), **{str(k): metres.get(k) for k in JointKind}}


def _log(
    area: Area,
    room: Room,
    part: Surface.Part,
    edit: HouseEdit,
    values: tuple[dict[str, Any] | None, dict[str, Any] | None],
) -> None:
    before, after = values
    kind = Change.Kind.CHANGED
    if before is None or after is None:
        kind = Change.Kind.MADE if before is None else Change.Kind.REMOVED
    log_change(
        of=edit.house,
        by=edit.by,
        now=edit.now,
        kind=kind,
        what=Change.What.SURFACE,
        place=f"{area.name}, {room.name}, {part}",
        before=before,
        after=after,
    )
