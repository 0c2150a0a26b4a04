"""Quotes: made, changed, and turned into houses."""

from collections.abc import Iterator, Mapping
from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from finishing.models import Company, House, Quote, Surface, User
from finishing.rules.levels import levels_of
from finishing.rules.vocabulary import Family, Heating
from finishing.services.copy_house import HouseCopy, copy_house
from finishing.services.errors import Fault, InputFaults
from finishing.services.house_entries import AreaEntry, HouseEntry, RoomEntry, SurfaceEntry
from finishing.services.houses import put_houses
from finishing.services.rows import change_row, claim_row, remove_row
from finishing.services.surface_takeoff import from_averages, rounded

MOST_M2 = 10_000.0
MOST_ROOMS = 200
QUOTE_DEFAULTS: Mapping[str, Any] = {
    "address": "",
    "like": None,
    "rooms": [],
    "level": "",
    "setpoint_c": None,
    "heated_from": None,
    "margin_percent": 0.0,
}
RESTS_ON = ("like", "rooms", "level", "opens_on", "setpoint_c", "heated_from")
"""What was found out of a quote holds for these fields alone."""


@transaction.atomic
def make_quote(*, company: Company, values: Mapping[str, Any]) -> Quote:
    """Store a new quote. Raises InputFaults with all that is wrong (places: the fields)."""
    if faults := list(quote_faults(company, values)):
        raise InputFaults(faults)
    quote = Quote(company=company, **values)
    quote.full_clean()
    quote.save()
    return quote


@transaction.atomic
def change_quote(*, quote: Quote, version: int, values: Mapping[str, Any]) -> None:
    """Change the quote that was looked at in this version; what was found out is forgotten where
    it rested on what is otherwise now. Raises StaleRowsError, and InputFaults with all that is
    wrong: a quote that is won stays as it was won."""
    if quote.won_id is not None:
        raise InputFaults([Fault("", _("It is won, and stays as it is."))])
    now = {name: values.get(name, getattr(quote, name)) for name in ("name", *RESTS_ON)}
    if faults := list(quote_faults(quote.company, now, quote)):
        raise InputFaults(faults)
    forgotten: dict[str, Any] = {}
    if any(now[name] != getattr(quote, name) for name in RESTS_ON):
        forgotten = {"found": {}, "found_at": None}
    change_row(quote, version=version, values={**values, **forgotten})


@transaction.atomic
def remove_quote(*, quote: Quote, version: int) -> None:
    """Delete the quote that was looked at in this version; the house that it became stays. Raises
    StaleRowsError."""
    remove_row(quote, version=version)


def quote_faults(
    company: Company, values: Mapping[str, Any], quote: Quote | None = None
) -> Iterator[Fault]:
    """Yield what no quote may be; a name is that of the house to be. quote: which is changed."""
    name = values.get("name", "")
    others = Quote.objects.filter(company=company, name=name)
    others = others.exclude(pk=quote.pk) if quote else others
    if House.objects.filter(company=company, name=name).exists() or others.exists():
        said = _("There is a house or a quote called %(name)s already.")
        yield Fault("name", said % {"name": name})
    if not values.get("like") and not values.get("rooms"):
        yield Fault("rooms", _("Say which house it is like, or type its rooms."))
    if values.get("like") and values.get("rooms"):
        yield Fault("rooms", _("It is like another house, or has these rooms: leave one out."))
    level = values.get("level", "")
    if values.get("rooms") and level not in levels_of(Family(company.family)):
        known = ", ".join(levels_of(Family(company.family)))
        yield Fault("level", _("The levels are %(known)s.") % {"known": known})
    if values.get("heated_from") and values.get("setpoint_c") is None:
        yield Fault("setpoint_c", _("Say how warm the house is held, or take the day away."))
    yield from _room_faults(values.get("rooms", ()))


def _room_faults(rooms: Any) -> Iterator[Fault]:
    seen: set[str] = set()
    for room in rooms:
        told = {"name": room["name"]}
        if not room["name"] or room["name"] in seen:
            yield Fault("rooms", _("Each room has a name of its own: %(name)s.") % told)
        parts = (room["walls_m2"], room["ceiling_m2"])
        if min(parts) < 0 or not 0 < sum(parts) <= MOST_M2:
            yield Fault("rooms", _("%(name)s has from 0 to 10,000 m2 of board.") % told)
        seen.add(room["name"])


@transaction.atomic
def win_quote(
    *, quote: Quote, version: int, handover_on: date, by: User | None, now: datetime
) -> House:
    """Turn a quote into a house, to be planned from now on. Raises StaleRowsError where somebody
    else changed it or was first, and InputFaults where it cannot be."""
    claim_row(quote, version=version)
    if quote.won is not None:
        raise InputFaults([Fault("", _("It is won: %(name)s.") % {"name": quote.won.name})])
    house = house_of_quote(quote, handover_on=handover_on, by=by, now=now)
    Quote.objects.filter(pk=quote.pk).update(won=house)
    return house


def house_of_quote(quote: Quote, *, handover_on: date, by: User | None, now: datetime) -> House:
    """Store the house that a quote speaks of, in the caller's transaction, and return it. Raises
    InputFaults where it can be none."""
    if faults := list(house_faults(quote)):
        raise InputFaults(faults)
    if quote.like is not None:
        copies = [HouseCopy(quote.name, quote.address)]
        (house,) = copy_house(
            house=quote.like, copies=copies, handover_on=handover_on, by=by, now=now
        )
    else:
        (house,) = put_houses(company=quote.company, houses=[_entry(quote, handover_on)])
    house.opens_on = quote.opens_on
    house.heating = Heating.UNHEATED if quote.setpoint_c is None else Heating.HEATED
    house.setpoint_c, house.heated_from = quote.setpoint_c, quote.heated_from
    house.full_clean()
    house.save()
    return house


def house_faults(quote: Quote) -> Iterator[Fault]:
    """Yield why a quote can be no house as things are."""
    if quote.won_id is not None:
        yield Fault("", _("It is won, and stays as it is."))
    elif House.objects.filter(company=quote.company_id, name=quote.name).exists():
        said = _("There is a house called %(name)s already: give the quote another name.")
        yield Fault("name", said % {"name": quote.name})
    if quote.like is None and not quote.rooms:
        yield Fault("like", _("The house that it is like was removed: name another, or rooms."))


def _entry(quote: Quote, handover_on: date) -> HouseEntry:
    rooms = tuple(_room(quote, room) for room in quote.rooms)
    return HouseEntry(
        name=quote.name,
        zone=quote.company.zone,
        handover_on=handover_on,
        areas=(AreaEntry(_("House"), rooms),),
        address=quote.address,
    )


def _room(quote: Quote, room: Mapping[str, Any]) -> RoomEntry:
    parts = ((Surface.Part.WALLS, room["walls_m2"]), (Surface.Part.CEILING, room["ceiling_m2"]))
    return RoomEntry(room["name"], tuple(_surface(quote, part, m2) for part, m2 in parts if m2))


def _surface(quote: Quote, part: Surface.Part, area_m2: float) -> SurfaceEntry:
    family, rough = Family(quote.company.family), Surface.Takeoff.ROUGH
    found = rounded(rough, from_averages(area_m2, quote.company))
    return SurfaceEntry(
        part=part,
        family=family,
        level=quote.level,
        takeoff=rough,
        metres=found.metres,
        fasteners=found.fasteners,
        area_m2=found.area_m2,
    )
