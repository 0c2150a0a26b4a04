"""Editing a company's compounds and jointing systems, within what the trade's rules allow."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from finishing.models import Company, Compound, JointingSystem, SystemStage
from finishing.models.compound import LIMITS
from finishing.queries.compounds import (
    compound_rule,
    compounds_of,
    system_rule,
    systems_of,
    uses_of_compounds,
    uses_of_systems,
)
from finishing.rules import compounds as rules
from finishing.rules.vocabulary import Stage, Tape
from finishing.services.errors import Fault, InputFaults, faults_of_row
from finishing.services.rows import change_row, claim_row, delete_others, put_row, remove_row

COMPOUND_FIELDS = (
    "name",
    "hardening",
    "stages",
    "tapes",
    "hard",
    "deep_fill",
    *LIMITS,
    "pack_kg",
    "pack_prices",
    "awaited",
)
SYSTEM_FIELDS = ("name", "tape", "is_default")


class SystemFaultsError(Exception):
    """Systems that no plan could use any more; by the name of each what the rules say."""

    def __init__(self, by_system: Mapping[str, Sequence[rules.Fault]]) -> None:
        self.by_system = by_system
        super().__init__(", ".join(by_system))


class InUseError(Exception):
    """A row that cannot be removed; ``where``: the names of what uses it."""

    def __init__(self, where: Sequence[str]) -> None:
        self.where = tuple(where)
        super().__init__(", ".join(where))


@transaction.atomic
def save_compound(
    *, company: Company, compound: Compound | None, version: int, values: Mapping[str, Any]
) -> Compound:
    """Make a compound, or change the one that was looked at in this version.

    values: :data:`COMPOUND_FIELDS`. Raises InputFaults, StaleRowsError, and SystemFaultsError for
    systems that the rules allowed before and would not now.
    """
    before = _faults_by_system(company)
    row = compound or Compound(company=company, **values)
    try:
        if compound:
            change_row(compound, version=version, values=values)
        else:
            row.full_clean()
            row.save()
    except ValidationError as error:
        raise InputFaults(faults_of_row(error)) from None
    after = _faults_by_system(company)
    if broken := {name: found for name, found in after.items() if found and not before[name]}:
        raise SystemFaultsError(broken)
    return row


def compound_faults(
    company: Company, compound: Compound | None, values: Mapping[str, Any]
) -> Iterator[Fault]:
    """Yield what does not fit together in the values of a compound; None: of a new one."""
    yield from _name_faults(Compound, company, compound, values)
    try:
        Compound(company=company, **values).clean()
    except ValidationError as error:
        yield from faults_of_row(error)


@transaction.atomic
def remove_compound(*, compound: Compound, version: int) -> None:
    """Delete a compound; raise InUseError where a system or a coat done names it."""
    if where := uses_of_compounds(compound.company).get(compound.pk):
        raise InUseError(where)
    remove_row(compound, version=version)


@transaction.atomic
def save_system(
    *,
    company: Company,
    system: JointingSystem | None,
    version: int,
    values: Mapping[str, Any],
    by_stage: Mapping[Stage, Compound],
) -> JointingSystem:
    """Make a jointing system, or change the one that was looked at in this version.

    values: :data:`SYSTEM_FIELDS`; by_stage: which compound does which stage. The default one
    stays so until another is made it. Raises InputFaults, StaleRowsError and SystemFaultsError.
    """
    row = system or JointingSystem(company=company)
    if faults := list(system_faults(company, system, values)):
        raise InputFaults(faults)
    if system:
        claim_row(system, version=version)
        row.version = version + 1
    for name, value in values.items():
        setattr(row, name, value)
    try:
        row.full_clean()
    except ValidationError as error:
        raise InputFaults(faults_of_row(error)) from None
    row.save()
    _put_stages(row, by_stage)
    if row.is_default:
        others = JointingSystem.objects.filter(company=company, is_default=True)
        others.exclude(pk=row.pk).update(is_default=False, version=F("version") + 1)
    if found := _faults_by_system(company)[row.name]:
        raise SystemFaultsError({row.name: found})
    return row


def system_faults(
    company: Company, system: JointingSystem | None, values: Mapping[str, Any]
) -> Iterator[Fault]:
    """Yield what is wrong with a system's name, and with not being the default any more."""
    yield from _name_faults(JointingSystem, company, system, values)
    if system and system.is_default and not values.get("is_default", True):
        yield Fault("is_default", _("Make another system the default instead."))


def faults_of_rules(
    company: Company, tape: Tape, by_stage: Mapping[Stage, Compound]
) -> list[rules.Fault]:
    """Return what the rules say of a system of these compounds, for the stages that the company
    does."""
    compounds = [compound_rule(row) for row in by_stage.values()]
    system = rules.System("", {stage: row.name for stage, row in by_stage.items()}, tape)
    return rules.system_faults(system, compounds, stages=_stages_of(company))


@transaction.atomic
def remove_system(*, system: JointingSystem, version: int) -> None:
    """Delete a jointing system; raise InUseError for the default and those that houses name."""
    where = uses_of_systems(system.company).get(system.pk, [])
    if system.is_default:
        where = [_("houses that name no other"), *where]
    if where:
        raise InUseError(where)
    remove_row(system, version=version)


def _put_stages(system: JointingSystem, by_stage: Mapping[Stage, Compound]) -> None:
    kept = [
        put_row(
            SystemStage,
            match={"company": system.company, "system": system, "stage": stage},
            values={"compound": compound},
        )
        for stage, compound in by_stage.items()
    ]
    delete_others(system.stage_rows.all(), kept)


def _faults_by_system(company: Company) -> dict[str, list[rules.Fault]]:
    """Return by name what the rules say of each system, for the stages that the company does."""
    compounds = [compound_rule(row) for row in compounds_of(company)]
    stages = _stages_of(company)
    return {
        row.name: rules.system_faults(system_rule(row), compounds, stages=stages)
        for row in systems_of(company)
    }


def _stages_of(company: Company) -> frozenset[Stage]:
    return frozenset(Stage(code) for code in company.stages)


def _name_faults(
    model: type[Compound | JointingSystem],
    company: Company,
    row: Compound | JointingSystem | None,
    values: Mapping[str, Any],
) -> Iterator[Fault]:
    others = model._default_manager.filter(company=company, name=values.get("name", ""))
    if row:
        others = others.exclude(pk=row.pk)
    if others.exists():
        yield Fault("name", _("There is another of this name: choose one that differs."))
