"""Word of changed visits by e-mail: what it says, to whom, with which file."""

import smtplib
from datetime import UTC, datetime, timedelta
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import SMTP

import pytest
from django.core import mail
from icalendar import Calendar

from finishing.models import Company, Crew, House
from scheduling.models import Outgoing, Visit
from scheduling.outgoing.send import send_due
from tests.factories import make_company, make_crew, make_house, task
from tests.scheduling.feed_reading import crew_feed
from tests.scheduling.test_publish import publish

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 3, 1, 18, tzinfo=UTC)
MONDAY, TUESDAY = "2026-03-02 08:00", "2026-03-03 08:00"
MINUTE = timedelta(minutes=1)


@pytest.fixture
def company() -> Company:
    return make_company()


@pytest.fixture
def crew(company: Company) -> Crew:
    return make_crew(company, email="north@crews.example")


@pytest.fixture
def house(company: Company) -> House:
    return make_house(company, rooms=("Hall", "Kitchen"), address="1 Mill Lane, Invented Town")


def send(moment: datetime = NOW) -> EmailMessage:
    """Send what is due and return the last message."""
    send_due(clock=lambda: moment)
    message = mail.outbox[-1].message()
    assert isinstance(message, EmailMessage)
    return message


def text_of(message: EmailMessage) -> str:
    body = message.get_body(("plain",))
    assert body is not None
    return str(body.get_content())


def files_of(message: EmailMessage) -> list[bytes]:
    """Return what is attached, after the message has gone over the wire."""
    received = message_from_bytes(message.as_bytes(policy=SMTP), policy=SMTP)
    assert isinstance(received, EmailMessage)
    parts = (part.get_payload(decode=True) for part in received.iter_attachments())
    return [part for part in parts if isinstance(part, bytes)]


def test_new_work_is_told_on_the_crews_clock(company: Company, house: House) -> None:
    denver = make_crew(company, "North crew", zone="America/Denver", email="north@crews.example")
    publish(company, task(denver, house, "2026-03-02 08:00"))
    message = send()
    assert message["To"] == "north@crews.example"
    assert message["Subject"] == "North crew: New visit: Mill Cottage, Mon 2 Mar 08:00"
    text = text_of(message)
    assert "Mon 2 Mar 08:00\N{EN DASH}10:00" in text
    assert "1 Mill Lane, Invented Town" in text
    assert "All times are those of America/Denver." in text
    assert "Hall, walls: flat joints 12.3 m" in text


def test_the_file_holds_the_event_of_the_feed_byte_for_byte(
    company: Company, crew: Crew, house: House
) -> None:
    publish(company, task(crew, house, MONDAY))
    publish(company, task(crew, house, TUESDAY), now=NOW + MINUTE)
    (file,) = files_of(send(NOW + MINUTE))
    feed = crew_feed(crew=crew, today=NOW.date())

    def event_in(content: bytes) -> bytes:
        return content[content.index(b"BEGIN:VEVENT") : content.index(b"END:VEVENT")]

    assert event_in(file) == event_in(feed)
    assert b"SEQUENCE:1\r\n" in file
    assert b"METHOD" not in file
    assert file.count(b"BEGIN:VEVENT") == 1
    assert Calendar.from_ical(file).walk("VTIMEZONE")
    (part,) = send(NOW + MINUTE).iter_attachments()
    assert part.get_content_type() == "text/calendar"
    assert part.get_param("method") is None
    assert part.get_content_disposition() == "attachment"


def test_a_move_says_both_times_and_a_cancelled_visit_says_so(
    company: Company, crew: Crew, house: House
) -> None:
    publish(company, task(crew, house, MONDAY))
    send()
    publish(company, task(crew, house, TUESDAY), now=NOW + MINUTE)
    text = text_of(send(NOW + MINUTE))
    assert "before: Mon 2 Mar 08:00" in text
    assert "now: Tue 3 Mar 08:00" in text
    publish(company, now=NOW + 2 * MINUTE)
    message = send(NOW + 2 * MINUTE)
    assert "Visit called off: Mill Cottage" in text_of(message)
    assert b"STATUS:CANCELLED" in files_of(message)[0]


def test_other_details_alone_come_with_the_visits_file(
    company: Company, crew: Crew, house: House
) -> None:
    publish(company, task(crew, house, MONDAY, compound="All-purpose compound"))
    send()
    publish(company, task(crew, house, MONDAY, compound="Light compound"), now=NOW + MINUTE)
    message = send(NOW + MINUTE)
    assert message["Subject"].startswith("North crew: Same visit, other details: Mill Cottage")
    assert "Light compound" in text_of(message)
    (file,) = files_of(message)
    assert b"Light compound" in file
    assert b"SEQUENCE:1" in file


def test_a_message_is_in_the_crews_language(company: Company, house: House) -> None:
    crew = make_crew(company, email="north@crews.example", language="es")
    publish(company, task(crew, house, MONDAY))
    message = send()
    assert message["Subject"].startswith("North crew: Visita nueva: Mill Cottage, lun")
    assert "Todas las horas son de Europe/Dublin." in text_of(message)


def test_several_changes_are_one_message_with_a_file_each(
    company: Company, crew: Crew, house: House
) -> None:
    other = make_house(company, "River House")
    publish(company, task(crew, house, MONDAY), task(crew, other, "2026-03-02 11:00"))
    message = send()
    assert len(mail.outbox) == 1
    assert message["Subject"] == "North crew: 2 visits have changed"
    assert len(files_of(message)) == 2


def test_a_name_with_lines_in_it_puts_no_header_in(company: Company, house: House) -> None:
    name = "North\r\nBcc: thief@elsewhere.example\nX: \x1b[31mred"
    crew = make_crew(company, "North crew", email="north@crews.example")
    Crew.objects.filter(pk=crew.pk).update(name=name)
    House.objects.filter(pk=house.pk).update(name="Mill\nTo: b@elsewhere.example")
    crew.refresh_from_db()
    house.refresh_from_db()
    publish(company, task(crew, house, MONDAY))
    message = send()
    assert message["Bcc"] is None
    assert message.get_all("To") == ["north@crews.example"]
    assert "\n" not in message["Subject"]
    assert "\x1b" not in text_of(message)


def test_what_changed_once_more_is_left_to_its_own_message(
    company: Company, crew: Crew, house: House
) -> None:
    publish(company, task(crew, house, MONDAY))
    publish(company, task(crew, house, TUESDAY), now=NOW + MINUTE)
    send(NOW + MINUTE)
    assert [row.state for row in Outgoing.objects.order_by("pk")] == ["overtaken", "sent"]
    assert len(mail.outbox) == 1


def test_work_that_is_over_is_not_told_of(company: Company, crew: Crew, house: House) -> None:
    publish(company, task(crew, house, MONDAY))
    send_due(clock=lambda: Visit.objects.get().ends_at)
    assert mail.outbox == []
    assert Outgoing.objects.get().state == "overtaken"


@pytest.mark.parametrize(
    ("fault", "state", "said"),
    [
        (ConnectionRefusedError(), "waiting", "cannot be reached"),
        (smtplib.SMTPServerDisconnected("sesame"), "waiting", "cannot be reached"),
        (smtplib.SMTPAuthenticationError(535, b"sesame"), "waiting", "answered 535"),
        (smtplib.SMTPRecipientsRefused({"a": (450, b"")}), "waiting", "refused (450)"),
        (smtplib.SMTPRecipientsRefused({"a": (550, b"")}), "given_up", "refused (550)"),
    ],
)
def test_a_mail_server_that_is_ill_leaves_the_publication_as_it_is(
    monkeypatch: pytest.MonkeyPatch, fault: Exception, state: str, said: str
) -> None:
    def refuse(*_: object) -> int:
        raise fault

    company = make_company()
    crew = make_crew(company, email="north@crews.example")
    publish(company, task(crew, make_house(company), MONDAY))
    monkeypatch.setattr("django.core.mail.backends.locmem.EmailBackend.send_messages", refuse)
    send_due(clock=lambda: NOW)
    row = Outgoing.objects.get()
    assert (row.state, said in row.error) == (state, True)
    assert "sesame" not in row.error
    assert Visit.objects.get().cancelled_at is None


def test_a_message_sent_twice_has_one_id(company: Company, crew: Crew, house: House) -> None:
    publish(company, task(crew, house, MONDAY))
    first = send()["Message-ID"]
    Outgoing.objects.update(state="waiting")
    assert send()["Message-ID"] == first
    assert str(Outgoing.objects.get().public_id) in first
