"""Boards and joints of a room drawn face by face, in black and white; the style sheet adds colour.

What is drawn is the layout that the takeoff counts, and a table beside it says the same.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from api.web.charts import FONT_PX, Drawing, px_text, text_width
from finishing.rules.board_layout import Face
from finishing.rules.room_shapes import LINEAR_JOINTS
from finishing.rules.vocabulary import JointKind
from scheduling.wording import joint_name, quantity

_WIDEST_PX, _HIGHEST_PX = 330.0, 260.0
_LEFT_PX, _EDGE_PX = 42.0, 10.0
_FOOT_PX = 20.0

PATTERNS: dict[JointKind | None, dict[str, str]] = {
    JointKind.TAPERED: {"stroke-width": "2"},
    JointKind.BUTT: {"stroke-width": "2", "stroke-dasharray": "7 4"},
    JointKind.INTERNAL: {"stroke-width": "3", "stroke-dasharray": "1.5 3"},
    JointKind.EXTERNAL: {"stroke-width": "2.5", "stroke-dasharray": "9 3 2 3"},
    None: {"stroke-width": "5", "stroke-opacity": "0.45"},
}
"""How joints are told apart without colour; None: a cornice."""


@dataclass(frozen=True)
class FacePicture:
    """A face: its name, its drawing and the figures drawn in it."""

    name: str
    picture: SafeString
    figures: Sequence[tuple[str, str]]


@dataclass(frozen=True)
class RoomPicture:
    """All faces at one scale. key: what the lines are."""

    faces: Sequence[FacePicture]
    key: SafeString
    headings: Sequence[str]


def room_picture(faces: Sequence[Face]) -> RoomPicture:
    """Return a room's faces, the ceiling first."""
    wide_m, high_m = max(f.width_m for f in faces), max(f.height_m for f in faces)
    scale = min(_WIDEST_PX / wide_m, _HIGHEST_PX / high_m)
    kinds = [*LINEAR_JOINTS, *([None] if any(f.metres(None) for f in faces) else [])]
    pictures = [
        FacePicture(face_name(face), _drawn(face, scale, wide_m), _figures(face, kinds))
        for face in faces
    ]
    return RoomPicture(pictures, _key(kinds), [label for label, _said in pictures[0].figures])


def face_name(face: Face) -> str:
    """Return what a face is called, walls by the number that openings name."""
    return _("Ceiling") if face.wall is None else _("Wall %(n)s") % {"n": face.wall}


def _figures(face: Face, kinds: Sequence[JointKind | None]) -> list[tuple[str, str]]:
    openings = ", ".join(
        _("%(width)s x %(height)s") % {"width": f"{o.width_m:g}", "height": f"{o.height_m:g}"}
        for o in (placed.opening for placed in face.openings)
    )
    sizes = f"{face.width_m:g} x {face.height_m:g} m"
    return [
        (_("size"), sizes),
        (_("boards"), str(len(face.boards))),
        *((joint_name(kind or "cornice"), quantity(face.metres(kind), "m")) for kind in kinds),
        (_("openings"), openings or _("none")),
    ]


def _drawn(face: Face, scale: float, wide_m: float) -> SafeString:
    """Return a face on a sheet as wide as the widest asks, so that all have one scale."""
    width, height = face.width_m * scale, face.height_m * scale
    drawing = Drawing(
        f"face-{'ceiling' if face.wall is None else face.wall}",
        title=face_name(face),
        description=". ".join(f"{name}: {said}" for name, said in _figures(face, LINEAR_JOINTS)),
        width=_LEFT_PX + max(wide_m * scale, 60.0) + _EDGE_PX,
        height=_EDGE_PX + height + _FOOT_PX,
    )
    for board in face.boards:
        _box(drawing, _at(face, scale, board.corner), _at(face, scale, board.opposite), "board")
    for placed in face.openings:
        opening = placed.opening
        foot, head = (placed.left_m, opening.sill_m), (placed.right_m, opening.head_m)
        corner, opposite = _at(face, scale, foot), _at(face, scale, head)
        _box(drawing, corner, opposite, "opening")
        _opening_size(drawing, corner, opposite, f"{opening.width_m:g} x {opening.height_m:g}")
    for joint in face.joints:
        _joint(drawing, joint.kind, _at(face, scale, joint.start), _at(face, scale, joint.end))
    drawing.text(_LEFT_PX + width / 2, _EDGE_PX + height + 15, f"{face.width_m:g} m")
    drawing.text(_LEFT_PX - 5, _EDGE_PX + height / 2 + 4, f"{face.height_m:g} m", anchor="end")
    return mark_safe(drawing.markup())  # noqa: S308  (words in it are escaped)  # nosec B308 B703


def _at(face: Face, scale: float, point: tuple[float, float]) -> tuple[float, float]:
    return _LEFT_PX + point[0] * scale, _EDGE_PX + (face.height_m - point[1]) * scale


def _opening_size(
    drawing: Drawing, corner: tuple[float, float], opposite: tuple[float, float], words: str
) -> None:
    """Write an opening's size into it where there is room, upright where it is narrow."""
    (x1, y1), (x2, y2) = corner, opposite
    x, y = (x1 + x2) / 2, (y1 + y2) / 2
    if text_width(words) < x2 - x1:
        drawing.text(x, y + 4, words)
    elif text_width(words) < y1 - y2 and x2 - x1 > FONT_PX:
        turn = {"transform": f"rotate(-90 {px_text(x)} {px_text(y)})"}
        with drawing.inside("g", turn):
            drawing.text(x, y + 4, words)


def _box(
    drawing: Drawing, corner: tuple[float, float], opposite: tuple[float, float], look: str
) -> None:
    (x1, y1), (x2, y2) = corner, opposite
    place = {"x": px_text(min(x1, x2)), "y": px_text(min(y1, y2))}
    size = {"width": px_text(abs(x2 - x1)), "height": px_text(abs(y2 - y1))}
    drawing.add(
        "rect",
        {**place, **size, "class": look, "fill": "#fff", "stroke": "#999", "stroke-width": "0.7"},
    )


def _joint(
    drawing: Drawing,
    kind: JointKind | None,
    start: tuple[float, float],
    end: tuple[float, float],
) -> None:
    (x1, y1), (x2, y2) = start, end
    ends = {"x1": px_text(x1), "y1": px_text(y1), "x2": px_text(x2), "y2": px_text(y2)}
    look = {"class": f"joint {kind or 'cornice'}", "stroke": "#000", **PATTERNS[kind]}
    drawing.add("line", {**ends, **look})


def _key(kinds: Sequence[JointKind | None]) -> SafeString:
    drawing = Drawing(
        "joint-key",
        title=_("What the lines are"),
        description=", ".join(joint_name(kind or "cornice") for kind in kinds),
        width=260,
        height=20.0 * len(kinds) + 6,
    )
    for row, kind in enumerate(kinds):
        y = 20.0 * row + 14
        _joint(drawing, kind, (4, y), (64, y))
        drawing.text(74, y + 4, joint_name(kind or "cornice"), anchor="start")
    return mark_safe(drawing.markup())  # noqa: S308  # nosec B308 B703
