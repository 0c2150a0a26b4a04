"""The house page's answers on water: how much there is to come, and what keeps up with it."""

from dataclasses import dataclass

from scheduling.cautions_wording import heater_cautions
from scheduling.services.water_answers import WaterAnswers
from scheduling.water_wording import flame_sentence, load_sentences, number, water_sentences
from scheduling.wording import stage_name


@dataclass(frozen=True)
class StageLine:
    """A row of the table."""

    stage: str
    litres: str
    water_kg: str


@dataclass(frozen=True)
class WaterPart:
    """All that the section shows."""

    stages: list[StageLine]
    sentences: list[str]
    loads: list[list[str]]
    flame: list[str]
    """What a flame heater adds, with its caution; empty without one."""


def water_part(answers: WaterAnswers) -> WaterPart | None:
    """Return the section of a house's page; None where no coat is left and no flame burns."""
    flame = flame_sentence(answers)
    if not answers.stages and not flame:
        return None
    return WaterPart(
        stages=[
            StageLine(stage_name(row.stage), number(row.litres, 0), number(row.water_kg, 0))
            for row in answers.stages
        ],
        sentences=water_sentences(answers),
        loads=[load_sentences(load, answers.dryers) for load in answers.loads],
        flame=[flame, *heater_cautions([True])] if flame else [],
    )
