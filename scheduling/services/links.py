"""Secret addresses of calendar feeds and crews' pages: made, changed, renewed, revoked."""

from collections.abc import Mapping
from datetime import datetime
from functools import partial
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import QuerySet
from django.utils.text import slugify
from django.utils.translation import gettext as _

from finishing.models import Company, Crew, Deed, House, User
from finishing.services.deeds import note_deed
from finishing.services.errors import Fault, InputFaults
from finishing.services.rows import StaleRowsError, claim_row
from scheduling.models import CrewPage, FeedLink
from scheduling.models.link import OUTDATED, retold
from scheduling.queries.links import secret_digest
from scheduling.services.feed_files import forget_file
from scheduling.services.link_secrets import Secretive, has_newest_key, new_secret, secret_of

Kind = FeedLink.Kind
OPTIONS = ("for_whom", "weeks", "language", "has_alarms", "shows_drying", "names_crews")


def blank_link(
    *, company: Company, crew: Crew | None = None, house: House | None = None, person: str = ""
) -> FeedLink:
    """Return a feed of a crew, a house, a person or, where none is named, the whole company. It is
    not stored, and has what is usual for its kind."""
    kind = Kind.CREW if crew else Kind.HOUSE if house else Kind.PERSON if person else Kind.COMPANY
    return FeedLink(
        company=company,
        kind=kind,
        crew=crew,
        house=house,
        person=person,
        language="" if crew else Crew.Language.ENGLISH,
        shows_drying=kind == Kind.HOUSE,
    )


def make_link(*, crew: Crew) -> FeedLink:
    """Return a crew's own feed, made if it has none."""
    link = blank_link(company=crew.company, crew=crew)
    return stored_like(link) or add_link(link=link)


def make_page(*, crew: Crew) -> CrewPage:
    """Return a crew's page, made if it has none."""
    page = CrewPage.objects.filter(crew=crew).first()
    if page is None:
        page = CrewPage(company=crew.company, crew=crew)
        page.secret_sha256 = secret_digest(new_secret(page))
        page.full_clean()
        page.save()
    return page


def make_links(*, company: Company) -> None:
    """Give every crew of a company its feed and its page, where it has none."""
    crews = Crew.objects.filter(company=company).select_related("company")
    for crew in crews.exclude(links__for_whom=""):
        make_link(crew=crew)
    for crew in crews.filter(page=None):
        make_page(crew=crew)


@transaction.atomic
def add_link(*, link: FeedLink) -> FeedLink:
    """Store a new feed; raise InputFaults where it is not in order, by field."""
    link.secret_sha256 = secret_digest(new_secret(link))
    _check(link)
    link.save()
    return link


@transaction.atomic
def edit_link(*, link: FeedLink, version: int, values: Mapping[str, Any], now: datetime) -> None:
    """Set some of ``OPTIONS``; the feed is rendered anew when it is next fetched.

    Raises InputFaults by field, and StaleRowsError where the feed has another version.
    """
    for name, value in values.items():
        setattr(link, name, value)
    _check(link)
    claim_row(link, version=version)
    FeedLink.objects.filter(pk=link.pk).update(**values, **retold(now))


@transaction.atomic
def renew_link[R: Secretive](*, link: R) -> R:
    """Give a feed or a page another secret; the address it had says that it has ended."""
    link.former_secrets.update(still_opens=False)
    link.revoked_at = None
    _give_secret(link, generation=link.generation + 1, old_opens=False)
    return link


@transaction.atomic
def revoke_link[R: Secretive](*, link: R, now: datetime) -> R:
    """End a feed or a page: its address says that it is gone. ``renew_link`` gives another."""
    link.former_secrets.update(still_opens=False)
    link.revoked_at = link.revoked_at or now
    link.version += 1
    link.save(update_fields=["revoked_at", "version"])
    _forget_files(link)
    return link


@transaction.atomic
def renew_seen_link(
    *, link: Secretive, generation: int, now: datetime, by: User | None = None
) -> Secretive:
    """Renew what was looked at in this generation; raise StaleRowsError where somebody has renewed
    it meanwhile: a second press must not end the address that was just sent."""
    renewed = renew_link(link=_as_seen(link, generation))
    note_deed(company=link.company, by=by, code=Deed.Code.LINK_RENEWED, now=now, about=link)
    return renewed


@transaction.atomic
def revoke_seen_link(
    *, link: Secretive, generation: int, now: datetime, by: User | None = None
) -> Secretive:
    """Revoke what was looked at in this generation; see :func:`renew_seen_link`."""
    revoked = revoke_link(link=_as_seen(link, generation), now=now)
    note_deed(company=link.company, by=by, code=Deed.Code.LINK_REVOKED, now=now, about=link)
    return revoked


@transaction.atomic
def rekey_link(*, link: Secretive) -> bool:
    """Give what was made with a former key an address made with the link key, and return whether
    it was. The address it had works on until it is renewed or revoked."""
    if has_newest_key(link):
        return False
    _give_secret(link, generation=link.generation, old_opens=link.revoked_at is None)
    return True


def feed_address(link: FeedLink) -> str:
    """Return the address to subscribe to, "" where it cannot be shown. Its last part is only for
    people and for the names that clients give it."""
    slug = slugify(link.subject) or link.kind
    secret = secret_of(link)
    return f"{settings.SITE_URL}/feeds/{secret}/{slug}.ics" if secret else ""


def webcal_address(link: FeedLink) -> str:
    """Return the address in the form that opens a calendar program."""
    address = feed_address(link)
    return "webcal://" + address.partition("://")[2] if address else ""


def page_address(page: CrewPage) -> str:
    """Return the address of a crew's page for a phone, "" where it cannot be shown."""
    secret = secret_of(page)
    return f"{settings.SITE_URL}/crew/{secret}/" if secret else ""


def _check(link: FeedLink) -> None:
    if _like(link).exclude(pk=link.pk).exists():
        said = _("There is such a calendar already: write for whom this one is.")
        raise InputFaults([Fault("for_whom", said)])
    try:
        link.full_clean(exclude=["body", "body_gzip"], validate_constraints=False)
    except ValidationError as error:
        faults = [Fault(name, text) for name, said in error.message_dict.items() for text in said]
        raise InputFaults(faults) from None


def stored_like(link: FeedLink) -> FeedLink | None:
    """Return the stored feed of the same and for the same person."""
    return _like(link).first()


def _like(link: FeedLink) -> QuerySet[FeedLink]:
    rows = FeedLink.objects.select_related("company", "crew__company", "house__company")
    return rows.filter(
        company=link.company,
        kind=link.kind,
        crew=link.crew,
        house=link.house,
        person=link.person,
        for_whom=link.for_whom,
    )


def _give_secret(link: Secretive, *, generation: int, old_opens: bool) -> None:
    link.former_secrets.create(
        company=link.company, secret_sha256=link.secret_sha256, still_opens=old_opens
    )
    if not old_opens:
        _forget_files(link)
    link.generation = generation
    link.secret_sha256 = secret_digest(new_secret(link))
    link.version += 1
    link.save(update_fields=["generation", "revoked_at", "secret_sha256", "version"])
    if isinstance(link, FeedLink):
        FeedLink.objects.filter(pk=link.pk).update(**OUTDATED)


def _forget_files(link: Secretive) -> None:
    """Take away what would answer for the database, once it says that the addresses have ended."""
    if isinstance(link, FeedLink):
        former = link.former_secrets.values_list("secret_sha256", flat=True)
        for digest in {link.secret_sha256, *former}:
            transaction.on_commit(partial(forget_file, digest))


def _as_seen(link: Secretive, generation: int) -> Secretive:
    """Return the row locked. Its version will not do: it counts each change of its options."""
    row = type(link)._default_manager.select_for_update().get(pk=link.pk)
    if row.generation != generation:
        raise StaleRowsError([row])
    return row
