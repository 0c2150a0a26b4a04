"""The pages on which the office edits compounds and jointing systems."""

from typing import Any

import pytest
from django.test import Client

from finishing.models import Company, Compound, JointingSystem
from finishing.services.companies import start_company
from finishing.services.compounds import COMPOUND_FIELDS
from tests.api.conftest import SignIn
from tests.factories import make_house

pytestmark = pytest.mark.django_db
PAGE = "/company/compounds/"
BASE = "Setting base, 90 min working"
FLAGS = ("hard", "deep_fill", "awaited", "is_default")


def sent_of(row: Compound, **typed: Any) -> dict[str, Any]:
    """A compound's form as a browser sends it."""
    sent = {name: getattr(row, name) for name in ("version", *COMPOUND_FIELDS)}
    sent |= {"water_fraction": row.water_fraction * 100, "pack_kg": "5; 10; 20"}
    sent |= {"pack_prices": "", **typed}
    return {name: value for name, value in sent.items() if name not in FLAGS or value}


def sent_of_system(row: JointingSystem, **typed: Any) -> dict[str, Any]:
    sent = {name: getattr(row, name) for name in ("version", "name", "tape", "is_default")}
    lines = row.stage_rows.select_related("compound")
    sent |= {f"stage_{line.stage}": str(line.compound.public_id) for line in lines} | typed
    return {name: value for name, value in sent.items() if name not in FLAGS or value}


def path_of(row: Compound | JointingSystem) -> str:
    part = "compounds" if isinstance(row, Compound) else "systems"
    return f"/company/{part}/{row.public_id}/"


@pytest.fixture
def company(db: None) -> Company:
    return start_company(name="Mill Lane", zone="Europe/Dublin")


@pytest.fixture
def base(company: Company) -> Compound:
    return Compound.objects.get(company=company, name=BASE)


@pytest.fixture
def default(company: Company) -> JointingSystem:
    return JointingSystem.objects.get(company=company, is_default=True)


@pytest.fixture
def client(sign_in: SignIn, company: Company) -> Client:
    return sign_in(company)


def test_a_compound_is_changed_and_its_form_shows_what_is_stored(
    client: Client, base: Compound
) -> None:
    text = client.get(path_of(base)).content.decode()
    assert 'value="37.5"' in text  # water, in percent
    assert "From 0 to 90." in text
    assert "However dry the air is. From 0 to 240." in text
    sent = sent_of(base, water_fraction="38,5", pack_kg="5; 12,5", practice_hours="20")
    assert client.post(path_of(base), sent)["Location"] == PAGE + "?saved=yes"
    base.refresh_from_db()
    assert (base.water_fraction, base.pack_kg, base.version) == (0.385, [5, 12.5], 2)


def test_saving_what_is_stored_changes_nothing(client: Client, base: Compound) -> None:
    assert client.post(path_of(base), sent_of(base)).status_code == 302
    base.refresh_from_db()
    assert base.version == 1


def test_a_new_compound_may_not_have_a_name_twice(client: Client, base: Compound) -> None:
    assert client.post(PAGE + "new/", sent_of(base, version=0)).status_code == 422
    sent = sent_of(base, version=0, name="Other base")
    assert client.post(PAGE + "new/", sent).status_code == 302
    assert Compound.objects.filter(name="Other base", hard=True).exists()


def test_all_faults_are_shown_at_once_and_what_was_typed_stays(
    client: Client, base: Compound
) -> None:
    typed = {
        "name": "",
        "density_kg_per_l": "0",
        "water_fraction": "150",
        "set_hours": "-1",
        "working_minutes": "7.5",
        "minimum_c": "30",
        "maximum_c": "20",
        "pack_kg": "big",
    }
    response = client.post(path_of(base), sent_of(base, **typed))
    text = response.content.decode()
    assert response.status_code == 422
    for name in typed.keys() - {"minimum_c"}:
        assert f'href="#id_{name}"' in text, name
    assert 'value="big"' in text
    assert 'value="150"' in text


def test_a_compound_may_not_break_a_system_that_uses_it(
    client: Client, base: Compound, default: JointingSystem
) -> None:
    sent = sent_of(base, stages=["second"], tapes=["mesh"])
    response = client.post(path_of(base), sent)
    text = response.content.decode()
    assert response.status_code == 422
    assert f"{default.name}: Tape coat with {BASE}: its compound may not be used for it" in text
    assert "its compound may not bed this tape" in text
    base.refresh_from_db()
    assert "tape" in base.stages


def test_a_compound_from_a_second_tab_is_refused_and_kept_when_sent_again(
    client: Client, base: Compound
) -> None:
    client.post(path_of(base), sent_of(base, practice_hours=20))
    mine = sent_of(base, practice_hours=30)
    stale = client.post(path_of(base), mine)
    assert stale.status_code == 409
    assert "Least wait to the next coat" in stale.content.decode()
    assert client.post(path_of(base), mine | {"version": 2}).status_code == 302


def test_a_compound_in_use_is_not_removed_and_it_says_where(
    client: Client, company: Company, base: Compound, default: JointingSystem
) -> None:
    refused = client.post(path_of(base), {"remove": "yes", "version": 1})
    assert refused.status_code == 409
    assert default.name in refused.content.decode()
    spare = Compound.objects.get(company=company, name="Setting base, 45 min working")
    spare.pk, spare.name, spare.public_id = None, "Spare", Compound().public_id
    spare.save()
    assert client.post(path_of(spare), {"remove": "yes", "version": 7}).status_code == 409
    assert client.post(path_of(spare), {"remove": "yes", "version": 1}).status_code == 302
    assert not Compound.objects.filter(name="Spare").exists()


def test_a_system_is_refused_with_all_that_the_rules_say(
    client: Client, company: Company, default: JointingSystem
) -> None:
    topping = Compound.objects.get(company=company, name="Topping, drying")
    sent = sent_of_system(
        default, tape="mesh", stage_prefill=str(topping.public_id), stage_finish=""
    )
    response = client.post(path_of(default), sent)
    text = response.content.decode()
    assert response.status_code == 422
    assert "a drying compound may not fill deep gaps" in text
    assert "Finish coat with nothing" in text
    assert "a hard setting coat may not go over a softer one" in text
    assert default.stage_rows.get(stage="prefill").compound != topping


def test_another_system_is_made_the_default_and_only_then_may_the_first_go(
    client: Client, company: Company, default: JointingSystem
) -> None:
    other = JointingSystem.objects.get(company=company, is_default=False)
    dropped = sent_of_system(default, is_default=False)
    assert client.post(path_of(default), dropped).status_code == 422
    assert client.post(path_of(default), {"remove": "yes", "version": 1}).status_code == 409
    assert client.post(path_of(other), sent_of_system(other, is_default="on")).status_code == 302
    default.refresh_from_db()
    assert not default.is_default
    house = make_house(company, system=default)
    named = client.post(path_of(default), {"remove": "yes", "version": default.version})
    assert house.name in named.content.decode()
    house.delete()
    gone = client.post(path_of(default), {"remove": "yes", "version": default.version})
    assert gone.status_code == 302


def test_a_system_from_a_second_tab_is_refused(client: Client, default: JointingSystem) -> None:
    sent = sent_of_system(default)
    client.post(path_of(default), sent | {"name": "Ours"})
    stale = client.post(path_of(default), sent | {"name": "Mine"})
    text = stale.content.decode()
    assert stale.status_code == 409
    assert "Ours (paper)" in text
    assert 'value="Mine"' in text


def test_another_companys_rows_are_not_found(
    sign_in: SignIn, base: Compound, default: JointingSystem
) -> None:
    quay = start_company(name="Quay", zone="UTC")
    other = sign_in(quay)
    for row in (base, default):
        assert other.get(path_of(row)).status_code == 404
        assert other.post(path_of(row), {"remove": "yes", "version": 1}).status_code == 404
    mine = JointingSystem.objects.get(company=quay, is_default=True)
    sent = sent_of_system(mine) | {"stage_finish": str(base.public_id)}
    assert other.post(path_of(mine), sent).status_code == 422
