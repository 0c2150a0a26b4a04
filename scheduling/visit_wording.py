"""A published visit's frozen content -> the title and text that a crew reads.

content: ``{"house": {"name", "address", "latitude", "longitude"}, "tasks": [...]}``; a task is
the planned task's details with its key, stage and ``ready_at`` (ISO, UTC).
"""

from collections.abc import Iterator, Sequence
from itertools import groupby
from zoneinfo import ZoneInfo

from django.utils.translation import gettext

from scheduling.cautions_wording import caution_text, defer_text
from scheduling.dryer_wording import move_lines
from scheduling.wording import (
    Codes,
    figure,
    joint_name,
    listed,
    part_name,
    quantity,
    ready_sentence,
    stage_name,
    tool_name,
    why_sentence,
)


def visit_title(content: Codes, *, cancelled: bool = False) -> str:
    """Return house, stages and areas; a cancelled visit says so first."""
    tasks = content["tasks"]
    stages = listed([task["job"] or stage_name(task["stage"]) for task in tasks])
    areas = listed([task["area"] for task in tasks])
    title = f"{content['house']['name']}: " + " · ".join(part for part in (stages, areas) if part)
    return gettext("CANCELLED: %(title)s") % {"title": title} if cancelled else title


def visit_description(content: Codes, zone: ZoneInfo) -> str:
    """Return what to do room by room, what to bring, what it waits on and what to mind."""
    tasks = content["tasks"]
    blocks = [
        *_work_blocks(tasks, zone),
        [*_totals(tasks), *_around(content)],
        _waits(tasks, zone),
        _cautions(tasks),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block)


def _work_blocks(tasks: Sequence[Codes], zone: ZoneInfo) -> Iterator[list[str]]:
    """One block for each run of tasks of the same stage, area and compound."""

    def heading(task: Codes) -> tuple[str, str, str, int]:
        name = task["job"] or stage_name(task["stage"])
        return name, task["area"], task["compound"], task["working_minutes"]

    for (name, area, compound, minutes), grouped in groupby(tasks, key=heading):
        run = list(grouped)
        first = " · ".join(part for part in (name, area, compound) if part)
        if minutes:
            mix = gettext("use up each mix within %(minutes)s min") % {"minutes": minutes}
            first = f"{first} ({mix})"
        yield [first, *_widths(run), *(line for task in run for line in _room_lines(task, zone))]


def _widths(run: Sequence[Codes]) -> list[str]:
    """Return how wide each kind of joint is coated, said once for all rooms."""
    lines = [line for task in run for line in task["work"] if line.get("width_mm")]
    widths = listed([f"{joint_name(line['kind'])} {_width(line)}" for line in lines])
    return [gettext("Widths: %(widths)s") % {"widths": widths}] if widths else []


def _room_lines(task: Codes, zone: ZoneInfo) -> Iterator[str]:
    """A line of work for each part of the room, and when what it leaves is ready."""
    room = _room(task)
    for part, lines in groupby(task["work"], key=lambda line: line["part"]):
        work = ", ".join(_work(line) for line in lines)
        yield f"- {room}, {part_name(part)}: {work}"
    if room and not task["work"]:
        yield f"- {room}"
    yield from (f"- {line}" for line in move_lines(task.get("dryers", ())))
    if ready := ready_sentence(task["ready_at"], task, zone):
        yield "  " + gettext("%(ready)s; do not touch until then") % {"ready": ready}


def _room(task: Codes) -> str:
    number, of = task["part"]
    if of == 1:
        return str(task["room"])
    values = {"room": task["room"], "number": number, "of": of}
    return gettext("%(room)s (part %(number)s of %(of)s)") % values


def _work(line: Codes) -> str:
    said = [f"{joint_name(line['kind'])} {quantity(line['quantity'], line['unit'])}"]
    if line.get("one_face"):
        said.append(gettext("one face"))
    if line.get("plastic_bead"):
        said.append(gettext("plastic bead, as its maker says"))
    if line.get("for_tiles"):
        said.append(gettext("for tiles"))
    return " ".join(said)


def _width(line: Codes) -> str:
    least, most = line.get("width_least_mm") or line["width_mm"], line["width_mm"]
    mm = figure(most) if least == most else f"{figure(least)}-{figure(most)}"
    if line.get("width_each_side"):
        return gettext("%(mm)s mm to each side") % {"mm": mm}
    return gettext("%(mm)s mm") % {"mm": mm}


def _totals(tasks: Sequence[Codes]) -> list[str]:
    moving = sum(move["minutes"] for task in tasks for move in task.get("dryers", ()))
    hours = (sum(task["person_minutes"] for task in tasks) + moving) / 60
    lines = [gettext("Work: %(hours)s person-hours") % {"hours": figure(hours)}]
    for compound in dict.fromkeys(task["compound"] for task in tasks if task["compound"]):
        used = [task["material"] for task in tasks if task["compound"] == compound]
        lines.append(f"{compound}: {_material(used)}")
    if tape := _sum([task["material"] for task in tasks], "tape_m"):
        lines.append(gettext("Tape: %(metres)s m") % {"metres": figure(tape)})
    if tools := listed([tool_name(code) for task in tasks for code in task["tools"]]):
        lines.append(gettext("Bring: %(tools)s") % {"tools": tools})
    return lines


def _around(content: Codes) -> Iterator[str]:
    if content["setup_minutes"] or content["washup_minutes"]:
        said = gettext("Hours include %(setup)s min to set up and %(washup)s min to wash up")
        yield said % {"setup": content["setup_minutes"], "washup": content["washup_minutes"]}


def _material(used: Sequence[Codes]) -> str:
    parts = [
        gettext("%(litres)s L (%(kg)s kg)")
        % {"litres": figure(_sum(used, "litres")), "kg": figure(_sum(used, "kg"))}
    ]
    if powder := _sum(used, "powder_kg"):
        water = figure(_sum(used, "water_l"))
        parts.append(
            gettext("from %(powder)s kg powder and %(water)s L water")
            % {"powder": figure(powder), "water": water}
        )
    return " ".join(parts)


def _sum(used: Sequence[Codes], key: str) -> float:
    return float(sum(material.get(key, 0) for material in used))


def _waits(tasks: Sequence[Codes], zone: ZoneInfo) -> list[str]:
    """Return what the visit waits on: of each earlier stage and reason the last room's wait."""
    latest: dict[tuple[str, str], Codes] = {}
    for waits_on in (task["waits_on"] for task in tasks if task["waits_on"]):
        key = (waits_on["other"].split(":")[1], waits_on["reason"])
        if key not in latest or waits_on["ready_at"] > latest[key]["ready_at"]:
            latest[key] = waits_on
    return [why_sentence({"code": "wait", **waits_on}, zone) for waits_on in latest.values()]


def _cautions(tasks: Sequence[Codes]) -> list[str]:
    codes = dict.fromkeys(code for task in tasks for code in task["cautions"])
    if not codes:
        return []
    return [gettext("Cautions"), *(f"- {caution_text(code)}" for code in codes), defer_text()]
