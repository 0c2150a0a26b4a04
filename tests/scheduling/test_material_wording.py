"""What a crew loads for a visit, in words."""

from finishing.queries.materials import Item
from finishing.rules.carry import Use, carry
from scheduling.material_wording import TIMES, load_lines
from scheduling.measures import METRIC
from scheduling.services.van_loads import Load

SHEETS = Item("supply:1", "Sanding sheets", "each", (10.0,), (), None, 0, awaited=False)
TAPE = Item("supply:2", "Paper tape", "m", (75.0,), (), None, 0, awaited=False)


def loaded(item: Item, *amounts: float) -> list[str]:
    uses = [Use(str(day), "Ash Row", day, amount) for day, amount in enumerate(amounts)]
    drawn = carry(uses, item.sizes)
    return load_lines([Load(item, one.use.amount, one) for one in drawn], [], METRIC)


def test_what_is_counted_is_loaded_whole() -> None:
    assert loaded(SHEETS, 1.6, 1.001) == [
        f"Sanding sheets, 2 pcs: load 1 {TIMES} 10 pcs",
        "Sanding sheets, 1 pcs: 1 pcs from what is open",
    ]


def test_what_is_measured_is_loaded_as_it_is_used() -> None:
    assert loaded(TAPE, 40.25, 10.0) == [
        f"Paper tape, 40.2 m: load 1 {TIMES} 75 m",
        "Paper tape, 10 m: 10 m from what is open",
    ]
