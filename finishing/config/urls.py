"""Addresses of the whole project."""

from django.contrib import admin
from django.urls import include, path

urlpatterns = [
    path("admin/", admin.site.urls),
    path("api/v1/", include("api.rest.urls")),
    path("feeds/", include("api.feeds.urls")),
    path("", include("api.web.urls")),
]
