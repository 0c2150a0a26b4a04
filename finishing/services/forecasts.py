"""Fetching the forecast for each place with a house, and keeping the last one when that fails."""

import ipaddress
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import Enum, auto
from urllib.parse import quote, quote_plus

import httpx
from django.conf import settings
from django.db import transaction

from finishing.models import AirSource, Company, House
from finishing.queries.air_sources import Place, forecast_place
from finishing.services.air import store_air
from finishing.services.ensembles import put_ensemble
from finishing.services.errors import Fault, InputFaults
from finishing.services.forecast_issues import keep_issue
from finishing.services.forecast_json import read_forecast, reason_given
from finishing.services.forecast_members import HUMIDITY, TEMPERATURE, EnsembleRead
from finishing.services.rows import put_row
from finishing.services.web_answers import ATTEMPTS, Asker, NoAnswer, careful_client

FORECAST_DAYS = 7
FAULTS_KEPT = 3
LONGEST = 300
"""Characters of one fault that are kept."""
_SECRET_NAME = re.compile(r"(?i)key|token|secret|pass|auth|sign")
"""What a parameter of the feed's own address is called when its value is nobody's business."""


class State(Enum):
    """What became of a forecast."""

    FETCHED = auto()
    RECENT = auto()
    """Young enough not to be asked for again."""
    FAILED = auto()
    """The one before is kept."""


@dataclass(frozen=True)
class Refreshed:
    """The forecast of a place, the houses there, and what became of it."""

    source: AirSource
    houses: tuple[str, ...]
    state: State


@dataclass(frozen=True)
class Feed:
    """Where forecasts come from. The key, and whatever else the address says in confidence, are
    secrets of the operator."""

    address: httpx.URL
    key: str

    def url(self, place: Place) -> httpx.URL:
        """Return the address of a place's forecast; what the feed's own address asks stays."""
        own = self.address.params
        asked = {
            **({} if "forecast_days" in own else {"forecast_days": str(FORECAST_DAYS)}),
            "latitude": str(place.latitude),
            "longitude": str(place.longitude),
            "hourly": f"{TEMPERATURE},{HUMIDITY}",
            "timezone": "GMT",
            "timeformat": "iso8601",
            **({"apikey": self.key} if self.key else {}),
        }
        return self.address.copy_with(params=own.merge(asked))

    def told(self, text: str) -> str:
        """Return what may be said of a text that the server had a hand in: without secrets, also
        as an address spells them, nor where it is asked, and then cut short."""
        for secret in sorted(self._secrets(), key=len, reverse=True):
            text = re.sub(re.escape(secret), "[key]", text, flags=re.IGNORECASE)
        text = text.replace(self.address.host, "[address]")
        return text if len(text) <= LONGEST else text[:LONGEST] + " ..."

    def _secrets(self) -> set[str]:
        named = self.address.params.multi_items()
        own = [value for name, value in named if _SECRET_NAME.search(name)]
        plain = [text for text in (self.key, self.address.password, *own) if text]
        return {way(text) for text in plain for way in (str, quote, quote_plus, _all_quoted)}


def feed_from_settings() -> Feed | None:
    """Return the feed that the settings name, None for none; raise InputFaults for a bad one."""
    if not settings.FORECAST_URL:
        return None
    try:
        address = httpx.URL(settings.FORECAST_URL)
        address.host.encode("idna")  # a name that the resolver would stumble over
    except (httpx.InvalidURL, UnicodeError):
        raise InputFaults([Fault("COATWEAVE_FORECAST_URL", "is not an address")]) from None
    if not address.host or address.scheme not in {"http", "https"}:
        raise InputFaults([Fault("COATWEAVE_FORECAST_URL", "must begin with https://")])
    if address.scheme == "http" and not _is_this_machine(address.host):
        raise InputFaults([Fault("COATWEAVE_FORECAST_URL", "must be https, not http")])
    return Feed(address, settings.FORECAST_KEY)


def refresh_forecasts(
    *, company: Company, feed: Feed, asker: Asker, now: datetime
) -> Iterator[Refreshed]:
    """Fetch the forecast of each place with a house to plan, unless it is recent; yield each.

    Once one place has failed, the others are asked only once, so that a dead server does not
    hold up everybody.
    """
    attempts = ATTEMPTS
    for place, houses in _places(company).items():
        source = _source(company, place)
        if _is_recent(source, now):
            yield Refreshed(source, tuple(houses), State.RECENT)
            continue
        state = _refresh(
            source, url=feed.url(place), feed=feed, asker=asker, attempts=attempts, now=now
        )
        attempts = 1 if state is State.FAILED else attempts
        yield Refreshed(source, tuple(houses), state)


def refresh_company_air(
    *, company: Company, now: datetime, transport: httpx.BaseTransport | None = None
) -> list[Refreshed]:
    """Fetch what is due of a company's forecasts from the feed that the settings name; nothing
    where they name none. A transport takes the place of the network in tests."""
    feed = feed_from_settings()
    if feed is None:
        return []
    with careful_client(transport) as client:
        asked = refresh_forecasts(company=company, feed=feed, asker=Asker(client), now=now)
        return list(asked)


def houses_without_place(company: Company) -> Sequence[str]:
    """Return the houses to plan that have no position to forecast for."""
    houses = House.objects.filter(company=company, is_active=True).order_by("name")
    return [house.name for house in houses if forecast_place(house) is None]


def _places(company: Company) -> dict[Place, list[str]]:
    places: dict[Place, list[str]] = {}
    for house in House.objects.filter(company=company, is_active=True).order_by("name"):
        if place := forecast_place(house):
            places.setdefault(place, []).append(house.name)
    return places


def _source(company: Company, place: Place) -> AirSource:
    return put_row(
        AirSource,
        match={"company": company, "latitude": place.latitude, "longitude": place.longitude},
        values={
            "kind": AirSource.Kind.FORECAST,
            "name": f"Forecast {place.latitude:g}, {place.longitude:g}",
        },
    )


def _is_recent(source: AirSource, now: datetime) -> bool:
    """A forecast from the future was fetched while the clock was wrong, so it is not recent."""
    age = timedelta(minutes=settings.FORECAST_MINUTES)
    return source.fetched_at is not None and timedelta() <= now - source.fetched_at < age


def _refresh(
    source: AirSource,
    *,
    url: httpx.URL,
    feed: Feed,
    asker: Asker,
    attempts: int,
    now: datetime,
) -> State:
    try:
        answer = asker.get(url, attempts=attempts)
        if answer.status != httpx.codes.OK:
            said = reason_given(answer.content) or "no reason given"
            raise NoAnswer(f"the server answered {answer.status}: {said}")
        forecast = read_forecast(name=source.name, content=answer.content, now=now)
    except NoAnswer as error:
        _note_failure(source, feed.told(str(error)), now)
        return State.FAILED
    except InputFaults as error:
        _note_failure(source, _shortened(error.faults, feed), now)
        return State.FAILED
    with transaction.atomic():
        store_air(source=source, readings=forecast.air)
        put_ensemble(source=source, forecast=forecast, now=now)
        keep_issue(source=source, readings=forecast.air, now=now)
        source.fetched_at, source.failed_at, source.failure = now, None, ""
        source.member_faults = _member_faults(forecast.ensemble, feed)
        _save(source)
    return State.FETCHED


def _note_failure(source: AirSource, failure: str, now: datetime) -> None:
    source.failed_at, source.failure = now, failure
    _save(source)


def _save(source: AirSource) -> None:
    source.version += 1
    source.full_clean()
    source.save()


def _member_faults(ensemble: EnsembleRead, feed: Feed) -> str:
    """Say which members are left out, or why there is no new ensemble; "" where all is well."""
    if not ensemble.faults:
        return ""
    left_out = f"{len(ensemble.faults)} of {ensemble.given} members are left out"
    said = left_out if ensemble.members else "its ensemble cannot be used, any before it is kept"
    return f"{said}: {_shortened(ensemble.faults, feed)}"


def _shortened(faults: Sequence[Fault], feed: Feed) -> str:
    more = len(faults) - FAULTS_KEPT
    said = "; ".join(feed.told(str(fault)) for fault in faults[:FAULTS_KEPT])
    return f"{said}; {more} more" if more > 0 else said


def _all_quoted(text: str) -> str:
    return quote(text, safe="")


def _is_this_machine(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False
