"""Coats by finish level, against the tables of the three families."""

from itertools import pairwise
from typing import NamedTuple

import pytest

from finishing.rules.levels import LevelCoats, UnknownLevel, coats_for, levels_of
from finishing.rules.vocabulary import Family, JointKind


class Row(NamedTuple):
    """A row of a published table: coats after the tape, or in all for fasteners and beads."""

    taped: bool
    flat: int
    internal: int
    fasteners: int
    beads: int
    whole_surface: str = ""


# GA-214 / ASTM C840, as read: tape counted apart; beads are optional at level 1.
GA_214 = {
    "0": Row(False, 0, 0, 0, 0),
    "1": Row(True, 0, 0, 0, 0),
    "2": Row(True, 0, 0, 1, 1),
    "3": Row(True, 1, 1, 2, 2),
    "4": Row(True, 2, 1, 3, 3),
    "5": Row(True, 2, 1, 3, 3, "skim"),
}
# AS/NZS 2589:2017, as read: level 3 two applications in all, level 4 tape + 2, level 5 a skim
# over level 4. Corners, fasteners and beads: common practice, no published source.
AS_NZS_2589 = {
    "3": Row(True, 1, 1, 2, 2),
    "4": Row(True, 2, 1, 3, 3),
    "5": Row(True, 2, 1, 3, 3, "skim"),
}
# IGG Merkblatt 2 / Eurogypsum, as read: Q1 fill, Q2 a finish pass more, Q3 a wider fill and a
# sharp scrape of the whole face, Q4 a coat over the whole surface. Counts per kind: common
# practice, no published source.
QUALITY = {
    "Q1": Row(True, 0, 0, 1, 1),
    "Q2": Row(True, 1, 1, 2, 2),
    "Q3": Row(True, 2, 1, 3, 3, "scrape"),
    "Q4": Row(True, 2, 1, 3, 3, "skim"),
}
TABLES = {Family.GA214: GA_214, Family.ASNZS2589: AS_NZS_2589, Family.QUALITY: QUALITY}
CASES = [(family, level, row) for family, rows in TABLES.items() for level, row in rows.items()]


@pytest.mark.parametrize(("family", "level", "row"), CASES)
def test_coats_follow_the_table(family: Family, level: str, row: Row) -> None:
    coats = coats_for(family, level)
    assert coats.taped is row.taped
    assert dict(coats.further) == {
        JointKind.TAPERED: row.flat,
        JointKind.BUTT: row.flat,
        JointKind.INTERNAL: row.internal,
        JointKind.FASTENERS: row.fasteners,
        JointKind.EXTERNAL: row.beads,
    }
    assert coats.skim is (row.whole_surface == "skim")
    assert coats.scrape is (row.whole_surface == "scrape")


@pytest.mark.parametrize("family", list(Family))
def test_levels_are_those_of_the_table_in_rising_order(family: Family) -> None:
    assert levels_of(family) == tuple(TABLES[family])


@pytest.mark.parametrize("family", list(Family))
def test_a_higher_level_never_asks_for_less(family: Family) -> None:
    def amount(coats: LevelCoats) -> list[int]:
        return [coats.coats(kind) for kind in JointKind] + [coats.sanded, coats.wiped]

    levels = [amount(coats_for(family, level)) for level in levels_of(family)]
    for lower, higher in pairwise(levels):
        assert all(a <= b for a, b in zip(lower, higher, strict=True))


def test_older_texts_count_the_tape_coat_in() -> None:
    # Older American texts: "two coats" at level 3, "three" at level 4, tape included.
    assert coats_for(Family.GA214, "3").coats(JointKind.TAPERED) == 2
    assert coats_for(Family.GA214, "4").coats(JointKind.TAPERED) == 3


@pytest.mark.parametrize(("level", "sanded"), [("2", False), ("3", True), ("4", True)])
def test_sanding_starts_at_level_3(level: str, sanded: bool) -> None:
    # AS/NZS 2589 level 4: sanded (read). Level 3: common practice, no published source.
    assert coats_for(Family.GA214, level).sanded is sanded


@pytest.mark.parametrize(
    ("family", "level"), [(Family.ASNZS2589, "2"), (Family.QUALITY, "4"), (Family.GA214, "Q3")]
)
def test_families_are_never_converted(family: Family, level: str) -> None:
    with pytest.raises(UnknownLevel) as caught:
        coats_for(family, level)
    message = str(caught.value)
    assert repr(level) in message
    assert all(known in message for known in levels_of(family))
    assert caught.value.known == levels_of(family)
