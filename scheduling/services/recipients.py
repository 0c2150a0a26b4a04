"""To whom word of a crew's visits goes."""

from collections.abc import Iterable
from datetime import date

from finishing.models import Crew, CrewMember


def addresses_of(crew: Crew, days: Iterable[date]) -> list[str]:
    """Return the e-mail addresses of a crew and of who works with it on any of these days (on its
    clock), each once: people lent to another crew or away that day are left out, those that it
    borrows are not."""
    wanted = set(days)
    there = (m.email for m in _people(crew) if any(_is_there(m, crew, day) for day in wanted))
    found = [crew.email, *there]
    by_letters = {address.casefold(): address for address in reversed(found) if address}
    return sorted(by_letters.values())


def _people(crew: Crew) -> list[CrewMember]:
    ours = CrewMember.objects.filter(crew=crew)
    lent = CrewMember.objects.filter(loans__crew=crew)
    people = (ours | lent).exclude(email="").distinct().order_by("pk")
    return list(people.prefetch_related("loans", "days_off"))


def _is_there(member: CrewMember, crew: Crew, day: date) -> bool:
    if any(off.day == day for off in member.days_off.all()):
        return False
    if not (member.from_day or day) <= day <= (member.to_day or day):
        return False
    lent_to = [loan.crew_id for loan in member.loans.all() if loan.day == day]
    return (lent_to or [member.crew_id]) == [crew.pk]
