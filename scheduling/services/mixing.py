"""How a crew mixes the setting powder of a visit, and what else it might take."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby

from finishing.models import Compound
from finishing.queries.compounds import compound_rule
from finishing.rules.mixing import Mixes, longer_working, mixes_for
from finishing.rules.placing import PLACED
from finishing.rules.vocabulary import Hardening, Stage
from scheduling.services.material_uses import Codes


@dataclass(frozen=True)
class MixNote:
    """The batches of one compound for one stage of a visit. last_by: until when a whole batch may
    be mixed, so that it is on before the work ends; when the work begins, where it is planned
    shorter than placing one takes. instead: a compound that can be worked longer,
    where the batches are silly; "" for none. heads: how many put it on."""

    compound: str
    stage: Stage
    mixes: Mixes
    last_by: datetime
    heads: int
    instead: str


def mix_notes(
    tasks: Sequence[Codes],
    compounds: Mapping[str, Compound],
    litres_per_hour: Mapping[Stage, float],
    *,
    heads: int,
) -> Iterator[MixNote]:
    """Yield how a visit's setting compounds are mixed, in order of work.

    tasks: their details with stage and when they start and end. compounds: the company's, by name;
    of one that is gone nothing is known. litres_per_hour: what one person puts on, by stage.
    heads: how many are at the visit.
    """
    setting = [task for task in tasks if task.get("hardening") == Hardening.SETS]
    for (name, code), grouped in groupby(setting, key=lambda t: (t["compound"], t["stage"])):
        group, row = list(grouped), compounds.get(name)
        if row is None or code not in PLACED:
            continue
        stage, compound = Stage(code), compound_rule(row)
        litres = sum(task["material"].get("litres", 0.0) for task in group)
        rate = litres_per_hour[stage]
        mixes = mixes_for(litres, compound, heads=heads, litres_per_hour=rate)
        if mixes is None:
            continue
        others = (compound_rule(other) for other in compounds.values())
        other = longer_working(litres, compound, others, heads=heads, litres_per_hour=rate)
        last_by = _last_by(group, timedelta(minutes=mixes.placing_minutes))
        yield MixNote(name, stage, mixes, last_by, heads, other.name if other else "")


def _last_by(group: Sequence[Codes], placing: timedelta) -> datetime:
    """Return the last moment to mix for tasks; never before they begin: some has to be mixed."""
    begins = min(datetime.fromisoformat(task["starts_at"]) for task in group)
    ends = max(datetime.fromisoformat(task["ends_at"]) for task in group)
    return max(begins, ends - placing)
