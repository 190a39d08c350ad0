from django.urls import path

from assembly.questions import views

urlpatterns = [
    path("instruments/<str:item_number>/propose/", views.propose_page, name="propose"),
    path("instruments/<str:item_number>/compared/", views.ifu_compared, name="ifu_compared"),
    path("proposals/<int:pk>/act/", views.act_on_proposal, name="proposal_act"),
    path("questions/ask/", views.ask, name="question_ask"),
    path("questions/<int:pk>/act/", views.act_on_question, name="question_act"),
]
