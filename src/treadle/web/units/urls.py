"""Addresses of the units' screens; a number never begins with a hyphen, so what is no unit stands behind one."""

from __future__ import annotations

from django.urls import path

from treadle.web.units.views import listing, meter, page, papers, registering, wheel_end

app_name = "units"

urlpatterns = [
    path("", listing.units, name="list"),
    path("-/register/", registering.register_units, name="register"),
    path("<str:number>/", page.unit_page, name="unit"),
    path("<str:number>/edit/", registering.edit, name="edit"),
    path("<str:number>/leave/", registering.leave, name="leave"),
    path("<str:number>/return/", registering.back, name="return"),
    path("<str:number>/label/", page.label, name="label"),
    path("<str:number>/meter/", meter.meter, name="meter"),
    path("<str:number>/documents/", papers.documents, name="documents"),
    path("<str:number>/documents/<uuid:pk>/", papers.document, name="document"),
    path("<str:number>/axle/<int:axle>/<str:side>/", wheel_end.end, name="end"),
    path("<str:number>/axle/<int:axle>/<str:side>/copy/", wheel_end.copy, name="copy"),
    path("<str:number>/axle/<int:axle>/<str:side>/<str:slot>/", wheel_end.correct, name="correct"),
    path("<str:number>/axle/<int:axle>/<str:side>/<str:slot>/another/", wheel_end.another, name="another"),
]
