"""A published visit's frozen content -> the title and text that a crew reads.

content: ``{"house": {"name", "address", "latitude", "longitude"}, "tasks": [...]}``; a task is
the planned task's details with its key, stage and ``ready_at`` (ISO, UTC).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from zoneinfo import ZoneInfo

from django.utils.translation import gettext

from scheduling.cautions_wording import caution_text, defer_text
from scheduling.dryer_wording import move_lines
from scheduling.measures import METRIC, Measures
from scheduling.wording import (
    Codes,
    figure,
    joint_name,
    listed,
    part_name,
    ready_sentence,
    stage_name,
    why_sentence,
)


@dataclass(frozen=True)
class WorkBlock:
    """Tasks of the same stage, area and compound. widths: how wide each kind of joint is coated,
    "" where nothing is."""

    heading: str
    widths: str
    tasks: Sequence[Codes]


def visit_title(content: Codes, *, cancelled: bool = False) -> str:
    """Return house, stages and areas; a cancelled visit says so first."""
    tasks = content["tasks"]
    stages = listed([task["job"] or stage_name(task["stage"]) for task in tasks])
    areas = listed([task["area"] for task in tasks])
    title = f"{content['house']['name']}: " + " · ".join(part for part in (stages, areas) if part)
    return gettext("CANCELLED: %(title)s") % {"title": title} if cancelled else title


def visit_description(content: Codes, zone: ZoneInfo, measures: Measures = METRIC) -> str:
    """Return what to do room by room, what to bring, what it waits on and what to mind."""
    tasks = content["tasks"]
    cautions = [f"- {text}" for text in caution_texts(tasks)]
    blocks = [
        *(_block_lines(block, measures, zone) for block in work_blocks(tasks, measures)),
        [work_hours(tasks), *bring_lines(tasks, measures), *_around(content)],
        wait_lines(tasks, zone),
        [gettext("Cautions"), *cautions, defer_text()] if cautions else [],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block)


def work_blocks(tasks: Sequence[Codes], measures: Measures) -> Iterator[WorkBlock]:
    """Yield a block for each run of tasks of the same stage, area and compound."""

    def heading(task: Codes) -> tuple[str, str, str, int]:
        name = task["job"] or stage_name(task["stage"])
        return name, task["area"], task["compound"], task["working_minutes"]

    for (name, area, compound, minutes), grouped in groupby(tasks, key=heading):
        run = list(grouped)
        first = " · ".join(part for part in (name, area, compound) if part)
        if minutes:
            mix = gettext("use up each mix within %(minutes)s min") % {"minutes": minutes}
            first = f"{first} ({mix})"
        yield WorkBlock(first, _widths(run, measures), run)


def room_lines(task: Codes, measures: Measures) -> Iterator[str]:
    """Yield a line of work for each part of a task's room."""
    room = room_name(task)
    for part, lines in groupby(task["work"], key=lambda line: line["part"]):
        work = ", ".join(_work(line, measures) for line in lines)
        yield f"{room}, {part_name(part)}: {work}"
    if room and not task["work"]:
        yield room


def _block_lines(block: WorkBlock, measures: Measures, zone: ZoneInfo) -> list[str]:
    """Return a block's text, with when what each room's coat leaves is ready."""
    lines = [block.heading, *([block.widths] if block.widths else [])]
    for task in block.tasks:
        moves = move_lines(task.get("dryers", ()))
        lines += [f"- {line}" for line in (*room_lines(task, measures), *moves)]
        if ready := ready_sentence(task["ready_at"], task, zone):
            lines.append("  " + gettext("%(ready)s; do not touch until then") % {"ready": ready})
    return lines


def _widths(run: Sequence[Codes], measures: Measures) -> str:
    lines = [line for task in run for line in task["work"] if line.get("width_mm")]
    widths = listed([f"{joint_name(line['kind'])} {measures.width(line)}" for line in lines])
    return gettext("Widths: %(widths)s") % {"widths": widths} if widths else ""


def room_name(task: Codes) -> str:
    """Return a task's room, with the part of it; "" for an odd job."""
    number, of = task["part"]
    if of == 1:
        return str(task["room"])
    values = {"room": task["room"], "number": number, "of": of}
    return gettext("%(room)s (part %(number)s of %(of)s)") % values


def _work(line: Codes, measures: Measures) -> str:
    said = [f"{joint_name(line['kind'])} {measures.quantity(line['quantity'], line['unit'])}"]
    if line.get("one_face"):
        said.append(gettext("one face"))
    if line.get("plastic_bead"):
        said.append(gettext("plastic bead, as its maker says"))
    if line.get("for_tiles"):
        said.append(gettext("for tiles"))
    return " ".join(said)


def work_hours(tasks: Sequence[Codes]) -> str:
    """Say how much work there is, in person-hours."""
    moving = sum(move["minutes"] for task in tasks for move in task.get("dryers", ()))
    hours = (sum(task["person_minutes"] for task in tasks) + moving) / 60
    return gettext("Work: %(hours)s person-hours") % {"hours": figure(hours)}


def bring_lines(tasks: Sequence[Codes], measures: Measures) -> list[str]:
    """Say what compounds, tape and tools are used, and how much."""
    lines = []
    for compound in dict.fromkeys(task["compound"] for task in tasks if task["compound"]):
        used = [task["material"] for task in tasks if task["compound"] == compound]
        lines.append(f"{compound}: {_material(used, measures)}")
    if tape := _sum([task["material"] for task in tasks], "tape_m"):
        length = measures.quantity(tape, "m")
        lines.append(gettext("Tape: %(length)s") % {"length": length})
    if tools := listed([measures.tool(code) for task in tasks for code in task["tools"]]):
        lines.append(gettext("Bring: %(tools)s") % {"tools": tools})
    return lines


def _around(content: Codes) -> Iterator[str]:
    if content["setup_minutes"] or content["washup_minutes"]:
        said = gettext("Hours include %(setup)s min to set up and %(washup)s min to wash up")
        yield said % {"setup": content["setup_minutes"], "washup": content["washup_minutes"]}


def _material(used: Sequence[Codes], measures: Measures) -> str:
    said = measures.compound(_sum(used, "litres"), _sum(used, "kg"))
    powder = _sum(used, "powder_kg")
    return f"{said} {measures.mix(powder, _sum(used, 'water_l'))}" if powder else said


def _sum(used: Sequence[Codes], key: str) -> float:
    return float(sum(material.get(key, 0) for material in used))


def wait_lines(tasks: Sequence[Codes], zone: ZoneInfo) -> list[str]:
    """Return what the visit waits on: of each earlier stage and reason the last room's wait."""
    latest: dict[tuple[str, str], Codes] = {}
    for waits_on in (task["waits_on"] for task in tasks if task["waits_on"]):
        key = (waits_on["other"].split(":")[1], waits_on["reason"])
        if key not in latest or waits_on["ready_at"] > latest[key]["ready_at"]:
            latest[key] = waits_on
    return [why_sentence({"code": "wait", **waits_on}, zone) for waits_on in latest.values()]


def caution_texts(tasks: Sequence[Codes]) -> list[str]:
    """Return the cautions of the work, each once; ``defer_text`` stands under them."""
    codes = dict.fromkeys(code for task in tasks for code in task["cautions"])
    return [caution_text(code) for code in codes]
