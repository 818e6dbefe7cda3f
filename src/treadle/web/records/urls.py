"""Addresses of the Records."""

from __future__ import annotations

from django.urls import path

from treadle.web.records import views

app_name = "records"
urlpatterns = [
    path("", views.records, name="list"),
    path("seals.json", views.seals, name="seals"),
    path("units/<str:number>/", views.unit_file, name="unit"),
]
