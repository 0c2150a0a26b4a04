"""What a crew loads and mixes for its visits, in its words and measures."""

from datetime import datetime
from zoneinfo import ZoneInfo

from finishing.models import Crew
from finishing.queries.materials import litres_per_hour, read_catalogue
from scheduling.material_wording import load_lines, mix_lines
from scheduling.measures import Measures
from scheduling.models import Visit
from scheduling.services.material_visits import loads_of_crew
from scheduling.services.mixing import MixNote, mix_notes


class CrewMaterial:
    """Answers for a crew's published visits, read once."""

    def __init__(self, crew: Crew, now: datetime) -> None:
        self.zone, self.measures = ZoneInfo(crew.zone), Measures(crew.reads_imperial)
        self.catalogue = read_catalogue(crew.company)
        self.rates = litres_per_hour(crew.company)
        self.loads = loads_of_crew(crew, self.catalogue, now=now)
        self.heads = {one.key: one.heads for one in self.loads.visits}

    def load_of(self, visit: Visit) -> list[str]:
        """Say what to load for a visit."""
        loads = self.loads.by_visit.get(str(visit.public_id), ())
        return load_lines(loads, self._mixes(visit), self.measures)

    def mixing_of(self, visit: Visit) -> list[str]:
        """Say what to mix at a visit."""
        return mix_lines(self._mixes(visit), self.zone, self.measures)

    def _mixes(self, visit: Visit) -> list[MixNote]:
        heads = self.heads.get(str(visit.public_id))
        if heads is None:  # called off, or long over
            return []
        tasks, compounds = visit.content["tasks"], self.catalogue.compounds
        return list(mix_notes(tasks, compounds, self.rates, heads=heads))
