from django.urls import path

from assembly.planning import views as planning
from assembly.planning.lists import WetList
from assembly.shelf_pages import lot_views
from assembly.sterilizing import recall_views
from assembly.sterilizing import views as load_views

urlpatterns = [
    path("work-ahead/", planning.work_ahead, name="work_ahead"),
    path("wet-risk/", WetList.as_view(), name="wet_risk"),
    path("wet-risk/<str:code>/", planning.wet_set, name="wet_set"),
    path("loads/", load_views.list_page, name="loads"),
    path("loads/begin/", load_views.begin_load, name="load_begin"),
    path("loads/<int:pk>/", load_views.load_page, name="load"),
    path("loads/<int:pk>/act/", load_views.act, name="load_act"),
    path("recalls/", recall_views.recalls_page, name="recalls"),
    path("recalls/hold/", recall_views.hold, name="recall_hold"),
    path("recalls/<int:pk>/", recall_views.recall_page, name="recall"),
    path("recalls/<int:pk>/more/", recall_views.hold_more, name="recall_more"),
    path("recalls/notices/<int:pk>/read/", recall_views.read, name="recall_read"),
    path("lots/", lot_views.lots_page, name="lots"),
    path("lots/open/", lot_views.open_lot, name="lot_open"),
    path("lots/<int:pk>/end/", lot_views.end_lot, name="lot_end"),
    path("lots/workstation/", lot_views.name_workstation, name="lot_workstation"),
]
