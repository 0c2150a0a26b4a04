"""What a crew taps and types on a visit: a form for each action."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Any, ClassVar
from uuid import uuid4

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from api.web.air_form import TypedNumber
from api.web.sent_form import NOT_WHOLE, SentForm
from finishing.rules.vocabulary import Readiness
from scheduling.crew_word_wording import REASONS
from scheduling.models import Obstacle, SentReport
from scheduling.models.crew_word import MOST_PEOPLE
from scheduling.wording import Codes, readiness_name

Action = SentReport.Action
AGAIN = (
    ("", _("as the office has set")),
    ("2", _("in 2 hours")),
    ("4", _("in 4 hours")),
    ("24", _("tomorrow at this hour")),
)


class TapForm(SentForm):
    """What every action on a visit sends."""

    action: ClassVar[Action]

    def __init__(self, tasks: Sequence[Codes], data: Any = None, **more: Any) -> None:
        super().__init__(data, **{"initial": {"sent_as": uuid4()}, **more})
        self.tasks = tasks
        self.is_spent = False
        """Whether its id has been taken by something else that was said."""

    def form_id(self) -> str:
        """Return the form's id; another where the one sent is none or is spent."""
        spent = self.is_spent or (self.is_bound and self.has_error("sent_as"))
        return str(uuid4() if spent else self["sent_as"].value())

    def faults(self) -> list[str]:
        """Return all that is wrong, in order."""
        return [str(text) for texts in self.errors.values() for text in texts]


class StartedForm(TapForm):
    action = Action.STARTED


@dataclass(frozen=True)
class RoomLeft:
    """What is left of one task, as typed."""

    key: str
    left: forms.BoundField
    hours: forms.BoundField


class FinishedForm(TapForm):
    """For each task whether something is left, and how many hours of it; blank for all of it. How
    many people were there; blank for as many as planned."""

    action = Action.FINISHED
    people = forms.IntegerField(
        required=False,
        min_value=1,
        max_value=MOST_PEOPLE,
        error_messages={
            "invalid": _("How many of you were there?"),
            "min_value": _("How many of you were there?"),
            "max_value": _("How many of you were there?"),
        },
    )

    def __init__(self, tasks: Sequence[Codes], data: Any = None, **more: Any) -> None:
        super().__init__(tasks, data, **more)
        for task in tasks:
            self.fields[f"left:{task['key']}"] = forms.BooleanField(required=False)
            hours = TypedNumber(
                required=False,
                min_value=0,
                max_value=99,
                error_messages={
                    "min_value": _("Hours cannot be less than none."),
                    "max_value": _("These are more hours than any room takes."),
                },
            )
            self.fields[f"hours:{task['key']}"] = hours

    def rooms(self) -> Iterator[RoomLeft]:
        for task in self.tasks:
            key = task["key"]
            yield RoomLeft(key, self[f"left:{key}"], self[f"hours:{key}"])

    def left(self) -> dict[str, int | None]:
        """Return by task key the minutes left, None for all of it. Hours alone say so too."""
        said = {}
        for task in self.tasks:
            hours = self.cleaned_data[f"hours:{task['key']}"]
            if hours or self.cleaned_data[f"left:{task['key']}"]:
                said[task["key"]] = round(hours * 60) if hours else None
        return said


class NotDryForm(TapForm):
    """In which rooms the coat under the work is not dry, and when the crew will look again."""

    action = Action.NOT_DRY
    wet = forms.MultipleChoiceField(
        error_messages={"required": _("Choose the rooms."), "invalid_choice": NOT_WHOLE}
    )
    again = forms.ChoiceField(choices=AGAIN, required=False)

    def __init__(self, tasks: Sequence[Codes], data: Any = None, **more: Any) -> None:
        super().__init__(tasks, data, **more)
        wet = self.fields["wet"]
        assert isinstance(wet, forms.MultipleChoiceField)
        wet.choices = [(task["key"], task["room"]) for task in tasks]

    def again_in(self) -> timedelta | None:
        hours = self.cleaned_data["again"]
        return timedelta(hours=int(hours)) if hours else None


class CannotWorkForm(TapForm):
    """Why the crew cannot work; what is not ready, where that is why."""

    action = Action.CANNOT_WORK
    reason = forms.ChoiceField(
        choices=[*REASONS.items()],
        error_messages={"required": _("Choose why."), "invalid_choice": NOT_WHOLE},
    )
    item = forms.ChoiceField(required=False)
    note = forms.CharField(required=False, max_length=500)
    photo = forms.FileField(required=False)

    def __init__(self, tasks: Sequence[Codes], data: Any = None, **more: Any) -> None:
        super().__init__(tasks, data, **more)
        item = self.fields["item"]
        assert isinstance(item, forms.ChoiceField)
        item.choices = [("", ""), *((line.value, readiness_name(line)) for line in Readiness)]

    def clean(self) -> dict[str, Any]:
        said = self.cleaned_data
        if said.get("reason") == Obstacle.Reason.NOT_READY:
            if not (said.get("item") or said.get("note")):
                self.add_error("item", gettext("Say what is not ready."))
        elif "item" in said:
            said["item"] = ""
        return said


class ExtraWorkForm(TapForm):
    """Work that was in no plan."""

    action = Action.EXTRA_WORK
    what = forms.CharField(max_length=300, error_messages={"required": _("Say what it was.")})
    hours = TypedNumber(
        min_value=0.1,
        max_value=200,
        error_messages={
            "required": _("Say how many hours."),
            "min_value": _("Say how many hours."),
            "max_value": _("These are too many hours."),
        },
    )


FORMS: dict[str, type[TapForm]] = {
    form.action: form
    for form in (StartedForm, FinishedForm, NotDryForm, CannotWorkForm, ExtraWorkForm)
}
