"""Sending word of changed visits by e-mail, in the crew's language, each with its calendar file."""

from collections.abc import Iterator
from datetime import datetime
from email.message import MIMEPart
from smtplib import SMTPException, SMTPRecipientsRefused, SMTPResponseException

from django.conf import settings
from django.core.mail import EmailMessage
from django.utils import translation

from finishing.models import Crew
from scheduling.ics import entry_bytes
from scheduling.mail_wording import ToldVisit, mail_subject, mail_text
from scheduling.models import Outgoing, Visit
from scheduling.outgoing.not_sent import NotSent, Overtaken
from scheduling.services.feed_entries import visit_entry

PERMANENT = range(500, 600)
"""Replies by which a post office refuses for good (RFC 5321, 4.2.1)."""


def send_mail(row: Outgoing, now: datetime) -> None:
    """Send one row's message. Visits that have changed once more since are another message's."""
    assert row.crew is not None
    told = list(_told(row, row.crew, now))
    if not told:
        raise Overtaken
    message = _message(row, row.crew, told)
    try:
        message.send()
    except SMTPRecipientsRefused as refusal:
        code = next(iter(refusal.recipients.values()))[0]
        raise NotSent(f"the address was refused ({code})", for_good=code in PERMANENT) from None
    except SMTPResponseException as answer:
        raise NotSent(f"the mail server answered {answer.smtp_code}") from None
    except (SMTPException, OSError) as fault:
        raise NotSent(f"the mail server cannot be reached ({type(fault).__name__})") from None


def _told(row: Outgoing, crew: Crew, now: datetime) -> Iterator[ToldVisit]:
    changes = {change["uid"]: change for change in row.payload["changes"]}
    visits = Visit.objects.filter(company=row.company_id, crew=crew, uid__in=changes)
    for visit in visits.select_related("crew__company", "house"):
        change = changes[str(visit.uid)]
        times = [datetime.fromisoformat(text) for text in change["was"]]
        if visit.sequence == change["sequence"] and max([visit.ends_at, *times[1:]]) > now:
            yield ToldVisit(visit, change["kind"], (times[0], times[1]) if times else None)


def _message(row: Outgoing, crew: Crew, told: list[ToldVisit]) -> EmailMessage:
    """Return the message. Its id is the row's, so that one sent twice, since whoever sent it was
    ended before saying so, is seen to be the same."""
    with translation.override(crew.language):
        message = EmailMessage(
            subject=mail_subject(crew, told),
            body=mail_text(crew, told),
            to=[row.recipient],
            headers={
                "Message-ID": f"<{row.public_id}@{settings.MAIL_ID_HOST}>",
                "Auto-Submitted": "auto-generated",
            },
        )
        for one in told:
            message.attach(_file(one.visit, crew))
    return message


def _file(visit: Visit, crew: Crew) -> MIMEPart:
    """Return a visit's calendar file.

    No METHOD, nor a ``method`` of the type: REQUEST asks for an answer that nobody reads, CANCEL
    and PUBLISH name an ORGANIZER (RFC 5546, 3.2), and programs that act on them by themselves put
    a second visit beside the one of the calendar that the crew follows. Without one the file is
    offered to be opened, and a calendar takes it by its UID: a later one replaces it, and one
    called off says so. In base64 its bytes arrive as they are, ends of lines included.
    """
    part = MIMEPart()
    part.set_content(
        entry_bytes(visit_entry(visit), crew.zone),
        maintype="text",
        subtype="calendar",
        params={"charset": "utf-8"},
        disposition="attachment",
        filename=f"{visit.starts_at:%Y-%m-%d}-{visit.uid.hex[:8]}.ics",
    )
    return part
