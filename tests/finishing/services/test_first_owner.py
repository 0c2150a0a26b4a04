"""The code that makes the first owner, and what closes it."""

from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.core.management import CommandError, call_command
from django.utils import timezone

from finishing.config.first_code import show_first_code
from finishing.models import Company, FirstCode, Holiday, Role, User
from finishing.services.first_owner import first_code, is_awaited, is_first_code, make_first_owner
from tests.factories import make_company

pytestmark = pytest.mark.django_db


def make(**changed: Any) -> User:
    told: dict[str, Any] = {
        "email": "ann@example.com",
        "password": "dust sheets and ladders",
        "company": "Larch Finishing",
        "zone": "Europe/Dublin",
        "country": "IE",
    }
    return make_first_owner(**told | changed, now=timezone.now())


def test_the_code_is_the_same_for_all_who_ask_and_can_be_typed_in_any_groups() -> None:
    code = first_code()
    assert code
    assert code == first_code()
    assert len(code.replace("-", "")) == 24
    assert is_first_code(f" {code.upper().replace('-', ' ')} ")
    assert not is_first_code(code[:-1])
    assert not is_first_code("")
    assert not is_first_code("ü")


def test_another_secret_key_makes_another_code(settings: Any) -> None:
    code = first_code()
    settings.SECRET_KEY = "another key"
    assert code
    assert not is_first_code(code)


def test_the_owner_has_a_company_of_their_own_with_its_holidays() -> None:
    first_code()
    person = make()
    assert person.company
    assert (person.company.name, person.role) == ("Larch Finishing", Role.OWNER)
    assert person.check_password("dust sheets and ladders")
    assert Holiday.objects.filter(company=person.company).exists()


def test_what_was_imported_before_is_theirs() -> None:
    company = make_company("Larch Finishing")
    first_code()
    assert make().company == company
    assert Company.objects.count() == 1


def test_it_closes_for_good() -> None:
    code = first_code()
    person = make()
    assert code
    assert not is_first_code(code)
    with pytest.raises(ValidationError, match="meanwhile"):
        make(email="bob@example.com", company="Other")
    person.delete()
    assert not is_awaited()
    assert first_code() is None


def test_a_sign_in_from_the_command_closes_it_too() -> None:
    code = first_code()
    call_command("make_user", "bob@example.com")
    assert code
    assert first_code() is None
    with pytest.raises(ValidationError, match="meanwhile"):
        make()
    assert not Company.objects.filter(name="Larch Finishing").exists()


def test_a_fault_leaves_it_open() -> None:
    first_code()
    with pytest.raises(ValidationError):
        make(zone="Mars/Olympus")
    assert is_awaited()
    assert FirstCode.objects.get().used_at is None


def test_the_command_prints_it_until_somebody_signs_in(capsys: pytest.CaptureFixture[str]) -> None:
    call_command("first_code")
    assert str(first_code()) in capsys.readouterr().out
    make()
    with pytest.raises(CommandError, match="make_user"):
        call_command("first_code")


@pytest.mark.parametrize("at_a_terminal", [True, False])
def test_a_server_shows_it_at_a_terminal_and_in_no_log(
    at_a_terminal: bool, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stderr.isatty", lambda: at_a_terminal)
    monkeypatch.setattr("finishing.config.first_code.connection.close", lambda: None)
    show_first_code()
    assert (str(first_code()) in capsys.readouterr().err) is at_a_terminal
