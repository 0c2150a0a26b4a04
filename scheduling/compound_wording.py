"""Compounds and jointing systems in words, and what is wrong with a system."""

from collections.abc import Iterator

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from finishing.rules import compounds as rules
from finishing.services.compounds import SystemFaultsError
from finishing.services.errors import Fault
from scheduling.wording import hold_name, stage_name

HARDENING = {"sets": _("sets, by mixing with water"), "dries": _("dries in the air")}
TAPES = {"paper": _("paper"), "mesh": _("mesh")}
SUPPLIES = {
    "paper_tape": _("paper tape"),
    "mesh_tape": _("mesh tape"),
    "metal_bead": _("metal beads"),
    "plastic_bead": _("plastic beads"),
    "sandpaper": _("sandpaper"),
}


def system_fault_sentence(fault: rules.Fault) -> str:
    """Say what a jointing system may not do, with the stage and what is put on there."""
    values = {
        "stage": stage_name(fault.values["stage"]),
        "compound": fault.values.get("compound") or gettext("nothing"),
        "why": hold_name(fault.code),
        "under": fault.values.get("under_compound", ""),
    }
    if values["under"]:
        return gettext("%(stage)s with %(compound)s: %(why)s (%(under)s)") % values
    return gettext("%(stage)s with %(compound)s: %(why)s") % values


def system_faults_said(error: SystemFaultsError) -> Iterator[Fault]:
    """Yield what the rules say of systems, each with the system's name."""
    for name, found in error.by_system.items():
        yield from (Fault("", f"{name}: {system_fault_sentence(fault)}") for fault in found)
