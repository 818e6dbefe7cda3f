"""Addresses of dispatch."""

from __future__ import annotations

from django.urls import path

from treadle.web.dispatch.views import board, check, couple, yard

app_name = "dispatch"

urlpatterns = [
    path("", board.board, name="board"),
    path("check/", check.check, name="check"),
    path("let-go/", check.let_go, name="let_go"),
    path("wanted/", check.wanted, name="wanted"),
    path("couple/", couple.couple, name="couple"),
    path("uncouple/", couple.uncouple, name="uncouple"),
    path("releases/<uuid:pk>/", check.release, name="release"),
    path("releases/<uuid:pk>/release.pdf", check.release_pdf, name="release_pdf"),
    path("units/<str:number>/tag.pdf", yard.tag, name="tag"),
    path("units/<str:number>/order/", yard.order, name="order"),
]
