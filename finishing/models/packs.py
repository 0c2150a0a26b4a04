"""Packs that material is bought in: their sizes, and what each costs."""

from collections.abc import Iterator, Sequence

SMALLEST_PACK = 0.1
"""Kg, metres or pieces: of anything less a house would take packs without number."""
HEAVIEST_PACK_KG = 1000.0
LARGEST_PACK = 100_000.0
"""Metres or pieces in a pack of what is bought beside compounds."""
HIGHEST_PRICE = 10**12
"""In minor units of the company's currency."""


def pack_faults(
    sizes: Sequence[object], prices: Sequence[object], *, sizes_in: str, largest: float
) -> Iterator[tuple[str, str]]:
    """Yield by field what no packs may be. sizes_in: the field of the sizes; largest: below which
    a size lies."""
    if any(not _is_number(one) or not SMALLEST_PACK <= float(str(one)) < largest for one in sizes):
        yield sizes_in, f"must each be at least {SMALLEST_PACK:g} and below {largest:g}"
    elif len({*sizes}) < len(sizes):
        yield sizes_in, "name each size once"
    if any(not isinstance(price, int) or isinstance(price, bool) for price in prices):
        yield "pack_prices", "must each be a whole number of the currency's smallest coin"
    elif any(not 0 <= int(str(price)) <= HIGHEST_PRICE for price in prices):
        yield "pack_prices", f"must each be from 0 to {HIGHEST_PRICE}"
    if prices and len(prices) != len(sizes):
        yield "pack_prices", "give one price for each pack, in the same order, or none"


def _is_number(size: object) -> bool:
    return isinstance(size, int | float) and not isinstance(size, bool)
