"""The calendars that programs are asked about: one of each kind, and each zone."""

from collections.abc import Callable, Mapping

from finishing.models import Crew
from scheduling.models import FeedLink
from scheduling.services.links import blank_link
from tests.clients.scenario import Scenario


def _in_spanish(link: FeedLink) -> FeedLink:
    link.language = Crew.Language.SPANISH
    link.shows_drying = True
    return link


FEEDS: Mapping[str, Callable[[Scenario], FeedLink]] = {
    "crew in Berlin": lambda s: blank_link(company=s.company, crew=s.crews[0]),
    "crew in New York": lambda s: blank_link(company=s.company, crew=s.crews[1]),
    "crew in Santiago": lambda s: blank_link(company=s.company, crew=s.crews[2]),
    "house renamed": lambda s: blank_link(company=s.company, house=s.places[0].house),
    "house whose handover goes": lambda s: blank_link(company=s.company, house=s.places[1].house),
    "person": lambda s: blank_link(company=s.company, person=s.person),
    "company": lambda s: _in_spanish(blank_link(company=s.company)),
}
