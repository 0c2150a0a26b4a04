"""site.csv: what each house offers, what is closed, and odd jobs; a row for each.

The column "what" says what a row is, and which other cells it may have:

- ready: item (boarded, inspected, closed_up, power, water, heat, light, clear_floors, way_in,
  primed, trades_done), done (yes/no), on (the day it is expected), owed_by;
- closed: area, from, to (days, both included), note (by whom or why);
- odd_job: item (what to do), minutes (person-minutes), skill (default odd_jobs), done.

A blank house means the house of the row above. The file is the whole truth about each house it
names: lines of such a house that are not in it are deleted. A blank "done" leaves what is known.
"""

from collections.abc import Mapping

from finishing.models import Area, Company, House
from finishing.rules.vocabulary import Readiness, Skill
from finishing.services.cells import Cells, cells_of_row
from finishing.services.csv_files import Sheet
from finishing.services.sheet_lookups import named_in
from finishing.services.sheets import Content, read_sheet
from finishing.services.site import ClosureEntry, OddJobEntry, ReadyEntry, SiteEntry

READY, CLOSED, ODD_JOB = "ready", "closed", "odd_job"
CELLS_OF = {
    READY: frozenset({"item", "done", "on", "owed_by"}),
    CLOSED: frozenset({"area", "from", "to", "note"}),
    ODD_JOB: frozenset({"item", "minutes", "skill", "done"}),
}
REQUIRED = ("house", "what")
OPTIONAL = ("area", "item", "done", "on", "from", "to", "owed_by", "minutes", "skill", "note")


def read_sites(*, name: str, content: Content, company: Company) -> tuple[SiteEntry, ...]:
    """Read the sites of a file; raise InputFaults with all that is wrong in it."""
    sheet = read_sheet(name=name, content=content, required=REQUIRED, optional=OPTIONAL)
    houses = {row.name: row for row in House.objects.filter(company=company)}
    sites = [_site(houses.get(house), rows) for house, rows in _by_house(sheet, houses).items()]
    sheet.raise_faults()
    return tuple(site for site in sites if site is not None)


def _by_house(sheet: Sheet, houses: dict[str, House]) -> dict[str, list[Cells]]:
    by_house: dict[str, list[Cells]] = {}
    above = ""
    for line, row in sheet.rows:
        cells = cells_of_row(sheet, line, row)
        named_in(cells, "house", houses)
        above = cells.text("house") or above
        if not above:
            cells.fault("house", "the first row must name its house")
        by_house.setdefault(above, []).append(cells)
    return by_house


def _site(house: House | None, rows: list[Cells]) -> SiteEntry | None:
    """Read the rows of a house; those of one that there is not, for their other faults alone."""
    areas = {area.name: area for area in house.areas.all()} if house else None
    ready: dict[Readiness, ReadyEntry] = {}
    closures: list[ClosureEntry] = []
    odd_jobs: dict[str, OddJobEntry] = {}
    for cells in rows:
        match _kind(cells):
            case "ready":
                _add_ready(cells, ready)
            case "closed":
                _add_closure(cells, areas, closures)
            case "odd_job":
                _add_odd_job(cells, odd_jobs)
            case _:
                _read_alone(cells, areas)
    if house is None:
        return None
    return SiteEntry(house, tuple(ready.values()), tuple(closures), tuple(odd_jobs.values()))


def _kind(cells: Cells) -> str:
    kind = cells.required("what").lower().replace(" ", "_")
    if kind and kind not in CELLS_OF:
        cells.fault("what", f"{kind!r} is not one of {', '.join(CELLS_OF)}")
    for column in OPTIONAL:
        if kind in CELLS_OF and column not in CELLS_OF[kind] and cells.text(column):
            cells.fault(column, f"does not belong to a row that says {kind}")
    return kind


def _read_alone(cells: Cells, areas: Mapping[str, Area] | None) -> None:
    """Find the faults of cells of which it is not known what they are for."""
    for column in ("on", "from", "to"):
        cells.day(column)
    for column in ("item", "owed_by", "note"):
        cells.text(column)
    _area(cells, areas)
    cells.yes("done")
    cells.choice("skill", Skill)
    _minutes(cells)


def _add_ready(cells: Cells, ready: dict[Readiness, ReadyEntry]) -> None:
    cells.required("item")
    item = cells.choice("item", Readiness)
    entry_cells = (cells.yes("done"), cells.day("on"), cells.text("owed_by"))
    if item is None:
        return
    if item in ready:
        cells.fault("item", f"{item} is there twice for this house")
    ready[item] = ReadyEntry(item, *entry_cells)


def _add_closure(
    cells: Cells, areas: Mapping[str, Area] | None, closures: list[ClosureEntry]
) -> None:
    cells.required("area")
    area = _area(cells, areas)
    cells.required("from")
    cells.required("to")
    first_day, last_day, reason = cells.day("from"), cells.day("to"), cells.text("note")
    if first_day and last_day and last_day < first_day:
        cells.fault("to", f"{last_day} is before from, {first_day}")
    if area is None or first_day is None or last_day is None:
        return
    for other in closures:
        if other.area == area and first_day <= other.last_day and other.first_day <= last_day:
            cells.fault("from", f"{area.name!r} is closed on some of these days already")
    closures.append(ClosureEntry(area, first_day, last_day, reason))


def _add_odd_job(cells: Cells, odd_jobs: dict[str, OddJobEntry]) -> None:
    name = cells.required("item")
    cells.required("minutes")
    minutes = _minutes(cells)
    skill, done = cells.choice("skill", Skill), cells.yes("done")
    if name in odd_jobs:
        cells.fault("item", f"{name!r} is there twice for this house")
    odd_jobs[name] = OddJobEntry(name, minutes or 1, skill or Skill.ODD_JOBS, done)


def _area(cells: Cells, areas: Mapping[str, Area] | None) -> Area | None:
    """Read which of a house's areas; areas: None where it is not known of which house."""
    return named_in(cells, "area", areas) if areas is not None else None


def _minutes(cells: Cells) -> int | None:
    return cells.whole("minutes", least=1, most=100_000)
