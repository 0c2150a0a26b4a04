"""Material, packs and mixes as sentences; those of loads and mixes are read by crews."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from math import ceil
from zoneinfo import ZoneInfo

from django.utils.translation import gettext, ngettext

from finishing.queries.materials import Item, unit_of
from finishing.rules.cautions import Caution
from scheduling.cautions_wording import caution_text
from scheduling.measures import Measures
from scheduling.services.material_orders import LateVisit
from scheduling.services.mixing import MixNote
from scheduling.services.stock_now import StockNow
from scheduling.services.van_loads import Load
from scheduling.wording import day, figure, listed, moment, quantity, stage_name

TIMES = "\N{MULTIPLICATION SIGN}"


def load_lines(loads: Sequence[Load], notes: Sequence[MixNote], measures: Measures) -> list[str]:
    """Say what to put into the van for a visit, and how much water its mixes take."""
    lines = [_load_line(load, measures) for load in loads]
    if water := sum(note.mixes.count * note.mixes.water_l for note in notes):
        said = gettext("Water to mix with: %(amount)s")
        lines.append(said % {"amount": measures.volume(water)})
    return lines


def mix_lines(notes: Iterable[MixNote], zone: ZoneInfo, measures: Measures) -> list[str]:
    """Say how setting powders are mixed; ``mix_caution`` stands once beside it, or above."""
    return [line for note in notes for line in _mix_lines(note, zone, measures)]


def mix_caution() -> str:
    """Return what to mind with setting powder."""
    return caution_text(Caution.ALKALINE_POWDER)


def packs_text(packs: Iterable[tuple[float, int]], unit: str) -> str:
    """Say so many packs of each size."""
    return listed([f"{count} {TIMES} {amount_text(size, unit)}" for size, count in packs])


def amount_text(value: float, unit: str) -> str:
    """Return an amount of an item in its unit."""
    return f"{figure(value)} kg" if unit == "kg" else quantity(value, unit)


def stock_sentence(one: StockNow) -> str:
    """Say of a line of stock what was counted, what was used since, and what there should be."""
    line = one.line
    unit = unit_of(line.supply) if line.supply else "kg"
    values = {
        "counted": packs_text([(line.pack_size, line.packs)], unit),
        "used": amount_text(one.used, unit),
        "left": amount_text(one.left, unit),
    }
    if line.counted_on is None:
        return (
            gettext("%(counted)s. Nobody has said when, so nothing is taken off: count again.")
            % values
        )
    said = gettext(
        "counted on %(day)s: %(counted)s. Opened since by visits: %(used)s. "
        "Reckoned to be there now: %(left)s."
    )
    return said % {**values, "day": day(line.counted_on)}


def stock_in_brief(one: StockNow, today: date) -> str:
    """Say in a few words what is there of a line of stock, or when it comes."""
    line = one.line
    unit = unit_of(line.supply) if line.supply else "kg"
    values = {
        "counted": packs_text([(line.pack_size, line.packs)], unit),
        "left": amount_text(one.left, unit),
        "day": day(line.arrives_on),
    }
    if line.arrives_on > today:
        return gettext("%(counted)s, there from %(day)s") % values
    if line.counted_on is None:
        return gettext("%(counted)s, to be counted again") % values
    return gettext("%(left)s there now, of %(counted)s") % values


def late_sentence(late: LateVisit) -> str:
    """Say of a visit which of its material is not there on its day, and when it is."""
    return gettext("%(house)s, %(crew)s, %(moment)s: %(late)s") % {
        "house": late.visit.house.name,
        "crew": late.visit.crew.name,
        "moment": moment(late.visit.starts_at, ZoneInfo(late.visit.crew.zone)),
        "late": late_words(late),
    }


def late_words(late: LateVisit) -> str:
    """Say which material is not there on a visit's day, and when it is."""
    items = [
        gettext("%(item)s (there on %(day)s)") % {"item": item.name, "day": day(there_on)}
        for item, there_on in late.items
    ]
    return gettext("not there in time: %(items)s") % {"items": listed(items)}


def _load_line(load: Load, measures: Measures) -> str:
    needed = _amount(load.amount, load.item, measures)
    if load.drawn is None:
        return f"{load.item.name}: {needed}"
    parts = []
    if load.drawn.from_open:
        left = _amount(load.drawn.from_open, load.item, measures)
        parts.append(gettext("%(amount)s from what is open") % {"amount": left})
    if load.drawn.opened:
        counts = sorted(Counter(load.drawn.opened).items(), reverse=True)
        parts.append(gettext("load %(packs)s") % {"packs": packs_text(counts, load.item.unit)})
    said = gettext("%(item)s, %(amount)s: %(parts)s")
    return said % {"item": load.item.name, "amount": needed, "parts": listed(parts)}


def _amount(value: float, item: Item, measures: Measures) -> str:
    """Say an amount to take along; what is counted is taken whole."""
    if item.unit == "kg":
        return measures.weight(value)
    taken = ceil(round(value, 2)) if item.unit == "each" else value
    return measures.quantity(taken, item.unit)


def _mix_lines(note: MixNote, zone: ZoneInfo, measures: Measures) -> Iterator[str]:
    mixes = note.mixes
    whole = measures.compound(mixes.litres, mixes.powder_kg + mixes.water_l)
    said = ngettext(
        "%(compound)s, %(stage)s: %(n)s mix of %(amount)s %(of)s",
        "%(compound)s, %(stage)s: %(n)s mixes, each of %(amount)s %(of)s",
        mixes.count,
    )
    yield said % {
        "compound": note.compound,
        "stage": stage_name(note.stage),
        "n": mixes.count,
        "amount": whole,
        "of": measures.mix(mixes.powder_kg, mixes.water_l),
    }
    hour = note.last_by.astimezone(zone).strftime("%H:%M")
    yield gettext("Mix no whole batch of it after %(hour)s: it would not be on in time") % {
        "hour": hour
    }
    if note.instead:
        said = gettext("That is many or small batches: %(compound)s can be worked longer")
        yield said % {"compound": note.instead}
