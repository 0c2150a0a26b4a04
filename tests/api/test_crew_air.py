"""A crew's page for readings: who may use it, what it stores, what it refuses."""

import logging
import re
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.utils import timezone
from django.utils.html import escape

from finishing.models import AirDay, Crew, House, SentReading
from scheduling.models import CrewPage
from scheduling.services.links import make_page, page_address, renew_link, revoke_link
from scheduling.services.publish import publish_plan
from tests.factories import make_company, make_crew, make_house, make_plan, task

pytestmark = pytest.mark.django_db


@pytest.fixture
def crew() -> Crew:
    """A crew at Mill Cottage today and at Weir House in a week."""
    company = make_company()
    crew = make_crew(company)
    mill, weir = make_house(company, "Mill Cottage"), make_house(company, "Weir House")
    soon = timezone.now().replace(microsecond=0) + timedelta(minutes=5)
    make_plan(company, [task(crew, mill, soon), task(crew, weir, soon + timedelta(days=7))])
    publish_plan(company=company, now=timezone.now())
    return crew


@pytest.fixture
def link(crew: Crew) -> CrewPage:
    return make_page(crew=crew)


@pytest.fixture
def path(link: CrewPage) -> str:
    return path_of(link)


def path_of(link: CrewPage) -> str:
    return page_address(link).removeprefix("http://127.0.0.1:8000") + "air/"


def house(name: str = "Mill Cottage") -> House:
    return House.objects.get(name=name)


def typed(**values: str) -> dict[str, str]:
    plain = {
        "sent_as": str(uuid4()),
        "house": str(house().public_id),
        "unit": "C",
        "temperature": "18.5",
        "humidity": "62",
    }
    return plain | values


def stored() -> list[tuple[str, int, float, float]]:
    """Return every reading: house, UTC hour, Celsius, fraction."""
    return [
        (row.source.house.name, hour, celsius, row.humidity[hour])
        for row in AirDay.objects.select_related("source__house")
        if row.source.house
        for hour, celsius in enumerate(row.temperature_c)
        if celsius is not None
    ]


def form_id(text: str) -> str:
    found = re.search(r'name="sent_as" value="([^"]+)"', text)
    assert found
    return found[1]


class TestWhoMayUseIt:
    def test_the_secret_is_enough_and_no_cookie_is_read(self, path: str) -> None:
        client = Client(enforce_csrf_checks=True)
        page, sent = client.get(path), client.post(path, typed())
        assert (page.status_code, sent.status_code) == (200, 302)
        assert [one["path"] for one in client.cookies.values()] == ["/v/"]
        assert "Cookie" not in page.headers.get("Vary", "")

    def test_the_page_is_kept_from_caches_and_its_address_from_other_pages(
        self, client: Client, path: str
    ) -> None:
        for response in (client.get(path), client.post(path, typed()), client.post(path, {})):
            assert response.headers["Cache-Control"] == "no-store"
            assert response.headers["Referrer-Policy"] == "no-referrer"

    def test_an_unknown_a_replaced_and_an_ended_address(self, client: Client, crew: Crew) -> None:
        link = make_page(crew=crew)
        old = path_of(link)
        new = path_of(renew_link(link=link))
        assert client.get("/crew/nobody-knows/air/").status_code == 404
        assert client.post(old, typed()).status_code == 410
        assert client.get(new).status_code == 200
        revoke_link(link=link, now=timezone.now())
        assert client.post(new, typed()).status_code == 410
        assert not stored()

    @pytest.mark.parametrize("method", ["put", "delete", "patch", "options"])
    def test_other_methods_are_405(self, client: Client, path: str, method: str) -> None:
        response = getattr(client, method)(path)
        assert response.status_code == 405
        assert response.headers["Allow"] == "GET, HEAD, POST"

    def test_refusals_keep_the_secret_out_of_the_log(
        self, client: Client, path: str, caplog: pytest.LogCaptureFixture
    ) -> None:
        with caplog.at_level(logging.DEBUG, "django"):
            client.put(path)
            client.post(path, {})
            client.get("/crew/nobody-knows/air/")
        assert "/crew/" not in caplog.text

    def test_another_companys_house_is_not_known(self, client: Client, path: str) -> None:
        theirs = make_house(make_company("Other"), "Their house")
        response = client.post(path, typed(house=str(theirs.public_id)))
        assert "This house is not known" in response.text
        assert "Their house" not in response.text
        assert not stored()


class TestWhatIsStored:
    def test_a_reading_counts_for_the_hour_it_is_sent_in(self, client: Client, path: str) -> None:
        before = datetime.now(UTC).hour
        response = client.post(path, typed(), follow=True)
        after = datetime.now(UTC).hour
        (reading,) = stored()
        assert reading in [("Mill Cottage", hour, 18.5, 0.62) for hour in (before, after)]
        assert "Noted: 18.5 °C, 62 % in Mill Cottage." in response.text

    @pytest.mark.parametrize(
        ("values", "celsius", "humidity"),
        [
            ({"temperature": "18,5", "humidity": "62,5"}, 18.5, 0.625),
            ({"temperature": "68", "unit": "F"}, 20.0, 0.62),
            ({"temperature": "-4"}, -4.0, 0.62),
            ({"temperature": "\N{MINUS SIGN}4"}, -4.0, 0.62),
            ({"temperature": "4", "below_zero": "on"}, -4.0, 0.62),
            ({"temperature": "-4", "below_zero": "on"}, -4.0, 0.62),
        ],
    )
    def test_how_it_may_be_typed(
        self, client: Client, path: str, values: dict[str, str], celsius: float, humidity: float
    ) -> None:
        client.post(path, typed(**values))
        assert [row[2:] for row in stored()] == [(celsius, humidity)]

    def test_the_same_form_never_counts_twice(self, client: Client, path: str) -> None:
        """What the first stored is taken away: had the second counted, it would be there again."""
        form = typed()
        client.post(path, form)
        AirDay.objects.all().delete()
        assert client.post(path, form, follow=True).redirect_chain
        assert (stored(), SentReading.objects.count()) == ([], 1)

    def test_the_same_form_with_other_figures_is_asked_about(
        self, client: Client, path: str
    ) -> None:
        form = typed()
        client.post(path, form)
        response = client.post(path, {**form, "temperature": "19.5"})
        assert "This was sent before, as 18.5 °C, 62 % in Mill Cottage." in response.text
        assert 'value="19.5"' in response.text
        again = form_id(response.text)
        assert again != form["sent_as"]
        client.post(path, {**form, "temperature": "19.5", "sent_as": again})
        assert [row[2] for row in stored()] == [19.5]

    def test_every_page_has_a_form_of_its_own(self, client: Client, path: str) -> None:
        assert form_id(client.get(path).text) != form_id(client.get(path).text)


class TestWhatIsRefused:
    @pytest.mark.parametrize(
        ("values", "said"),
        [
            ({"humidity": "0.55"}, "looks like fractions of 1: write percent"),
            ({"humidity": "150"}, "150 is not from 0 to 100 percent"),
            ({"temperature": "90"}, "90 C cannot be the air of a house (is it Fahrenheit?)"),
            ({"temperature": "40", "below_zero": "on"}, "-40 C cannot be the air of a house"),
            ({"temperature": "warm"}, "This is not a number: type something like 18.5."),
            ({"humidity": "nan"}, "This is not a number: type something like 18.5."),
            ({"humidity": ""}, "Type what you read."),
            ({"house": ""}, "Choose the house."),
            ({"house": "no id"}, "This house is not known. Choose another."),
            ({"unit": "K"}, "Select a valid choice"),
            ({"sent_as": "no id"}, "This page was not whole. Load it again."),
        ],
    )
    def test_with_what_was_typed_kept(
        self, client: Client, path: str, values: dict[str, str], said: str
    ) -> None:
        response = client.post(path, typed(**values))
        assert response.status_code == 422
        assert escape(said) in response.text
        for name in ("temperature", "humidity"):
            assert f'value="{typed(**values)[name]}"' in response.text
        assert form_id(response.text) != "no id"
        assert not stored()

    def test_everything_at_once(self, client: Client, path: str) -> None:
        response = client.post(path, typed(house="", temperature="90", humidity="0,5"))
        for said in ("Choose the house.", "is it Fahrenheit?", "looks like fractions of 1"):
            assert said in response.text

    def test_a_form_may_be_put_right_and_sent_again(self, client: Client, path: str) -> None:
        wrong = client.post(path, typed(humidity="620"))
        client.post(path, typed(sent_as=form_id(wrong.text)))
        assert len(stored()) == 1


class TestWhatIsShown:
    def test_the_houses_of_today_and_tomorrow(self, client: Client, path: str) -> None:
        text = client.get(path).text
        assert "Mill Cottage" in text
        assert "Weir House" not in text
        assert f'value="{house().public_id}" checked' in text, "the only one is chosen"

    def test_all_houses_with_work_where_there_is_no_visit(self, client: Client, crew: Crew) -> None:
        make_house(crew.company, "Done Lodge", is_active=False)
        other = make_page(crew=make_crew(crew.company, "South crew"))
        text = client.get(path_of(other)).text
        assert "Mill Cottage" in text
        assert "Weir House" in text
        assert "Done Lodge" not in text
        assert "checked" not in text.split("<legend")[1], "nothing is chosen among several"

    def test_a_house_from_a_page_left_open_is_taken_and_shown(
        self, client: Client, path: str
    ) -> None:
        form = typed(house=str(house("Weir House").public_id), humidity="x")
        assert "Weir House" in client.post(path, form).text
        client.post(path, {**form, "humidity": "50"})
        assert [row[0] for row in stored()] == ["Weir House"]

    def test_the_last_reading_and_when(self, client: Client, path: str) -> None:
        assert "No reading yet" in client.get(path).text
        client.post(path, typed())
        client.post(path, typed(temperature="19"))
        text = client.get(path).text
        assert re.search(r"Last: 19 °C, 62 %, in the hour from \w{3} \d+ \w{3} \d\d:00", text)

    def test_fahrenheit_first_where_that_is_what_instruments_show(
        self, client: Client, crew: Crew, path: str
    ) -> None:
        crew.company.country = "US"
        crew.company.save()
        client.post(path, typed(temperature="68", unit="F"))
        text = client.get(path).text
        assert 'value="F" checked' in text
        assert "Last: 68 °F, 62 %" in text
