"""Feed addresses."""

from django.urls import path

from api.feeds.views import crew_feed

app_name = "feeds"
urlpatterns = [path("<str:secret>/<str:_slug>.ics", crew_feed, name="crew")]
