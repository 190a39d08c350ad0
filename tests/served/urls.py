"""Every address of the program, and a page with nothing on it but who is signed in."""

from django.contrib.auth.models import AbstractBaseUser
from django.http import HttpRequest, HttpResponse
from django.urls import path

from config.urls import handler500 as handler500
from config.urls import urlpatterns as ours


def bare(request: HttpRequest) -> HttpResponse:
    """Behind the same middleware as every page: what a request costs at the least."""
    assert isinstance(request.user, AbstractBaseUser)
    return HttpResponse(request.user.get_username(), content_type="text/plain")


urlpatterns = [path("bare/", bare), *ours]
