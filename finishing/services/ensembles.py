"""Writing the ensemble of a forecast."""

from datetime import datetime

from finishing.models import AirSource, ForecastEnsemble
from finishing.services.forecast_json import Forecast
from finishing.services.rows import put_row


def put_ensemble(*, source: AirSource, forecast: Forecast, now: datetime) -> None:
    """Keep the ensemble of a forecast fetched now, in the place of the one before.

    Where its members cannot be used, the one before stays; where it has none, as whoever set the
    address no longer asks for any, there is none any more.
    """
    ensemble = forecast.ensemble
    if not ensemble.given:
        ForecastEnsemble.objects.filter(source=source).delete()
    elif ensemble.members:
        put_row(
            ForecastEnsemble,
            match={"company": source.company, "source": source},
            values={
                "fetched_at": now,
                "first_hour": min(forecast.air),
                "members": [member.name for member in ensemble.members],
                "temperature_c": [member.temperature_c for member in ensemble.members],
                "humidity": [member.humidity for member in ensemble.members],
            },
        )
