"""Feed addresses."""

from django.urls import path

from api.feeds.views import feed

app_name = "feeds"
urlpatterns = [path("<str:secret>/<str:_slug>.ics", feed, name="feed")]
