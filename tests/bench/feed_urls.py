"""The project's addresses, with an empty one to measure others by."""

from django.http import HttpRequest, HttpResponse
from django.urls import path

from finishing.config import urls


def nothing(request: HttpRequest) -> HttpResponse:
    return HttpResponse()


urlpatterns = [path("nothing/", nothing), *urls.urlpatterns]
