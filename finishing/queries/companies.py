"""Which company is meant, and how far it has come."""

from dataclasses import dataclass

from django.db.models import Exists, OuterRef

from finishing.models import AirDay, Company, Crew, House, Surface


class UnknownCompany(LookupError):  # noqa: N818
    """No company, or no single one, is meant; the message lists those there are."""


def own_companies() -> list[Company]:
    """Return all companies but the demo, by name."""
    return list(Company.objects.filter(is_demo=False).order_by("name"))


def chosen_company(name: str | None) -> Company:
    """Return the company of this name; without a name the only one that is not the demo.

    Where there is only the demo company, that one. Raise :class:`UnknownCompany` for a name that
    no company has, for several companies and no name, and where there is no company at all.
    """
    if name:
        return _named(name)
    own = list(Company.objects.filter(is_demo=False).order_by("name")[:2])
    if len(own) == 1:
        return own[0]
    demo = Company.objects.filter(is_demo=True).first()
    if own or demo is None:
        raise UnknownCompany(f"which company? {_listed()}")
    return demo


def _named(name: str) -> Company:
    try:
        return Company.objects.get(name=name)
    except Company.DoesNotExist:
        raise UnknownCompany(f"no company {name!r}; {_listed()}") from None


def _listed() -> str:
    names = list(Company.objects.order_by("name").values_list("name", flat=True))
    if not names:
        return "there is none yet: manage.py import_houses makes one"
    return f"known: {', '.join(map(repr, names))}; use --company NAME"


@dataclass(frozen=True)
class Begun:
    """Whether a company has a crew with people and hours, anything to finish, and any air."""

    crews: bool
    surfaces: bool
    air: bool


def begun_of(company: Company) -> Begun:
    """Return how far a company has come, in one query."""
    of_it = {"company": OuterRef("pk")}
    crews = Crew.objects.filter(**of_it, is_active=True)
    found = Company.objects.filter(pk=company.pk).values(
        crews=Exists(crews.filter(members__isnull=False, hours__isnull=False)),
        surfaces=Exists(Surface.objects.filter(**of_it)),
        air=Exists(AirDay.objects.filter(**of_it)),
    )
    return Begun(**found.get())


def can_plan(company: Company) -> bool:
    """Return whether there is anything to plan, and anybody to do it."""
    of_it = {"company": OuterRef("pk")}
    both = Exists(House.objects.filter(**of_it)) & Exists(Crew.objects.filter(**of_it))
    return Company.objects.filter(both, pk=company.pk).exists()
