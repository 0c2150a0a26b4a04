"""The week's picture: work where the hours say, drying after it, the return on the dry hour."""

from datetime import UTC, date, datetime, timedelta
from xml.etree import ElementTree as ET

import pytest
from django.test import Client

from api.web.crew_drawing import RIGHT
from api.web.crew_picture import WeekPicture
from finishing.models import DayOff, Holiday
from finishing.rules.vocabulary import Stage
from tests.api.conftest import SignIn
from tests.factories import make_company, make_crew, make_house, make_plan, task

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def picture_of(client: Client, day: str = "2026-03-02") -> WeekPicture:
    picture = client.get(f"/week/{day}/").context["page"].picture
    assert isinstance(picture, WeekPicture)
    return picture


def of_class(markup: str, look: str) -> list[ET.Element]:
    return [part for part in ET.fromstring(markup).iter() if part.get("class") == look]


def bands(path: ET.Element) -> list[tuple[float, float]]:
    """Return from where to where each band of a path reaches."""
    parts = path.get("d", "").split("M")[1:]
    return [(float(p.split()[0]), float(p.partition("H")[2].partition("V")[0])) for p in parts]


def edges(box: ET.Element) -> tuple[float, float]:
    left = float(box.get("x", ""))
    return left, left + float(box.get("width", ""))


def corners(shape: ET.Element) -> list[tuple[float, float]]:
    pairs = (pair.split(",") for pair in shape.get("points", "").split())
    return [(float(x), float(y)) for x, y in pairs]


def test_drying_reaches_from_the_end_of_work_to_the_return_on_the_first_dry_hour(
    sign_in: SignIn,
) -> None:
    company = make_company()
    crew, house = make_crew(company), make_house(company)
    other = make_house(company, "Elm House")
    day_and_a_half = timedelta(hours=48)
    make_plan(
        company,
        [
            task(crew, house, "2026-03-02 08:00", ready_after=day_and_a_half),
            task(crew, other, "2026-03-03 08:00", ready_after=None),
            task(crew, house, "2026-03-04 10:00", stage=Stage.SECOND, ready_after=None),
        ],
    )
    [row] = picture_of(sign_in(company)).rows
    first, back, elsewhere = of_class(row.chart, "work")
    [wet] = of_class(row.chart, "wet")
    [dry] = of_class(row.chart, "dry")
    assert corners(wet)[0][0] == edges(first)[1], "it dries from the end of the work"
    assert corners(wet)[1][0] == edges(back)[0] == float(dry.get("cx", "")), "and is gone over dry"
    assert first.get("y") == back.get("y") != elsewhere.get("y"), "each house has a lane"
    assert edges(first)[1] < edges(elsewhere)[0] < edges(elsewhere)[1] < edges(back)[0]
    assert first.get("fill") == back.get("fill") != elsewhere.get("fill")


def test_a_lane_thins_from_the_first_dry_room_to_the_last(sign_in: SignIn) -> None:
    company = make_company()
    crew, house = make_crew(company), make_house(company, rooms=("Hall", "Kitchen"))
    make_plan(
        company,
        [
            task(crew, house, "2026-03-02 08:00", room="Hall"),
            task(crew, house, "2026-03-02 10:00", room="Kitchen"),
        ],
    )
    [row] = picture_of(sign_in(company)).rows
    [wet] = of_class(row.chart, "wet")
    (end, top), (first, _), (last, tip), *_ = corners(wet)
    assert end < first < last
    assert top < tip, "it ends in a point"
    [link] = ET.fromstring(row.chart).iter("a")
    assert link.get("aria-label") == (
        "North crew at Mill Cottage, Mon 2 Mar 08:00 to 12:00: Tape coat; "
        "first room dry or set Tue 3 Mar 10:00, last Tue 3 Mar 12:00"
    )
    assert link.get("href") == f"/houses/{house.public_id}/"


def test_what_dries_from_the_week_before_is_there_without_its_work(sign_in: SignIn) -> None:
    company = make_company()
    crew, house = make_crew(company), make_house(company)
    make_plan(company, [task(crew, house, "2026-02-27 08:00", ready_after=4 * DAY)])
    client = sign_in(company)
    [row] = picture_of(client).rows
    assert of_class(row.chart, "work") == []
    [wet] = of_class(row.chart, "wet")
    assert corners(wet)[1][0] > corners(wet)[0][0]
    assert picture_of(client, "2026-03-09").rows[0].chart == "", "by then it is dry"


def test_another_crew_that_takes_over_is_seen_hollow(sign_in: SignIn) -> None:
    company = make_company()
    north, south = make_crew(company, "North crew"), make_crew(company, "South crew")
    house = make_house(company)
    tasks = [
        task(north, house, "2026-03-02 08:00"),
        task(south, house, "2026-03-03 10:00", stage=Stage.SECOND),
    ]
    make_plan(company, tasks)
    for row in picture_of(sign_in(company)).rows:
        assert len(of_class(row.chart, "work")) == len(of_class(row.chart, "others")) == 1


@pytest.mark.parametrize(
    ("monday", "hours", "shape"),
    # The clocks of Ireland change at 01:00 UTC on the Sundays of these weeks: IANA database, 2026.
    [("2026-03-23", 35, "path"), ("2026-10-19", 37, "rect")],
)
def test_a_plan_across_a_clock_change_is_drawn_as_long_as_it_lasts(
    sign_in: SignIn, monday: str, hours: int, shape: str
) -> None:
    company = make_company()
    crew, house = make_crew(company), make_house(company)
    saturday = (datetime.fromisoformat(monday) + 5 * DAY).date()
    made = task(crew, house, f"{saturday} 20:00", minutes=120, ready_after=timedelta(hours=hours))
    make_plan(company, [made])
    client = sign_in(company)
    page = client.get(f"/week/{monday}/").context["page"]
    [row] = page.picture.rows
    [mark] = of_class(row.chart, "clocks")
    assert mark.tag == shape
    assert page.days[6].clocks.startswith("Clocks forward" if hours == 35 else "Clocks back")
    assert page.days[5].clocks == ""
    [wet] = of_class(row.chart, "wet")
    assert corners(wet)[1][0] == RIGHT, "still wet when the week ends"
    following = (datetime.fromisoformat(monday) + 7 * DAY).date()
    [row] = picture_of(client, str(following)).rows
    assert of_class(row.chart, "clocks") == []
    [dry] = of_class(row.chart, "dry")
    assert float(dry.get("cx", "")) > corners(of_class(row.chart, "wet")[0])[0][0]


def test_the_missing_hour_takes_no_room_in_the_night_it_is_missing_from(sign_in: SignIn) -> None:
    company = make_company()
    crew, house = make_crew(company), make_house(company)
    # 23 local hours lie between these two midnights, so that an hour is a 23rd of an idle day.
    sunday = date(2026, 3, 29)
    four = datetime(2026, 3, 29, 3, tzinfo=UTC)
    make_plan(
        company,
        [
            task(
                crew,
                house,
                "2026-03-27 08:00",
                ready_after=four - datetime(2026, 3, 27, 10, tzinfo=UTC),
            )
        ],
    )
    page = sign_in(company).get("/week/2026-03-23/").context["page"]
    assert page.days[6].day == sunday
    [row] = page.picture.rows
    [off] = of_class(row.chart, "off")
    left, right = bands(off)[-1]
    [dry] = of_class(row.chart, "dry")
    assert float(dry.get("cx", "")) == pytest.approx(left + (right - left) * 3 / 23, abs=0.1), (
        "04:00 on the wall is the third hour of that day"
    )


def test_days_off_holidays_and_today_are_seen(sign_in: SignIn) -> None:
    company = make_company()
    crew = make_crew(company)
    make_crew(company, "South crew")
    DayOff.objects.create(company=company, crew=crew, day=date(2026, 3, 3), reason="Training")
    Holiday.objects.create(company=company, day=date(2026, 3, 5), name="Founders Day")
    client = sign_in(company)
    picture = picture_of(client)
    north, south = picture.rows
    [off] = of_class(north.chart, "off")
    assert len(bands(off)) == 4, "Tuesday, the holiday, the weekend"
    assert "Day off: Training" in north.chart
    assert "Founders Day" in picture.head
    assert south.chart == "", "nothing to see"
    assert of_class(north.chart, "today") == of_class(north.chart, "now") == []


def test_hours_too_cold_for_coats_are_seen_in_the_lane_of_their_house(sign_in: SignIn) -> None:
    company = make_company()
    crew, house = make_crew(company), make_house(company)
    make_plan(
        company,
        [task(crew, house, "2026-03-02 08:00", ready_after=timedelta(hours=40))],
        cold_hours={
            "from": "2026-03-02T00:00:00+00:00",
            "houses": {str(house.public_id): [[20, 10], [48, 6]]},
        },
    )
    [row] = picture_of(sign_in(company)).rows
    [teeth] = of_class(row.chart, "cold")
    [wet] = of_class(row.chart, "wet")
    assert [round(right, 1) for _, right in bands(teeth)][-1] == corners(wet)[1][0], (
        "it matters until the coat is dry"
    )
    assert "Mill Cottage is below 10 °C for 12 hours." in row.chart


def test_names_of_narrow_days_are_cut_to_the_weekday(sign_in: SignIn) -> None:
    company = make_company()
    make_crew(company)
    names = [text.text for text in of_class(picture_of(sign_in(company)).head, "number")]
    assert names[:2] == ["Mon 2 Mar", "Tue 3 Mar"]
    assert names[-2:] == ["Sat", "Sun"]
