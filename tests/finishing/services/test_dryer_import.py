import pytest

from finishing.models import Company, Dryer
from finishing.rules.vocabulary import DryerKind
from finishing.services.dryer_sheet import read_dryers
from finishing.services.dryers import put_dryer
from finishing.services.errors import InputFaults
from tests.factories import make_company, make_house

pytestmark = pytest.mark.django_db

HEADER = (
    "name,kind,count,litres_per_day,rated_humidity,tank_l,heat_kw,flame,cost_per_day,house,hold_c"
)
GOOD = f"""{HEADER}
Big,dehumidifier,3,40,80,,,,12.5,,
Flame,heater,,,,,15,yes,,Mill Cottage,
Fan,heater,,,,,3,,,,28.5
"""


@pytest.fixture
def company() -> Company:
    company = make_company()
    make_house(company)
    return company


def load(company: Company, content: str) -> None:
    for dryer in read_dryers(name="dryers.csv", content=content.encode(), company=company):
        put_dryer(company=company, dryer=dryer)


def refused(company: Company, content: str) -> list[str]:
    with pytest.raises(InputFaults) as caught:
        load(company, content)
    assert not Dryer.objects.exists()
    return [str(fault).removeprefix("dryers.csv ") for fault in caught.value.faults]


def test_a_good_file(company: Company) -> None:
    load(company, GOOD)
    big, fan, flame = Dryer.objects.all()
    assert (fan.hold_c, fan.flame, flame.hold_c) == (28.5, False, 20.0)
    assert (big.kind, big.count, big.litres_per_day) == (DryerKind.DEHUMIDIFIER, 3, 40)
    assert (big.rated_c, big.rated_humidity, big.hold_humidity) == (26.7, 0.8, 0.5)
    assert (big.tank_l, big.cost_per_day, big.house, big.move_minutes) == (None, 1250, None, 10)
    assert (flame.kind, flame.count, flame.heat_kw, flame.flame) == (DryerKind.HEATER, 1, 15, True)
    assert flame.house is not None
    assert flame.house.name == "Mill Cottage"


def test_importing_twice_changes_nothing_and_a_changed_line_its_row(company: Company) -> None:
    load(company, GOOD)
    before = set(Dryer.objects.values_list("public_id", "version"))
    load(company, GOOD)
    assert set(Dryer.objects.values_list("public_id", "version")) == before
    load(company, GOOD.replace("Big,dehumidifier,3", "Big,dehumidifier,2"))
    assert Dryer.objects.get(name="Big").count == 2


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("Big,,1,40,,,,,,,", "column kind: must not be blank"),
        ("Big,fan,1,40,,,,,,,", "column kind: 'fan' is not one of dehumidifier, heater"),
        ("Big,dehumidifier,1,,,,,,,,", "column litres_per_day: a dehumidifier needs it"),
        ("Big,dehumidifier,0,40,,,,,,,", "column count: 0 must not be below 1"),
        ("Big,dehumidifier,1,40,0.6,,,,,,", "column rated_humidity: 0.6 is a fraction: write"),
        ("Big,dehumidifier,1,40,2,,,,,,", "column rated_humidity: no dryer takes water out"),
        ("Big,dehumidifier,1,40,,0,,,,,", "column tank_l: 0 must be more than 0"),
        ("Flame,heater,1,,,,,yes,,,", "column heat_kw: a heater needs it"),
        ("Big,dehumidifier,1,40,,,,maybe,,,", "column flame: 'maybe' is neither yes nor no"),
        ("Big,dehumidifier,1,40,,,,,dear,,", "column cost_per_day: 'dear' is not a number"),
        ("Big,dehumidifier,1,40,,,,,,Barn,", "column house: no 'Barn'; known: 'Mill Cottage'"),
        ("Fan,heater,1,,,,3,,,,36", "column hold_c: 36 must not be above 35"),
        ("Fan,heater,1,,,,3,,,,4", "column hold_c: 4 must not be below 5"),
        (",dehumidifier,1,40,,,,,,,", "column name: must not be blank"),
    ],
)
def test_a_cell_that_cannot_be(company: Company, row: str, said: str) -> None:
    [fault] = refused(company, f"{HEADER}\n{row}\n")
    assert fault.startswith(f"line 2, {said}")


def test_all_faults_at_once_and_nothing_imported(company: Company) -> None:
    rows = f"{HEADER}\nBig,dehumidifier,1,40,,,,,,,\nBig,dehumidifier,x,,,,,,,Barn,\n"
    assert [fault.partition(":")[0] for fault in refused(company, rows)] == [
        "line 3, column count",
        "line 3, column litres_per_day",
        "line 3, column house",
        "line 3, column name",
    ]


@pytest.mark.parametrize(
    ("code", "digits", "typed", "minor"),
    [("JPY", 0, "1250", 1250), ("EUR", 2, "19.99", 1999), ("KWD", 3, "4.125", 4125)],
)
def test_a_cost_is_in_the_companys_currency(
    company: Company, code: str, digits: int, typed: str, minor: int
) -> None:
    company.currency, company.currency_digits = code, digits
    load(company, f"{HEADER}\nBig,dehumidifier,1,40,,,,,{typed},,\n")
    assert Dryer.objects.get().cost_per_day == minor


@pytest.mark.parametrize(
    ("digits", "typed", "said"),
    [
        (0, "12.50", "12.50: the currency has no minor unit: write whole figures"),
        (2, "12.505", "12.505: the currency has 2 digits after the point"),
        (3, "0.0005", "0.0005: the currency has 3 digits after the point"),
    ],
)
def test_a_cost_finer_than_the_currency_is_refused(
    company: Company, digits: int, typed: str, said: str
) -> None:
    company.currency_digits = digits
    rows = f"{HEADER}\nBig,dehumidifier,1,40,,,,,{typed},,\n"
    assert refused(company, rows) == [f"line 2, column cost_per_day: {said}"]
