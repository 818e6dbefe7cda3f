"""The map of the site."""

from __future__ import annotations

from django.urls import URLPattern, URLResolver, include, path

from treadle.web.api import api, schema

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("treadle.web.people.urls")),
    path("units/", include("treadle.web.units.urls")),
    path("walkarounds/", include("treadle.web.walkaround.urls")),
    path("bay/", include("treadle.web.bay.urls")),
    path("records/", include("treadle.web.records.urls")),
    path("dispatch/", include("treadle.web.dispatch.urls")),
    path("driver/", include("treadle.web.dispatch.driver_urls")),
    path("api/openapi.json", schema, name="api_schema"),
    path("api/", api.urls),
]
