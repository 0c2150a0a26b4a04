"""The page on which the office edits its labour rates."""

from typing import Any

import pytest
from django.test import Client

from finishing.models import Company, LabourRate
from finishing.rules.labour import DEFAULT_RATES
from scheduling.services.room_work import read_settings
from tests.api.conftest import SignIn
from tests.factories import make_company

pytestmark = pytest.mark.django_db
PAGE = "/company/rates/"
BUTT = "tape-butt"


def rates(**typed: str) -> dict[str, Any]:
    """The page's form as a browser sends it; typed: fields of the tape coat on butt joints."""
    sent: dict[str, Any] = {f"{rate.stage}-{rate.kind}-version": 0 for rate in DEFAULT_RATES}
    return sent | {f"{BUTT}-{name}": value for name, value in typed.items()}


def of_butt(company: Company) -> float:
    found = read_settings(company).rates
    return next(rate.minutes for rate in found if f"{rate.stage}-{rate.kind}" == BUTT)


@pytest.fixture
def company() -> Company:
    return make_company()


@pytest.fixture
def client(sign_in: SignIn, company: Company) -> Client:
    return sign_in(company)


@pytest.mark.parametrize("minutes", ["12.25", "125.5"])
def test_a_rate_reads_in_brief_as_it_was_typed(client: Client, minutes: str) -> None:
    sent = rates(minutes=minutes, source="Own timings", dated="2026-03-02")
    assert client.post(PAGE, sent).status_code == 302
    assert f"{minutes} min a metre, your own" in client.get(PAGE).text


def test_a_rate_is_set_and_given_back_its_default(client: Client, company: Company) -> None:
    default = of_butt(company)
    sent = rates(minutes="2,5", source="Own timings", dated="2026-03-02")
    assert client.post(PAGE, sent)["Location"] == PAGE + "?saved=yes"
    assert of_butt(company) == 2.5
    text = client.get(PAGE + "?saved=yes").content.decode()
    assert "Plans made before do not know of this yet" in text
    assert 'value="Own timings"' in text
    assert "2.5 min a metre, your own" in text
    assert "0.0411 min each" in text, "a screw takes some time"
    client.post(PAGE, sent | {f"{BUTT}-version": 1, f"{BUTT}-reset": "on"})
    assert not LabourRate.objects.exists()
    assert of_butt(company) == default


def test_all_faults_are_shown_at_once_and_what_was_typed_stays(client: Client) -> None:
    sent = rates(minutes="-3", source="", dated="") | {
        "second-butt-minutes": "fast",
        "finish-butt-minutes": "700",
        "finish-butt-source": "=1+1",
    }
    response = client.post(PAGE, sent)
    text = response.content.decode()
    assert response.status_code == 422
    for part in (
        "must be above 0 and below 600",
        "Say where the figure comes from.",
        "Say since when it holds.",
        "This is not a number",
        'value="fast"',
        'value="700"',
        'value="=1+1"',
        f'href="#id_{BUTT}-source"',
    ):
        assert part in text
    assert not LabourRate.objects.exists()


def test_a_rate_from_a_second_tab_is_refused_and_kept_when_sent_again(client: Client) -> None:
    sent = rates(minutes="2", source="First", dated="2026-03-02")
    client.post(PAGE, sent)
    mine = sent | {f"{BUTT}-minutes": "3", f"{BUTT}-source": "Second"}
    stale = client.post(PAGE, mine)
    text = stale.content.decode()
    assert stale.status_code == 409
    assert "2 person-minutes (First" in text
    assert 'value="Second"' in text
    assert client.post(PAGE, mine | {f"{BUTT}-version": 1}).status_code == 302
    assert LabourRate.objects.get().minutes == 3


def test_a_rate_reset_in_another_tab_is_said_to_be_gone(client: Client) -> None:
    sent = rates(minutes="2", source="First", dated="2026-03-02") | {f"{BUTT}-version": 4}
    assert "1 line is gone" in client.post(PAGE, sent).content.decode()


def test_another_companys_rates_are_neither_shown_nor_touched(
    sign_in: SignIn, client: Client
) -> None:
    client.post(PAGE, rates(minutes="2", source="First", dated="2026-03-02"))
    other = sign_in(make_company("Quay Finishing"))
    assert 'value="First"' not in other.get(PAGE).content.decode()
    other.post(PAGE, rates(minutes="5", source="Theirs", dated="2026-03-02"))
    assert sorted(LabourRate.objects.values_list("minutes", flat=True)) == [2, 5]
