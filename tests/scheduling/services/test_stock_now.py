"""What is reckoned to be in the store: counted, less what visits have opened since."""

from datetime import date, datetime, timedelta

import pytest

from finishing.models import Company, Compound, Crew, House, StockLine
from finishing.queries.materials import read_catalogue
from finishing.rules.vocabulary import Stage
from finishing.services.errors import InputFaults
from finishing.services.supplies import save_stock
from scheduling.models import Report, Visit
from scheduling.services.inputs import build_inputs
from scheduling.services.material_orders import company_material, late_visits
from scheduling.services.material_visits import loads_of_crew
from scheduling.services.publish import publish_plan
from scheduling.services.stock_now import company_stock
from tests.factories import make_house, make_plan, task
from tests.scheduling.services.test_material import pails, uses
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
TUESDAY, WEDNESDAY = MONDAY + DAY, MONDAY + 2 * DAY


@pytest.fixture
def company(db: None) -> Company:
    """Five pails counted on Monday; 30 kg at the house on Tuesday, 60 at the next on Friday."""
    company, house = make_site(rooms=("Hall", "Kitchen"))
    compound = pails(company, lead_days=7)
    count(company, compound, MONDAY.date())
    crew, other = Crew.objects.get(company=company), make_house(company, "Ash Row")
    rows = [
        task(crew, house, "2026-03-03 08:00", **uses(30.0)),
        task(crew, other, "2026-03-06 08:00", **uses(60.0)),
    ]
    make_plan(company, rows)
    publish_plan(company=company, now=MONDAY)
    return company


def count(company: Company, compound: Compound, day: date | None) -> StockLine:
    return StockLine.objects.create(
        company=company,
        compound=compound,
        pack_size=20,
        packs=5,
        arrives_on=date(2026, 3, 1),
        counted_on=day,
    )


def left(company: Company, now: datetime) -> float:
    (one,) = company_stock(company=company, now=now)
    return one.left


def say(company: Company, kind: Report.Kind, *, minutes_left: int | None = None) -> None:
    visit = Visit.objects.filter(company=company).order_by("starts_at")[0]
    (row,) = visit.content["tasks"]
    Report.objects.create(
        company=company,
        crew=visit.crew,
        kind=kind,
        key=row["key"],
        at=visit.ends_at,
        said_at=visit.ends_at,
        minutes_left=minutes_left,
        about=row,
    )


def test_what_past_visits_opened_is_taken_off_what_was_counted(company: Company) -> None:
    """30 kg open two pails of the five; a visit under way or to come opens nothing yet."""
    assert left(company, MONDAY) == 100
    visit = Visit.objects.filter(company=company).order_by("starts_at")[0]
    assert left(company, visit.starts_at + timedelta(minutes=1)) == 100
    assert left(company, visit.ends_at) == 60
    assert left(company, MONDAY + 6 * DAY) == 0, "60 kg: 10 from the open pail, 50 of three"
    assert left(company, MONDAY + 30 * DAY) == 0


@pytest.mark.parametrize(
    ("kind", "minutes_left", "there"),
    [
        (Report.Kind.DONE, None, 60),
        (Report.Kind.STARTED, None, 60),
        (Report.Kind.NOT_DONE, None, 100),
        (Report.Kind.NOT_DONE, 60, 80),
        (Report.Kind.NOT_DONE, 500, 100),
    ],
)
def test_what_was_left_undone_was_not_taken(
    company: Company, kind: Report.Kind, minutes_left: int | None, there: float
) -> None:
    """Of two hours one was left: 15 kg were used, out of one pail."""
    say(company, kind, minutes_left=minutes_left)
    assert left(company, WEDNESDAY) == there


def test_a_coat_that_nobody_could_begin_as_it_was_wet_underneath_took_nothing(
    company: Company,
) -> None:
    visit = Visit.objects.filter(company=company).order_by("starts_at")[0]
    row = {**visit.content["tasks"][0]}
    room = row["key"].split(":")[0]
    visit.content["tasks"] = [{**row, "key": f"{room}:{Stage.SECOND}", "stage": Stage.SECOND}]
    visit.save()
    assert left(company, WEDNESDAY) == 60
    Report.objects.create(
        company=company,
        crew=visit.crew,
        kind=Report.Kind.NOT_DRY,
        key=f"{room}:{Stage.TAPE}",
        at=visit.starts_at,
        said_at=visit.starts_at,
    )
    assert left(company, WEDNESDAY) == 100


@pytest.mark.parametrize(
    ("day", "there"), [(date(2026, 3, 3), 60), (date(2026, 3, 4), 100), (None, 100)]
)
def test_what_was_opened_before_the_count_is_in_it(
    company: Company, day: date | None, there: float
) -> None:
    """Counted on the morning of the visit's day, on the next, or nobody knows when."""
    StockLine.objects.update(counted_on=day)
    assert left(company, WEDNESDAY) == there


def test_packs_on_their_way_are_whole_until_they_come(company: Company) -> None:
    StockLine.objects.update(arrives_on=date(2026, 3, 4))
    assert left(company, WEDNESDAY) == 100


def test_orders_late_visits_and_vans_go_by_what_there_is(company: Company) -> None:
    """Friday's 60 kg: 10 from Tuesday's second pail, and the three left. With two of them gone
    elsewhere before the count, or Tuesday's work undone, vans and orders are others."""
    crew = Crew.objects.get(company=company)
    assert not company_material(company=company, now=WEDNESDAY).lines
    StockLine.objects.update(packs=4)
    (line,) = company_material(company=company, now=WEDNESDAY).lines
    assert line.packs == ((20.0, 1),)
    assert len(late_visits(company=company, now=WEDNESDAY)) == 1
    say(company, Report.Kind.NOT_DONE)
    assert not company_material(company=company, now=WEDNESDAY).lines
    loads = loads_of_crew(crew, read_catalogue(company), now=WEDNESDAY)
    friday = loads.by_visit[loads.visits[-1].key][0].drawn
    assert friday is not None
    assert (friday.from_open, friday.opened) == (0.0, (20.0,) * 3)


def test_plans_that_wait_for_material_count_what_is_left_and_what_is_open(company: Company) -> None:
    """A sack of two tonnes, of which Tuesday takes the half: the rest is in the van, and does for
    the house as long as it keeps."""
    visit = Visit.objects.filter(company=company).order_by("starts_at")[0]
    visit.house = House.objects.get(company=company, name="Ash Row")
    (row,) = visit.content["tasks"]
    base = Compound.objects.get(company=company, name="Setting base, 90 min working")
    row |= {**uses(1000.0, base.name), "key": f"{visit.public_id}:tape"}
    visit.save()
    StockLine.objects.update(compound=base, pack_size=2000, packs=1)

    def closed(keeps_days: int, packs: float = 2000.0) -> bool:
        Compound.objects.filter(pk=base.pk).update(
            awaited=True, lead_days=10, pack_kg=[packs], opened_days=keeps_days
        )
        return bool(build_inputs(company=company, now=WEDNESDAY).delivered)

    assert not closed(60)
    assert closed(0)
    assert not closed(0, packs=1000.0)
    say(company, Report.Kind.NOT_DONE)
    assert not closed(0)


def test_a_count_without_a_day_is_of_today_and_of_no_day_to_come(company: Company) -> None:
    line = StockLine.objects.get(company=company)
    today = MONDAY.date() + DAY

    def saved(row: StockLine | None, **values: object) -> StockLine:
        version = row.version if row else 0
        return save_stock(company=company, line=row, version=version, values=values, today=today)

    assert saved(line, arrives_on=date(2026, 3, 2)).counted_on == MONDAY.date()
    assert saved(line, packs=3).counted_on == today
    assert saved(line, packs=4, counted_on=MONDAY.date()).counted_on == MONDAY.date()
    new = {"compound": line.compound, "pack_size": 20, "packs": 1, "arrives_on": today}
    assert saved(None, **new).counted_on == today
    with pytest.raises(InputFaults) as refused:
        saved(line, counted_on=today + DAY)
    assert [fault.place for fault in refused.value.faults] == ["counted_on"]
