"""Every address of the program."""

from django.conf import settings
from django.contrib.auth import views as auth_views
from django.contrib.auth.decorators import login_not_required
from django.urls import include, path

from config.accounts import Password, accounts, switch_account
from config.typed import typed
from config.views import SignIn, everything, healthy, parts, ready

handler500 = "config.views.failed"
urlpatterns = [
    path(
        "sign-in/",
        login_not_required(SignIn.as_view()),
        name="sign_in",
    ),
    path("sign-out/", auth_views.LogoutView.as_view(), name="sign_out"),
    path("not-sent/", typed, name="typed"),
    path("password/", Password.as_view(), name="password"),
    path("accounts/", accounts, name="accounts"),
    path("accounts/<int:pk>/switch/", switch_account, name="switch_account"),
    path("healthy/", login_not_required(healthy), name="healthy"),
    path("ready/", login_not_required(ready), name="ready"),
    path("records/everything.jsonl", everything, name="everything"),
    path("", include("assembly.urls.first_pages")),
    path("", include("assembly.urls.requests")),
    path("", include("assembly.urls.shelf")),
    path("", include("assembly.urls.stock")),
    path("", include("assembly.urls.loads")),
    path("", include("assembly.urls.questions")),
    path("", include("assembly.urls.equipment")),
    path("", include("assembly.urls.upkeep")),
    path("", include("assembly.urls.complaints")),
    path("", include("assembly.urls.bench")),
    path("", include("reports.urls")),
    path("", include("catalog.urls")),
]
if settings.SHOW_PARTS:
    urlpatterns.append(path("parts/", parts))
