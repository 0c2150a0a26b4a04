"""/api/v1/extra-work/: what crews did that was in no plan, and that it is settled."""

from rest_framework import serializers

from api.rest.crew_words import CrewWords, CrewWordSerializer
from api.rest.fields import OwnRelated
from finishing.models import BuilderLine
from scheduling.models import ExtraWork


class ExtraWorkSerializer(CrewWordSerializer[ExtraWork]):
    what = serializers.CharField()
    person_minutes = serializers.IntegerField()
    builder_line = OwnRelated(
        BuilderLine, read_only=True, allow_null=True, help_text="that was made of it, if any"
    )


class ExtraWorks(CrewWords[ExtraWork]):
    """Extra work that crews noted; open until somebody settles it, or makes it a builder line."""

    model = ExtraWork
    lookup_value_converter = "extra_work"
    serializer_class = ExtraWorkSerializer
    related = (*CrewWords.related, "builder_line")
