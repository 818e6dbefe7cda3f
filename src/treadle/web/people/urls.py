"""Addresses of the way in, of the people and of the shop."""

from __future__ import annotations

from django.urls import path

from treadle.web.people import entrance, shop_views, views

app_name = "people"
urlpatterns = [
    path("", entrance.home, name="home"),
    path("sign-in/", entrance.sign_in, name="sign_in"),
    path("sign-out/", entrance.sign_out, name="sign_out"),
    path("language/", entrance.choose_language, name="language"),
    path("welcome/", entrance.welcome, name="welcome"),
    path("me/", views.own, name="own"),
    path("me/password/", views.password, name="password"),
    path("people/", views.people, name="list"),
    path("people/add/", views.add, name="add"),
    path("people/<uuid:person>/", views.one, name="one"),
    path("people/<uuid:person>/give-role/", views.give_role, name="give_role"),
    path("people/<uuid:person>/reset-password/", views.reset_password, name="reset_password"),
    path("people/<uuid:person>/let-go/", views.let_go, name="let_go"),
    path("people/<uuid:person>/take-back/", views.take_back, name="take_back"),
    path("people/<uuid:person>/qualify/", views.qualify, name="qualify"),
    path("people/roles/<uuid:held>/end/", views.end_role, name="end_role"),
    path("people/qualifications/<uuid:qualification>/", views.correct_qualification, name="correct_qualification"),
    path("shop/", shop_views.shop, name="shop"),
    path("shop/policy/", shop_views.policy, name="policy"),
    path("shop/limits/", shop_views.limits, name="limits"),
    path("shop/limits/<str:rule>/", shop_views.confirm, name="confirm"),
    path("shop/confirmations/<uuid:confirmation>/take-back/", shop_views.unconfirm, name="unconfirm"),
]
