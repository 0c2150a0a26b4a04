"""Which visits of the next days may not be published, as their house is not ready for them."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from finishing.models import Company, ReadinessLine
from finishing.rules.readiness import needs
from scheduling.queries.visits import Block

AHEAD = timedelta(days=1)
"""Today and tomorrow, in the crew's zone."""


@dataclass(frozen=True, slots=True)
class HeldBack:
    """A block that is not published, and the open readiness items that it needs done."""

    block: Block
    items: tuple[str, ...]


def held_back_blocks(
    company: Company, blocks: Iterable[Block], now: datetime
) -> tuple[HeldBack, ...]:
    """Return the blocks of today and tomorrow that need a readiness line that is still open."""
    open_items: defaultdict[int, set[str]] = defaultdict(set)
    for line in ReadinessLine.objects.filter(company=company, done=False):
        open_items[line.house_id].add(line.item)
    soon = (block for block in blocks if _is_soon(block, now))
    lacking = ((block, _lacking(block, open_items[block.house.pk])) for block in soon)
    return tuple(HeldBack(block, items) for block, items in lacking if items)


def _is_soon(block: Block, now: datetime) -> bool:
    zone = ZoneInfo(block.crew.zone)
    return block.starts_at.astimezone(zone).date() <= now.astimezone(zone).date() + AHEAD


def _lacking(block: Block, open_items: set[str]) -> tuple[str, ...]:
    needed = {item for task in block.tasks for item in needs(task.stage)}
    return tuple(sorted(needed & open_items))
