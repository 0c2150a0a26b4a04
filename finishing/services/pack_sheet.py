"""packs.csv: a row for each compound, and for each kind of tape, bead or sandpaper, as bought."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from finishing.models import Company, Compound, Supply
from finishing.models.compound import LIMITS as COMPOUND_LIMITS
from finishing.models.packs import HEAVIEST_PACK_KG, LARGEST_PACK, pack_faults
from finishing.models.supply import LIMITS as SUPPLY_LIMITS
from finishing.rules.supplies import USED_PER_UNIT, SupplyKind
from finishing.services.cells import Cells, cells_of_row
from finishing.services.rows import put_row, set_values
from finishing.services.sheets import Content, read_sheet
from finishing.services.typed_numbers import number_of

REQUIRED = ("name", "packs")
OPTIONAL = ("kind", "prices", "lead_days", "opened_days", "used_per_unit", "awaited")


@dataclass(frozen=True, slots=True)
class PackEntry:
    """How one thing is bought. of: the company's compound, or the kind of what else it is.

    values: of the fields that the row names.
    """

    name: str
    of: Compound | SupplyKind
    values: Mapping[str, Any]

    @property
    def thing(self) -> str:
        """The compound's name; of what else it is its kind, as that may get another name."""
        return self.of.name if isinstance(self.of, Compound) else self.of.value


def read_packs(*, name: str, content: Content, company: Company) -> tuple[PackEntry, ...]:
    """Read how a company buys; raise InputFaults with all that is wrong in the file."""
    sheet = read_sheet(name=name, content=content, required=REQUIRED, optional=OPTIONAL)
    compounds = {row.name: row for row in Compound.objects.filter(company=company)}
    found: dict[object, PackEntry] = {}
    for line, row in sheet.rows:
        cells = cells_of_row(sheet, line, row)
        entry = _entry(cells, compounds)
        if entry and entry.of in found:
            cells.fault("kind" if cells.text("kind") else "name", "is there twice")
        if entry:
            found[entry.of] = entry
    sheet.raise_faults()
    return tuple(found.values())


def put_packs(*, company: Company, entry: PackEntry) -> Compound | Supply:
    """Bring a compound or a supply in line with an entry; what it does not name stays."""
    if isinstance(entry.of, Compound):
        row = entry.of
        values = {"pack_kg" if name == "packs" else name: v for name, v in entry.values.items()}
        if set_values(row, values):
            row.version += 1
            row.full_clean()
            row.save()
        return row
    match = {"company": company, "kind": entry.of}
    usual = (
        {}
        if Supply.objects.filter(**match).exists()
        else {"used_per_unit": USED_PER_UNIT[entry.of]}
    )
    return put_row(Supply, match=match, values={"name": entry.name, **usual, **entry.values})


def _entry(cells: Cells, compounds: Mapping[str, Compound]) -> PackEntry | None:
    name, kind = cells.required("name"), cells.choice("kind", SupplyKind)
    of = kind or (None if cells.text("kind") else compounds.get(name))
    if of is None and name and not cells.text("kind"):
        cells.fault("name", f"there is no compound {name!r}: say in kind what else it is")
    packs, prices = _numbers(cells, "packs"), _numbers(cells, "prices")
    largest = HEAVIEST_PACK_KG if isinstance(of, Compound) else LARGEST_PACK
    whole = [int(price) if price == int(price) else price for price in prices]
    for column, text in pack_faults(packs, whole, sizes_in="packs", largest=largest):
        cells.fault("prices" if column == "pack_prices" else column, text)
    limits = COMPOUND_LIMITS if isinstance(of, Compound) else SUPPLY_LIMITS
    values = {
        "packs": packs,
        "pack_prices": whole if cells.text("prices") else None,
        "awaited": cells.yes("awaited"),
        **{name: _limited(cells, name, limits) for name in OPTIONAL[2:5]},
    }
    return PackEntry(name, of, {k: v for k, v in values.items() if v is not None}) if of else None


def _limited(
    cells: Cells, column: str, limits: Mapping[str, tuple[float, float]]
) -> float | int | None:
    if column not in limits:
        if cells.text(column):
            cells.fault(column, "is not for this kind of material")
        return None
    least, most = limits[column]
    if column == "used_per_unit":
        return cells.number(column, least=least, most=most)
    return cells.whole(column, least=int(least), most=int(most))


def _numbers(cells: Cells, column: str) -> list[float]:
    """Read "5; 10; 20"."""
    parts = [part for part in re.split(r"[;\s]+", cells.text(column)) if part]
    try:
        return [number_of(part.replace(",", ".")) for part in parts]
    except ValueError:
        cells.fault(column, f"{cells.text(column)!r} is not sizes such as 5; 10; 20")
        return []
