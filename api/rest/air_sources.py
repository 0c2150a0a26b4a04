"""/api/v1/air-sources/: where a company's air comes from."""

from rest_framework import serializers

from api.rest.fields import Text
from api.rest.rows import Rows
from api.rest.serializers import RowSerializer
from finishing.models import AirSource


class AirSourceSerializer(RowSerializer[AirSource]):
    name = Text(max_length=140)
    kind = serializers.ChoiceField(AirSource.Kind.choices)


class AirSources(Rows[AirSource]):
    """Stations, loggers, forecasts and what people read in houses."""

    model = AirSource
    lookup_value_converter = "air_source"
    serializer_class = AirSourceSerializer
