"""How long the answer takes to a visit moved by hand: ``uv run python -m tests.bench.moving``.

An invented company of 40 houses, each of another floor plan and air of its own, and eight crews,
whose plan is made without a search. Of every tenth visit to come it asks for a spot an hour later,
at the same hour of the next day, on a Sunday, and with another crew. Prints the processor's time of
the answer (median, 95th centile, longest), and whether each spot that was offered holds.
"""

import os
import tempfile
from datetime import timedelta
from statistics import quantiles
from time import process_time
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from finishing.models import Company
    from scheduling.queries.visits import Block
    from scheduling.services.moving import Spot

HOUSES, CREWS, EVERY = 40, 8, 10
ROOMS = ("Hall", "Kitchen", "Sitting room", "Landing", "Front bedroom", "Back bedroom")


def main() -> None:
    with tempfile.TemporaryDirectory() as var:
        os.environ["COATWEAVE_VAR"] = var
        os.environ["DJANGO_SETTINGS_MODULE"] = "finishing.config.settings"
        import django

        django.setup()
        from django.core.management import call_command

        call_command("migrate", verbosity=0)
        measure(big_company())


def big_company() -> "Company":
    """Make the company with its houses, crews and working plan."""
    from datetime import date

    from finishing.services.companies import start_company
    from tests.factories import ZONE, make_crew, make_house
    from tests.plans import first_plan
    from tests.sites import company_system, give_board, steady_air

    company = start_company(name="Forty Houses", zone=ZONE)
    for number in range(CREWS):
        make_crew(company, f"Crew {number + 1}")
    steady_air(company, temperature_c=12.0, humidity=0.8)
    for number in range(HOUSES):
        house = make_house(
            company,
            f"Alder Row {number + 1}",
            rooms=ROOMS[: 3 + number % 4],
            handover_on=date(2026, 3, 20) + timedelta(days=number),
            heating="heated",
            setpoint_c=18.0 + number % 4,
            volume_m3=250.0 + 10 * number,
            air_changes_per_h=0.5,
        )
        house.system = company_system(company, "All-purpose drying")
        house.save()
        give_board(house)
    first_plan(company)
    return company


def measure(company: "Company") -> None:
    """Print what the answers cost."""
    from scheduling.queries.planned_visits import blocks_to_come, planned_visit, visit_id
    from scheduling.queries.plans import working_plan
    from scheduling.services.moving import check_move
    from tests.sites import MONDAY

    plan = working_plan(company)
    assert plan
    blocks = blocks_to_come(plan, MONDAY)
    seconds, held, offered = [], 0, 0
    for block in blocks[::EVERY]:
        visit = planned_visit(company, visit_id(block))
        for spot in spots(block, blocks):
            start = process_time()
            answer = check_move(visit=visit, spot=spot, now=MONDAY)
            seconds.append(process_time() - start)
            held += answer.holds
            if answer.nearest:
                offered += 1
                again = check_move(visit=visit, spot=answer.nearest, now=MONDAY)
                assert again.holds, (visit.block, spot, answer.nearest)
    cuts = quantiles(seconds, n=20)
    print(  # noqa: T201 - a bench prints
        f"{len(blocks)} visits to come, {len(seconds)} spots: {held} hold, {offered} with another "
        f"offered, all of which hold; {1000 * cuts[9]:.0f} ms in the median, "
        f"{1000 * cuts[18]:.0f} in 19 of 20, {1000 * max(seconds):.0f} at most"
    )


def spots(block: "Block", blocks: "list[Block]") -> "Iterator[Spot]":
    """Yield where a visit might be wanted."""
    from scheduling.services.moving import Spot

    at = block.tasks[0].starts_at
    other = next(one.crew for one in blocks if one.crew != block.crew)
    yield Spot(block.crew, at + timedelta(hours=1))
    yield Spot(block.crew, at + timedelta(days=1))
    yield Spot(block.crew, at + timedelta(days=6 - at.weekday()))
    yield Spot(other, at)


if __name__ == "__main__":
    main()
