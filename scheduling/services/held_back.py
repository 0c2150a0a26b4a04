"""Which visits of the next days may not be published, as their house is not ready for them."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from finishing.models import Company, ReadinessLine
from finishing.rules.readiness import PUBLISHED_DAYS_AHEAD, needs
from scheduling.queries.visits import Block

AHEAD = timedelta(days=PUBLISHED_DAYS_AHEAD)
"""Today and tomorrow, in the crew's zone."""


@dataclass(frozen=True, slots=True)
class HeldBack:
    """A block that is not published, and the open readiness items that it needs done; none where
    it only comes after a block of the same room that is held back."""

    block: Block
    items: tuple[str, ...]


def held_back_blocks(
    company: Company, blocks: Iterable[Block], now: datetime
) -> tuple[HeldBack, ...]:
    """Return the blocks of today and tomorrow that need a readiness line that is still open, and
    the later blocks of their rooms: a coat over one that nobody was sent to do is no work."""
    open_items: defaultdict[int, set[str]] = defaultdict(set)
    for line in ReadinessLine.objects.filter(company=company, done=False):
        open_items[line.house_id].add(line.item)
    held: list[HeldBack] = []
    untouched: set[str] = set()
    for block in sorted(blocks, key=lambda block: block.starts_at):
        rooms = {task.key.split(":")[0] for task in block.tasks}
        items = _lacking(block, open_items[block.house.pk]) if _is_soon(block, now) else ()
        if items or rooms & untouched:
            held.append(HeldBack(block, items))
            untouched |= rooms
    return tuple(held)


def _is_soon(block: Block, now: datetime) -> bool:
    zone = ZoneInfo(block.crew.zone)
    return block.starts_at.astimezone(zone).date() <= now.astimezone(zone).date() + AHEAD


def _lacking(block: Block, open_items: set[str]) -> tuple[str, ...]:
    needed = {item for task in block.tasks for item in needs(task.stage)}
    return tuple(sorted(needed & open_items))
