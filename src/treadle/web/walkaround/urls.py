"""Addresses of the walk-around's screens."""

from __future__ import annotations

from django.urls import path

from treadle.web.walkaround import results, views

app_name = "walkaround"
urlpatterns = [
    path("", views.walks, name="list"),
    path("begin/", views.choose, name="choose"),
    path("begin/<path:number>/", views.begin, name="begin"),
    path("file/", results.hand_in_file, name="file"),
    path("set-aside/", results.set_aside, name="set_aside"),
    path("set-aside/<uuid:pk>/settle/", results.settle, name="settle"),
    path("report.css", results.report_css, name="report_css"),
    path("photos/<uuid:pk>.jpg", results.photo, name="photo"),
    path("<uuid:pk>/", results.one, name="one"),
    path("<uuid:pk>/walk/", views.walk, name="walk"),
    path("<uuid:pk>/keep/", views.keeper, name="keep"),
    path("<uuid:pk>/finish/", results.finish_walk, name="finish"),
    path("<uuid:pk>/abandon/", results.abandon_walk, name="abandon"),
    path("<uuid:pk>/report.<str:kind>", results.report, name="report"),
]
