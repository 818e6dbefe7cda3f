"""Addresses of the driver's door; a number never begins with a hyphen, so what is no unit stands behind one."""

from __future__ import annotations

from django.urls import path

from treadle.web.dispatch.views import driver, reports

app_name = "driver"

urlpatterns = [
    path("", driver.door, name="door"),
    path("-/reports/<uuid:pk>/", reports.one, name="one"),
    path("-/reports/<uuid:pk>/answer/", reports.answer, name="answer"),
    path("-/reports/<uuid:pk>/review/", reports.review, name="review"),
    path("-/reports/<uuid:pk>/photo.jpg", reports.photo, name="photo"),
    path("-/reports/<uuid:pk>/report.pdf", reports.paper, name="paper"),
    path("<str:number>/", driver.choose, name="choose"),
    path("<str:number>/defect/", driver.defect, name="defect"),
    path("<str:number>/nothing-found/", driver.nothing_found, name="nothing_found"),
]
