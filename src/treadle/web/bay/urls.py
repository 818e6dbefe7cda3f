"""Addresses of the bay; the number of a job is none of the words that stand in its place."""

from __future__ import annotations

from django.urls import path

from treadle.web.bay.views import fitting, listing, page, papers, proposing, rechecks, releasing, shop, work

app_name = "bay"

urlpatterns = [
    path("", listing.jobs, name="list"),
    path("propose/", proposing.propose, name="propose"),
    path("places/", shop.places, name="places"),
    path("places/bays/<uuid:pk>/close/", shop.close_bay, name="close_bay"),
    path("places/tools/<uuid:pk>/", shop.tool, name="tool"),
    path("places/tools/<uuid:pk>/retire/", shop.retire, name="retire"),
    path("re-checks/", listing.re_checks, name="re_checks"),
    path("re-checks/<uuid:pk>/", rechecks.re_check, name="re_check"),
    path("re-checks/<uuid:pk>/strokes/", rechecks.take_strokes, name="take_strokes"),
    path("re-checks/<uuid:pk>/slip.pdf", papers.slip, name="slip"),
    path("re-checks/records/<uuid:pk>.jpg", rechecks.photo, name="photo"),
    path("<str:job>/", page.job_page, name="job"),
    path("<str:job>/accept/", page.accept, name="accept"),
    path("<str:job>/hand-over/", page.hand_over, name="hand_over"),
    path("<str:job>/add-task/", page.add_task, name="add_task"),
    path("<str:job>/drop/", page.drop, name="drop"),
    path("<str:job>/pause/", page.pause, name="pause"),
    path("<str:job>/begin/", work.begin, name="begin"),
    path("<str:job>/measure/", work.measure, name="measure"),
    path("<str:job>/steps/", work.current, name="steps"),
    path("<str:job>/steps/list/", work.steps_list, name="steps_list"),
    path("<str:job>/steps/<int:task>/pass-over/<path:step>/", work.pass_over, name="pass_over"),
    path("<str:job>/steps/<int:task>/<path:step>/", work.step, name="step"),
    path("<str:job>/parts/", fitting.parts, name="parts"),
    path("<str:job>/parts/<int:axle>/<str:side>/<str:slot>/", fitting.part, name="part"),
    path("<str:job>/release/", releasing.release, name="release"),
    path("<str:job>/card.pdf", papers.card, name="card"),
    path("<str:job>/release.pdf", papers.record, name="record"),
]
