"""The page on which files are brought in."""

import re
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from finishing.models import AirSource, Company, Crew, House
from finishing.services.companies import start_company
from finishing.services.file_imports import MOST_BYTES, FileKind
from tests.api.conftest import SignIn
from tests.factories import make_company, make_house

pytestmark = pytest.mark.django_db

HOUSES = "house,handover,area,room,surface,level,area_m2\nMill,2026-03-20,Ground,Hall,walls,4,30\n"
AIR = "time,temperature,humidity\n2026-03-02 10:00,8,80\n2026-03-02 11:00,8,81\n"


@pytest.fixture
def company() -> Company:
    return start_company(name="My company", zone="Europe/Dublin")


@pytest.fixture
def client(sign_in: SignIn, company: Company) -> Client:
    return sign_in(company)


def check(client: Client, kind: str, content: str | bytes, **typed: Any) -> Any:
    raw = content if isinstance(content, bytes) else content.encode()
    file = SimpleUploadedFile(f"{kind}.csv", raw)
    return client.post(f"/company/import/{kind}/", {"file": file, **typed})


def hidden(text: str) -> dict[str, str]:
    """What the page's "Import" sends."""
    form = text[text.index('id="tried"') :]
    form = form[: form.index("</form>")]
    found = re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', form)
    return {name: value for name, value in found if name != "csrfmiddlewaretoken"}


def test_a_file_is_checked_then_imported_without_being_sent_again(client: Client) -> None:
    response = check(client, "houses", HOUSES)
    text = response.content.decode()
    assert response.status_code == 200
    assert "Mill: new; adds 1 area, 1 room, 1 surface" in text
    assert not House.objects.exists()
    done = client.post("/company/import/houses/", hidden(text))
    assert done["Location"] == "/company/import/houses/?imported=1"
    assert House.objects.get().name == "Mill"
    assert "Imported: 1 entry." in client.get(done["Location"]).content.decode()


def test_what_would_change_of_a_house_is_told_and_then_in_its_history(client: Client) -> None:
    client.post("/company/import/houses/", hidden(check(client, "houses", HOUSES).content.decode()))
    text = check(client, "houses", HOUSES.replace("03-20", "03-27")).content.decode()
    said = "The house: Handover Fri 27 Mar instead of Fri 20 Mar"
    assert said in text
    client.post("/company/import/houses/", hidden(text))
    history = client.get(f"/houses/{House.objects.get().public_id}/history/").content.decode()
    assert said in history


def test_what_is_there_already_is_not_offered_again(client: Client) -> None:
    client.post("/company/import/houses/", hidden(check(client, "houses", HOUSES).content.decode()))
    text = check(client, "houses", HOUSES).content.decode()
    assert "Mill: is there already, nothing changes" in text
    assert 'name="token" value' not in text[text.index('id="tried"') : text.index("<details")]


def test_a_house_edited_between_check_and_import_is_shown_again(
    client: Client, company: Company
) -> None:
    make_house(company, "Mill")
    sent = hidden(check(client, "houses", HOUSES).content.decode())
    House.objects.update(address="2 Mill Lane", version=2)
    stale = client.post("/company/import/houses/", sent)
    assert stale.status_code == 409
    assert "was changed after you checked it" in stale.content.decode()
    assert House.objects.get().address == "2 Mill Lane"
    again = client.post("/company/import/houses/", hidden(stale.content.decode()))
    assert again.status_code == 302


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "the file is empty"),
        (b"\x89PNG\r\n\x1a\n\x00\x00\xff\xfe", "is not UTF-8"),
        (b"house\x00,handover\n", "is not text"),
        (HOUSES.encode("utf-16"), "is UTF-16"),
        (HOUSES.replace("Mill", "M\xfchle").encode("cp1252"), "houses.csv line 2"),
        (b"crew,member,skills,hours\nNorth,Ann,all,mon 07:00-15:00\n", "column &#x27;house&#x27;"),
        (HOUSES.replace("2026-03-20", "soon"), "houses.csv line 2, column handover"),
    ],
)
def test_files_that_cannot_be_read_are_refused(
    client: Client, content: str | bytes, said: str
) -> None:
    response = check(client, "houses", content)
    assert response.status_code == 422
    assert said in response.content.decode()
    assert not House.objects.exists()


def test_a_file_that_is_too_large_and_none_at_all(client: Client) -> None:
    assert "larger than 1.5 MB" in check(client, "air", b"x" * (MOST_BYTES + 1)).content.decode()
    response = client.post("/company/import/air/", {"source": "Roof", "holes": "on"})
    text = response.content.decode()
    assert response.status_code == 422
    assert "Choose a file." in text
    assert 'value="Roof"' in text


def test_the_largest_file_comes_back_with_import(client: Client) -> None:
    blank = "," * 9_999 + "\n"
    padded = HOUSES + blank * ((MOST_BYTES - len(HOUSES)) // len(blank))
    sent = hidden(check(client, "houses", padded).content.decode())
    assert client.post("/company/import/houses/", sent).status_code == 302


def test_line_ends_of_windows_and_cells_like_formulas(client: Client) -> None:
    content = "\ufeff" + HOUSES.replace("Mill", "=1+1").replace("\n", "\r\n")
    text = check(client, "houses", content).content.decode()
    assert "=1+1: new" in text
    client.post("/company/import/houses/", hidden(text))
    assert House.objects.get().name == "=1+1"


def test_what_an_air_file_does_not_say_is_typed_beside_it(client: Client, company: Company) -> None:
    house = make_house(company)
    refused = check(client, "air", AIR, unit="X", zone="Mars", house="nowhere")
    text = refused.content.decode()
    for part in ("not known: choose another", "not an IANA time zone", 'id="id_unit_error"'):
        assert part in text
    typed = {"unit": "F", "zone": "America/New_York", "house": str(house.public_id)}
    warm = AIR.replace(",8,", ",60,")
    client.post(
        "/company/import/air/", hidden(check(client, "air", warm, **typed).content.decode())
    )
    source = AirSource.objects.get()
    assert (source.name, source.kind) == ("Mill Cottage", "logger")
    assert source.days.get().temperature_c[15] == 15.56
    house.refresh_from_db()
    assert house.air_source == source


def test_another_companys_house_is_not_known(client: Client) -> None:
    other = make_house(make_company("Other"))
    response = check(client, "air", AIR, unit="C", zone="UTC", house=str(other.public_id))
    assert "not known: choose another" in response.content.decode()
    assert not AirSource.objects.exists()


def test_a_page_that_was_tampered_with(client: Client) -> None:
    for checked in ("%%%", "\u00fc"):
        response = client.post("/company/import/houses/", {"checked": checked, "token": "1"})
        assert response.status_code == 422
        assert "choose the file again" in response.content.decode()


def test_examples_are_downloaded_and_come_in(client: Client) -> None:
    for kind in FileKind:
        file = client.get(f"/company/import/{kind}/example/")
        assert f'filename="example-{kind}.csv"' in file["Content-Disposition"]
        sent = hidden(check(client, kind, file.content).content.decode())
        assert client.post(f"/company/import/{kind}/", sent).status_code == 302
    assert Crew.objects.get().name == "Example crew"


def test_pages_take_few_queries_and_unknown_kinds_are_not_found(
    client: Client, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for address in ("/company/import/", "/company/import/air/", "/company/import/houses/"):
        with django_assert_max_num_queries(5):
            assert client.get(address).status_code == 200
    assert client.get("/company/import/photos/").status_code == 404
    assert client.get("/company/import/photos/example/").status_code == 404
    assert Client().get("/company/import/").status_code == 302
