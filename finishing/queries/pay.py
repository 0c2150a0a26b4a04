"""What crews and people are paid on a day."""

from datetime import date

from finishing.models import Company, Crew, PayTerm
from finishing.rules.pay import Terms


class PayTerms:
    """All agreements of a company, read once."""

    def __init__(self, company: Company) -> None:
        self._rows = list(PayTerm.objects.filter(company=company).order_by("since", "pk"))

    def on(self, day: date, crew: Crew) -> Terms:
        """Return what holds for a crew and its people on a day: of the same, the latest."""
        held = [row for row in self._rows if row.since <= day]
        of_crew = {row.stage: row.amount for row in held if row.crew_id == crew.pk}
        hour = of_crew.pop("", None)
        people = {row.person: row.amount for row in held if row.crew_id is None}
        return Terms(hour, people, of_crew)
