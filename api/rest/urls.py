"""Addresses of the API."""

from django.urls import path
from drf_spectacular.views import SpectacularJSONAPIView

from api.rest.air import HouseAir
from api.rest.air_sources import AirSources
from api.rest.hours import AirSourceHours
from api.rest.odds import Odds
from api.rest.readings import HouseReadings
from api.rest.water import HouseWater

app_name = "rest"
urlpatterns = [
    path("houses/<house:public_id>/water/", HouseWater.as_view(), name="house_water"),
    path("houses/<house:public_id>/air/", HouseAir.as_view(), name="house_air"),
    path("houses/<house:public_id>/readings/", HouseReadings.as_view(), name="house_readings"),
    path("air-sources/", AirSources.as_view(), name="air_sources"),
    path(
        "air-sources/<air_source:public_id>/hours/", AirSourceHours.as_view(), name="source_hours"
    ),
    path("odds/", Odds.as_view(), name="odds"),
    path("schema/", SpectacularJSONAPIView.as_view(), name="schema"),
]
