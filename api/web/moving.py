"""The page on which a visit is moved by hand: where it is, where it could go, what comes of it."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from api.web.move_form import MoveForm
from api.web.visits import VisitCard, visit_card
from finishing.queries.companies import can_plan
from scheduling.models import Pin, PlanRun
from scheduling.move_wording import (
    answer_sentence,
    gives_way_sentence,
    piece_sentence,
    pinned_sentence,
    spot_text,
    why_it_stays,
)
from scheduling.queries.pins import pins_of_tasks
from scheduling.queries.planned_visits import PlannedVisit
from scheduling.queries.runs import unfinished_run
from scheduling.queries.visits import Block
from scheduling.services.moving import MoveAnswer, Spot, pins_seen


@dataclass(frozen=True)
class Answer:
    """Whether a visit holds at a spot, and is pinned there. reasons: of each piece that cannot be
    moved. nearest, to: the spot that would do, in words and as its button sends it. gives_way:
    visits that cannot stay then."""

    holds: bool
    said: str
    is_there: bool
    is_frozen: bool = False
    reasons: list[str] = field(default_factory=list)
    nearest: str = ""
    to: str = ""
    gives_way: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class MovePage:
    """All that the page shows. stays: why the visit cannot be moved, "" where it can. seen: what
    tells its pins from later ones. pinned: to what it is pinned, with the id of a pin.

    moved_on: whether the visit is of an old plan; then go_on is the address of the visit with the
    same work in the plan as it is, with what was typed; "" where the plan has none.
    """

    visit_id: UUID
    house_id: UUID
    house: str
    card: VisitCard
    planned: str
    form: MoveForm
    stays: str
    seen: str
    pinned: str
    pin_id: UUID | None
    answer: Answer | None
    moved_on: bool
    go_on: UUID | None
    go_on_to: str
    run: PlanRun | None
    can_plan: bool


def move_page(
    visit: PlannedVisit, form: MoveForm, answer: MoveAnswer | None, *, now: datetime
) -> MovePage:
    """Return the page of a visit with a form and the answer to what is in it."""
    company, block = visit.company, visit.block
    pins = pins_of_tasks(company, visit.keys)
    typed = form.spot() if form.is_bound and form.is_valid() else None
    return MovePage(
        visit_id=visit.public_id,
        house_id=block.house.public_id,
        house=block.house.name,
        card=visit_card(block),
        planned=spot_text(here(block)),
        form=form,
        stays=why_it_stays(block, now),
        seen=pins_seen(visit),
        pinned=pinned_sentence(block, {pin.key: pin for pin in pins}, now),
        pin_id=pins[0].public_id if pins else None,
        answer=_answer(answer, pins) if answer else None,
        moved_on=not visit.is_current,
        go_on=visit.now.public_id if visit.now else None,
        go_on_to=to_text(typed) if typed else "",
        run=unfinished_run(company),
        can_plan=can_plan(company),
    )


def here(block: Block) -> Spot:
    """Return where a visit is now."""
    return Spot(block.crew, block.tasks[0].starts_at)


def to_text(spot: Spot) -> str:
    """Return a spot as buttons and the drawing send it."""
    return f"{spot.crew.public_id}@{int(spot.starts_at.timestamp())}"


def _answer(answer: MoveAnswer, pins: Sequence[Pin]) -> Answer:
    return Answer(
        holds=answer.holds,
        said=answer_sentence(answer),
        is_there=answer.spot in [Spot(pin.crew, pin.starts_at) for pin in pins[:1]],
        is_frozen=answer.is_frozen,
        reasons=[piece_sentence(one) for one in answer.stays],
        nearest=spot_text(answer.nearest) if answer.nearest else "",
        to=to_text(answer.nearest) if answer.nearest else "",
        gives_way=[gives_way_sentence(one) for one in answer.gives_way],
    )
