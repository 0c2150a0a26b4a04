"""What a crew says of a visit from its page, and what the next plan makes of it."""

from collections.abc import Callable
from datetime import datetime, timedelta
from uuid import UUID, uuid4

import pytest

from finishing.models import Company
from finishing.rules.vocabulary import Stage
from finishing.services.errors import InputFaults
from scheduling.models import ExtraWork, Obstacle, Report, SentReport, Visit
from scheduling.services.for_the_office import Hindrance, say_cannot_work, say_extra_work
from scheduling.services.sent_reports import OtherReportError, Sent
from scheduling.services.unreported import unreported_work
from scheduling.services.visit_reports import say_finished, say_not_dry, say_started
from tests.factories import local
from tests.plans import plan_from, published_from, task_of
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db(transaction=True)
ROOMS = ("Hall", "Kitchen")
EVENING = local("2026-03-02 16:00")


@pytest.fixture
def visit() -> Visit:
    """Monday's visit: taping of two rooms with drying compound, from 7:00 on."""
    company, _ = make_site(rooms=ROOMS, system="All-purpose drying")
    company.freeze_days = 0
    company.save()
    published_from(company, MONDAY)
    return Visit.objects.select_related("crew__company", "house").earliest("starts_at")


def sent(visit: Visit, at: datetime, sent_as: UUID | None = None) -> Sent:
    return Sent(sent_as or uuid4(), visit.crew, visit, at, at)


def keys(visit: Visit) -> list[str]:
    return [task["key"] for task in visit.content["tasks"]]


def reported() -> list[tuple[str, str, int | None]]:
    """Return room, kind and minutes left of every report."""
    rooms = {
        task["key"]: task["room"]
        for visit in Visit.objects.all()
        for task in visit.content["tasks"]
    }
    return [(rooms[row.key], row.kind, row.minutes_left) for row in Report.objects.all()]


def planned_again(company: Company, now: datetime = EVENING) -> set[str]:
    tasks = plan_from(company, now).tasks.filter(stage=Stage.TAPE)
    return {task.details["room"] for task in tasks}


def test_started_is_said_of_the_first_room_once(visit: Visit) -> None:
    assert len(keys(visit)) == 2
    say_started(sent(visit, visit.starts_at))
    say_started(sent(visit, visit.starts_at + timedelta(minutes=2)))
    assert reported() == [("Hall", "started", None)]


def test_finished_is_said_of_every_room(visit: Visit) -> None:
    say_finished(sent(visit, visit.ends_at), {})
    assert reported() == [("Hall", "done", None), ("Kitchen", "done", None)]
    assert not list(unreported_work(company=visit.company, now=EVENING))


def test_what_is_left_is_planned_again(visit: Visit) -> None:
    say_finished(sent(visit, visit.ends_at), {keys(visit)[1]: 30})
    assert reported() == [("Hall", "done", None), ("Kitchen", "not_done", 30)]
    assert planned_again(visit.company) == {"Kitchen"}


def test_what_was_yet_to_begin_when_the_crew_left_is_planned_again(visit: Visit) -> None:
    kitchen = visit.content["tasks"][1]
    left_at = datetime.fromisoformat(kitchen["starts_at"]) - timedelta(minutes=20)
    say_finished(sent(visit, left_at), {kitchen["key"]: None})
    assert planned_again(visit.company) == {"Kitchen"}


def test_more_left_than_was_begun_leaves_no_work_that_ends_before_it_starts(visit: Visit) -> None:
    """The crew took the rooms in another order and did a little of the one planned for later."""
    kitchen = visit.content["tasks"][1]
    left_at = datetime.fromisoformat(kitchen["starts_at"]) - timedelta(minutes=20)
    say_finished(sent(visit, left_at), {kitchen["key"]: 30})
    rest = task_of(plan_from(visit.company, EVENING), Stage.TAPE, "Kitchen", part=2)
    assert 0 < rest.details["person_minutes"] < kitchen["person_minutes"]


def test_a_crew_that_cannot_work_has_done_nothing_of_its_visit(visit: Visit) -> None:
    """At seven, when the second room is yet to begin: in the evening neither counts as done."""
    say_cannot_work(sent(visit, visit.starts_at), Hindrance("not_ready", "heat", "no fuel"))
    assert planned_again(visit.company) == {*ROOMS}
    (obstacle,) = Obstacle.objects.all()
    assert (obstacle.house, obstacle.crew) == (visit.house, visit.crew)
    assert (obstacle.reason, obstacle.item, obstacle.note) == ("not_ready", "heat", "no fuel")


def test_what_was_done_before_the_obstacle_stays_done(visit: Visit) -> None:
    say_finished(sent(visit, visit.ends_at - timedelta(minutes=10)), {keys(visit)[1]: None})
    say_cannot_work(sent(visit, visit.ends_at), Hindrance("short"))
    assert planned_again(visit.company) == {"Kitchen"}


def test_work_called_off_and_given_again_counts_as_done_the_second_time(visit: Visit) -> None:
    say_cannot_work(sent(visit, visit.starts_at), Hindrance("no_way_in"))
    published_from(visit.company, EVENING)
    assert planned_again(visit.company, local("2026-03-03 16:00")) == set()


def test_not_dry_is_said_of_the_coat_under_the_work(visit: Visit) -> None:
    second = Visit.objects.filter(starts_at__gt=visit.ends_at).earliest("starts_at")
    task = second.content["tasks"][0]
    assert task["stage"] == Stage.SECOND
    say_not_dry(sent(second, second.starts_at), [task["key"]], timedelta(hours=2))
    (report,) = Report.objects.all()
    assert report.key == task["key"].replace(":second", ":tape")
    assert report.again_at == second.starts_at + timedelta(hours=2)


def test_the_first_coat_has_none_under_it(visit: Visit) -> None:
    with pytest.raises(InputFaults, match="no coat under"):
        say_not_dry(sent(visit, visit.starts_at), keys(visit)[:1], None)
    assert not SentReport.objects.exists(), "it can be put right and sent again"


def test_a_form_sent_again_counts_once(visit: Visit) -> None:
    """What the first stored is taken away: had the second counted, it would be there again."""
    says: list[Callable[[Sent], SentReport]] = [
        lambda form: say_finished(form, {keys(visit)[1]: 30}),
        lambda form: say_cannot_work(form, Hindrance("damage")),
        lambda form: say_extra_work(form, what="Patched a hole", person_minutes=45),
    ]
    for say in says:
        first = sent(visit, visit.ends_at)
        say(first)
        for rows in (Report, Obstacle, ExtraWork):
            rows._default_manager.all().delete()
        later = sent(visit, visit.ends_at + timedelta(minutes=1), first.sent_as)
        assert say(later).at == first.at
        assert not any(rows._default_manager.exists() for rows in (Report, Obstacle, ExtraWork))


def test_the_same_form_saying_something_else_is_refused(visit: Visit) -> None:
    form = sent(visit, visit.ends_at)
    say_extra_work(form, what="Patched a hole", person_minutes=45)
    with pytest.raises(OtherReportError):
        say_extra_work(form, what="Patched a hole", person_minutes=60)
    with pytest.raises(OtherReportError):
        say_started(form)
    assert ExtraWork.objects.get().person_minutes == 45
