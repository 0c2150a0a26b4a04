"""Addresses of the whole project."""

from django.contrib import admin
from django.urls import include, path
from django.views.generic import RedirectView

handler500 = "api.web.failure_views.failed"
urlpatterns = [
    # One way in for all: the admin's own sign-in counts no tries and asks for no second step.
    path("admin/login/", RedirectView.as_view(pattern_name="web:sign_in", query_string=True)),
    path("admin/", admin.site.urls),
    path("api/v1/", include("api.rest.urls")),
    path("feeds/", include("api.feeds.urls")),
    path("", include("api.probes.urls")),
    path("", include("api.web.urls")),
]
