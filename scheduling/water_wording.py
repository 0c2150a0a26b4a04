"""What keeps up with a house's water, as sentences."""

from django.utils.formats import number_format
from django.utils.functional import Promise
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from finishing.rules.keeping_up import HeldAir
from scheduling.services.water_answers import AskedDryer, Load, WaterAnswers
from scheduling.wording import listed, stage_name

_LOADS: dict[bool, Promise] = {
    True: _("The wettest visit of the plan (%(stages)s, %(kg)s kg of water)"),
    False: _("The wettest stage, all rooms at once (%(stages)s, %(kg)s kg of water)"),
}


def water_sentences(answers: WaterAnswers) -> list[str]:
    """Say how much water is to come, and the air in which the answers hold."""
    said = [
        gettext("The coats still to do leave %(kg)s kg of water, in %(litres)s litres of compound.")
        % {"kg": number(answers.water_kg, 0), "litres": number(answers.litres, 0)}
    ]
    if answers.held is None:
        return [
            *said,
            gettext("No outdoor air is known here, so nothing is said of what dries it."),
        ]
    return [*said, _held_sentence(answers.held, until_closed=answers.until_closed)]


def _held_sentence(held: HeldAir, *, until_closed: bool) -> str:
    said = gettext(
        "Worked out for air held at %(c)s °C and %(rh)s %%, %(changes)s air changes an hour in "
        "%(m3)s m³, and outdoors %(out_c)s °C and %(out_rh)s %%, the mean of the week to come."
    ) % {
        "c": number(held.temperature_c, 0),
        "rh": number(100 * held.humidity, 0),
        "changes": number(held.air_changes_per_h, 1),
        "m3": number(held.volume_m3, 0),
        "out_c": number(held.outdoor_c, 0),
        "out_rh": number(100 * held.outdoor_humidity, 0),
    }
    if not until_closed:
        return said
    return said + " " + gettext("The house is an open shell: it holds once it is closed.")


def load_sentences(load: Load, dryers: tuple[AskedDryer, ...]) -> list[str]:
    """Say what a load gives off, and what keeps up with it."""
    return [
        _given_off(load),
        *(
            _dryers_sentence(dryer, count)
            for dryer, count in zip(dryers, load.answer.dryers, strict=True)
        ),
        _air_change_sentence(load.answer.air_changes_per_h),
    ]


def _given_off(load: Load) -> str:
    answer = load.answer
    what = str(_LOADS[load.visit]) % {
        "stages": listed([stage_name(stage) for stage in load.stages]),
        "kg": number(answer.water_kg, 0),
    }
    values = {
        "what": what,
        "off": number(answer.given_off_kg_per_h, 1),
        "flame": number(answer.flame_kg_per_h, 1),
        "out": number(abs(answer.carried_out_kg_per_h), 1),
    }
    said = gettext("%(what)s gives off %(off)s kg an hour while it dries.") % values
    if answer.flame_kg_per_h:
        said += " " + gettext("The flame heater adds %(flame)s kg an hour.") % values
    if answer.carried_out_kg_per_h < 0:
        return said + " " + gettext("Air change brings in %(out)s kg an hour.") % values
    return said + " " + gettext("Air change carries out %(out)s kg an hour.") % values


def _dryers_sentence(dryer: AskedDryer, count: int | None) -> str:
    if count == 0:
        return gettext("%(name)s: none needed.") % {"name": dryer_name(dryer)}
    if count is None:
        return gettext("%(name)s: takes nothing out of that air.") % {"name": dryer_name(dryer)}
    said = ngettext("%(name)s: %(n)s keeps up", "%(name)s: %(n)s keep up", count)
    values = {"name": dryer_name(dryer), "n": count, "owned": dryer.count}
    if not dryer.name:
        return said % values + "."
    return said % values + gettext(" (you have %(owned)s).") % values


def dryer_name(dryer: AskedDryer) -> str:
    """Return a dehumidifier's name; the example says what it is."""
    return dryer.name or gettext("A dehumidifier of %(litres)s litres a day, as an example") % {
        "litres": number(dryer.litres_per_day, 0)
    }


def _air_change_sentence(changes: float | None) -> str:
    if changes is None:
        return gettext("By air change alone: none does; the air outside holds as much water.")
    return gettext("By air change alone: %(changes)s an hour.") % {"changes": number(changes, 1)}


def flame_sentence(answers: WaterAnswers) -> str:
    """Say what a flame heater does to the air; "" for a house without one."""
    if answers.flame_kg_per_kwh is None:
        return ""
    values = {"kg": number(answers.flame_kg_per_kwh, 3)}
    said = gettext("Its flame heater adds %(kg)s kg of water for each kWh of heat") % values
    if answers.flame_kg_per_h is None:
        return said + "."
    values = {"h": number(answers.flame_kg_per_h, 1), "day": number(24 * answers.flame_kg_per_h, 0)}
    return said + gettext(": %(h)s kg an hour at full heat, %(day)s kg a day.") % values


def number(value: float, decimals: int) -> str:
    """Return a rounded number in the reader's own notation."""
    return number_format(round(value, decimals), decimals)
