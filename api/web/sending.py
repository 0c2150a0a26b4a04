"""Where a company's news goes: webhooks, and calendars on other servers."""

from dataclasses import dataclass
from uuid import UUID
from zoneinfo import ZoneInfo

from api.web.sent import SentLine, sent_lines
from finishing.models import Company
from scheduling.models import CalendarPush, Outgoing, Webhook
from scheduling.outgoing_wording import endpoint_name, endpoint_sentence
from scheduling.services.addresses import host_of

type Endpoint = Webhook | CalendarPush


@dataclass(frozen=True)
class EndpointLine:
    """A webhook or a calendar; what: what it is told of. host: what of its address is no secret."""

    row: Endpoint
    host: str
    what: str
    state: str
    is_late: bool


@dataclass(frozen=True)
class SendingPage:
    """All that is sent to."""

    webhooks: list[EndpointLine]
    calendars: list[EndpointLine]


@dataclass(frozen=True)
class EndpointPage:
    """One of them, with what was sent to it. entries: of ours in a calendar there."""

    line: EndpointLine
    sent: list[SentLine]
    is_webhook: bool
    entries: int


def sending_page(company: Company) -> SendingPage:
    """Return both lists."""
    zone = ZoneInfo(company.zone)
    pushes = CalendarPush.objects.filter(company=company)
    return SendingPage(
        webhooks=[_line(row, zone) for row in Webhook.objects.filter(company=company)],
        calendars=[_line(row, zone) for row in pushes.select_related(*_OF_A_PUSH)],
    )


def endpoint_of(company: Company, public_id: UUID) -> Endpoint | None:
    """Return a company's webhook or calendar by its id; None where it has none."""
    hook = Webhook.objects.filter(company=company, public_id=public_id).first()
    pushes = CalendarPush.objects.filter(company=company, public_id=public_id)
    return hook or pushes.select_related(*_OF_A_PUSH).first()


def endpoint_page(company: Company, row: Endpoint) -> EndpointPage:
    """Return the page of one, with its newest deliveries."""
    is_webhook = isinstance(row, Webhook)
    rows = Outgoing.objects.filter(**{"webhook" if is_webhook else "calendar": row})
    return EndpointPage(
        line=_line(row, ZoneInfo(company.zone)),
        sent=sent_lines(company, rows),
        is_webhook=is_webhook,
        entries=row.entries.count() if isinstance(row, CalendarPush) else 0,
    )


def switched_off(company: Company) -> list[str]:
    """Say of each that was switched off by itself that it was: for the office to see."""
    page = sending_page(company)
    by_itself = (line for line in (*page.webhooks, *page.calendars) if line.is_late)
    return [f"{line.host}: {line.state}" for line in by_itself]


def _line(row: Endpoint, zone: ZoneInfo) -> EndpointLine:
    return EndpointLine(
        row=row,
        host=host_of(row.address),
        what=endpoint_name(row),
        state=endpoint_sentence(row, zone),
        is_late=row.off_why in {row.Off.FAILING, row.Off.GONE},
    )


_OF_A_PUSH = ("link__crew", "link__house", "link__company")
