"""Taking in a file of hourly air: a station's, or what a logger measured in one house."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime

from django.db import transaction

from finishing.models import AirSource, Company, House
from finishing.services.air import Reading, link_air, put_air_source, store_air
from finishing.services.air_sheet import AirFormat, read_air
from finishing.services.errors import Fault, InputFaults
from finishing.services.sheets import Content


@transaction.atomic
def import_air(
    *,
    company: Company,
    name: str,
    content: Content,
    file_format: AirFormat,
    house: House | None = None,
) -> dict[str, Mapping[datetime, Reading]]:
    """Store the hours of a file and return them by source.

    house: the one whose air this is; unless ``file_format`` says otherwise, a logger's then.
    Raises InputFaults with all that is wrong, and for a house and several stations.
    """
    kind = file_format.kind or (AirSource.Kind.LOGGER if house else None)
    found = read_air(name=name, content=content, file_format=replace(file_format, kind=kind))
    if house and len(found) > 1:
        said = f"has {len(found)} stations: a house takes one"
        raise InputFaults([Fault(name, said)])
    if house and file_format.kind is None:
        _check_no_station(company, found)
    for source_name, readings in found.items():
        source = put_air_source(company=company, name=source_name, kind=kind)
        store_air(source=source, readings=readings)
        if house:
            link_air(house=house, source=source)
    return dict(found)


def _check_no_station(company: Company, names: Iterable[str]) -> None:
    """A logger's file must not turn a station of the same name into a logger."""
    stations = AirSource.objects.filter(
        company=company, name__in=list(names), kind=AirSource.Kind.STATION, days__isnull=False
    )
    if station := stations.first():
        said = "is a station already: give the logger's air another name"
        raise InputFaults([Fault(f"source {station.name!r}", said)])
