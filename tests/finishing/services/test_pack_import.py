"""How material is bought, from a file."""

import pytest

from finishing.models import Company, Compound, Supply
from finishing.rules.supplies import USED_PER_UNIT, SupplyKind
from finishing.services.companies import start_company
from finishing.services.errors import InputFaults
from finishing.services.pack_sheet import put_packs, read_packs

pytestmark = pytest.mark.django_db
DRYING = "All-purpose, drying"


@pytest.fixture
def company(db: None) -> Company:
    return start_company(name="Mill Lane", zone="Europe/Dublin")


def bring_in(company: Company, content: str) -> None:
    for entry in read_packs(name="packs.csv", content=content.encode(), company=company):
        put_packs(company=company, entry=entry)


def faults(company: Company, content: str) -> list[str]:
    with pytest.raises(InputFaults) as caught:
        read_packs(name="packs.csv", content=content.encode(), company=company)
    return [str(fault).removeprefix("packs.csv ") for fault in caught.value.faults]


def test_a_compound_and_a_tape_are_brought_in_line(company: Company) -> None:
    file = (
        f'name,packs,kind,prices,lead_days\n"{DRYING}",5; 20,,890 2350,3\nTape,75,paper tape,,1\n'
    )
    bring_in(company, file)
    compound = Compound.objects.get(company=company, name=DRYING)
    assert (compound.pack_kg, compound.pack_prices, compound.lead_days) == ([5, 20], [890, 2350], 3)
    tape = Supply.objects.get(company=company)
    assert (tape.kind, tape.packs, tape.lead_days) == (SupplyKind.PAPER_TAPE, [75], 1)
    assert tape.used_per_unit == USED_PER_UNIT[SupplyKind.PAPER_TAPE]
    bring_in(company, file)
    compound.refresh_from_db()
    assert (compound.version, Supply.objects.get().version) == (2, 1)


def test_all_faults_are_named_with_their_places(company: Company) -> None:
    file = (
        "name,packs,kind,prices,lead_days,opened_days\n"
        f'"{DRYING}",0.05; 20,,890,,\n'
        "No such thing,5,,,,\n"
        "Tape,big,paper_tape,,-1,30\n"
    )
    assert faults(company, file) == [
        "line 2, column packs: must each be at least 0.1 and below 1000",
        "line 2, column prices: give one price for each pack, in the same order, or none",
        "line 3, column name: there is no compound 'No such thing': say in kind what else it is",
        "line 4, column packs: 'big' is not sizes such as 5; 10; 20",
        "line 4, column lead_days: -1 must not be below 0",
        "line 4, column opened_days: is not for this kind of material",
    ]
