from django.urls import path

from assembly.bench import (
    build_views,
    find_views,
    layout_views,
    override_views,
    sign_views,
    split_views,
    views,
)
from assembly.bench.weighing import views as weighing
from assembly.consequences import policy_views
from assembly.shelf_pages import package_views
from assembly.singles import views as singles

urlpatterns = [
    path("find/", find_views.find_page, name="find"),
    path("instruments/<str:item_number>/", singles.single_page, name="instrument"),
    path(
        "instruments/<str:item_number>/passed-over/",
        singles.passed_over,
        name="instrument_passed_over",
    ),
    path(
        "sets/<str:code>/count-sheets/<int:revision>/weight/",
        views.draft_weight,
        name="draft_weight",
    ),
    path("instruments/<str:item_number>/pack/", singles.pack_moved, name="pack"),
    path("sets/<str:code>/", views.set_page, name="set"),
    path("sets/<str:code>/layout/", layout_views.layout_page, name="set_layout"),
    path("sets/<str:code>/passed-over/", views.set_passed_over, name="set_passed_over"),
    path("sets/<str:code>/split/", split_views.split_page, name="split"),
    path("sets/<str:code>/split/drafts/", split_views.draft_split, name="split_drafts"),
    path("sets/<str:code>/weighing/", weighing.weighing_page, name="set_weighing"),
    path("sets/<str:code>/weighing/act/", weighing.act_on_weighing, name="set_weighing_act"),
    path("sets/<str:code>/build/", build_views.start_build, name="build_start"),
    path("builds/<int:pk>/", build_views.build_page, name="build"),
    path("builds/<int:pk>/now/", build_views.build_now, name="build_now"),
    path("builds/<int:pk>/scan/", build_views.scan, name="build_scan"),
    path("builds/<int:pk>/act/", build_views.act, name="build_act"),
    path("builds/<int:pk>/pack/", sign_views.pack_build, name="build_pack"),
    path("builds/<int:pk>/reopen/", sign_views.reopen_build, name="build_reopen"),
    path("builds/<int:pk>/give-up/", sign_views.give_up_build, name="build_give_up"),
    path("questions/<int:pk>/sign/", override_views.sign_override, name="question_sign"),
    path("packages/<str:code>/", package_views.package_page, name="package"),
    path("packages/<str:code>/seal/", package_views.seal_package, name="package_seal"),
    path("packages/<str:code>/alike/", singles.alike_page, name="alike"),
    path("packages/<str:code>/alike/seal/", singles.seal_alike, name="seal_alike"),
    path("packages/<str:code>/void/", package_views.void_package, name="package_void"),
    path("requests/<str:kind>/<int:pk>/close/", package_views.close_request, name="request_close"),
    path("bench/settings/", package_views.switch_setting, name="bench_setting"),
    path("units/", views.choose_units, name="units"),
    path("policy/", policy_views.policy_page, name="policy"),
    path("policy/set/", policy_views.override, name="policy_set"),
    path("policy/preset/", policy_views.take_preset, name="policy_preset"),
]
