"""Addresses for whoever runs the server."""

from django.urls import path

from api.probes.views import alive, metrics, ready

app_name = "probes"
urlpatterns = [
    path("healthz", alive, name="alive"),
    path("readyz", ready, name="ready"),
    path("metrics", metrics, name="metrics"),
]
