"""Compounds and jointing systems, as rows and as the rules know them."""

from collections import defaultdict

from finishing.models import Area, CoatDone, Company, Compound, House, JointingSystem, SystemStage
from finishing.rules import vocabulary as trade
from finishing.rules.compounds import System
from finishing.rules.vocabulary import Stage, Tape

type Uses = dict[int, list[str]]
"""By the primary key of a row the names of what uses it."""


def compounds_of(company: Company) -> list[Compound]:
    """Return a company's compounds by name."""
    return list(Compound.objects.filter(company=company).order_by("name"))


def systems_of(company: Company) -> list[JointingSystem]:
    """Return a company's jointing systems with their compounds, the default first."""
    rows = JointingSystem.objects.filter(company=company).prefetch_related("stage_rows__compound")
    return list(rows.order_by("-is_default", "name"))


def uses_of_compounds(company: Company) -> Uses:
    """Return which systems and areas use each compound."""
    systems = SystemStage.objects.filter(company=company).order_by("system__name")
    done = CoatDone.objects.filter(company=company).exclude(compound=None)
    found: defaultdict[int, list[str]] = defaultdict(list)
    for key, name in systems.values_list("compound", "system__name").distinct():
        found[key].append(name)
    for row in done.select_related("area__house").order_by("area__house__name", "area__position"):
        found[row.compound_id or 0].append(f"{row.area.house}, {row.area}")
    return found


def uses_of_systems(company: Company) -> Uses:
    """Return which houses and areas name each system."""
    found: defaultdict[int, list[str]] = defaultdict(list)
    for house in House.objects.filter(company=company).exclude(system=None).order_by("name"):
        found[house.system_id or 0].append(house.name)
    areas = Area.objects.filter(company=company).exclude(system=None).select_related("house")
    for area in areas.order_by("house__name", "position"):
        found[area.system_id or 0].append(f"{area.house}, {area}")
    return found


def system_rule(row: JointingSystem) -> System:
    """Return a system's row as the rules know it."""
    by_stage = {Stage(line.stage): line.compound.name for line in row.stage_rows.all()}
    return System(row.name, by_stage, Tape(row.tape))


def compound_rule(row: Compound) -> trade.Compound:
    """Return a compound's row as the rules know it."""
    return trade.Compound(
        name=row.name,
        hardening=trade.Hardening(row.hardening),
        stages=frozenset(Stage(code) for code in row.stages),
        tapes=frozenset(trade.Tape(code) for code in row.tapes),
        hard=row.hard,
        deep_fill=row.deep_fill,
        working_minutes=row.working_minutes,
        set_hours=row.set_hours,
        practice_hours=row.practice_hours,
        sand_hours=row.sand_hours,
        density_kg_per_l=row.density_kg_per_l,
        water_fraction=row.water_fraction,
        powder_kg_per_l=row.powder_kg_per_l,
        pack_kg=tuple(row.pack_kg),
        minimum_c=row.minimum_c,
        maximum_c=row.maximum_c,
        conditioning_hours=row.conditioning_hours,
    )
